"""Result folders made by hand: an invented mill museum's sheets."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

QUAD = [[10.0, 10.0], [60.0, 10.0], [60.0, 22.0], [10.0, 22.0]]


def value(
    row: str, kind: str, text: str, number: float | None, unit: str = "in", status: str = "agreed"
) -> dict[str, Any]:
    return {
        "id": row, "kind": kind, "name": None, "text": text, "value": number, "unit": unit, "status": status,
        "quad_px": QUAD, "confirmed_by": None,
    }  # fmt: skip


def gear(teeth: int, module_mm: float, status: str = "agreed", *others: tuple[int, float, float]) -> dict[str, Any]:
    alternatives = [{"teeth": t, "module_mm": m, "probability": p} for t, m, p in others]
    return {"teeth": teeth, "module_mm": module_mm, "status": status, "alternatives": alternatives}


def result(
    folder: Path,
    title_block: dict[str, str] | None = None,
    rows: Sequence[dict[str, Any]] = (),
    gear: dict[str, Any] | None = None,
    texts: Sequence[str] = (),
    sha256: str = "ab" * 32,
) -> Path:
    """Write the files of a result that the catalogue reads."""
    folder.mkdir(parents=True, exist_ok=True)
    sheet = {"source": f"{folder.name}.tif", "sha256": sha256, "page": 1, "title_block": title_block or {}}
    readings = [{"block": {}, "readings": [{"text": text, "probability": 0.9}], "reader": "r"} for text in texts]
    for name, content in {
        "dimensions.json": {"sheet": sheet, "dimensions": list(rows), "gear": gear},
        "found.json": {"texts": readings},
        "sheet.json": sheet,
    }.items():
        (folder / name).write_text(json.dumps(content), encoding="utf-8")
    return folder
