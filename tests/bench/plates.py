"""Score real plates: ``python -m tests.bench.plates FOLDER --out DIR``.

FOLDER holds pictures and a ``truth.json``: a list of plates with ``file`` and ``dimensions``, each with ``text``,
``kind``, ``value``, ``unit`` and the centre ``x``, ``y`` of its figure in pixels.
"""

import argparse
import json
import time
from pathlib import Path
from typing import Any

import numpy as np

from digitize.dimensions.table import Dimension, State
from digitize.pipeline import digitize_sheet

NEAR_PX = 25.0
"""A row is of a figure when its centre is this close, in source pixels, or the figure's centre lies in its box."""
SAME = 1e-6
GEOMETRIC = ("linear", "diameter", "radius", "angle")


def centre(row: Dimension) -> Any:
    """Middle of a row's box in source pixels."""
    return np.array(row.quad_px).mean(axis=0)


def is_at(row: Dimension, x: float, y: float) -> bool:
    """Does the row stand where the figure does?"""
    corners = np.array(row.quad_px)
    low, high = corners.min(axis=0), corners.max(axis=0)
    inside = bool((low[0] <= x <= high[0]) and (low[1] <= y <= high[1]))
    return inside or float(np.hypot(*(centre(row) - (x, y)))) < NEAR_PX


def is_right(row: Dimension, truth: dict[str, Any]) -> bool:
    """Same value; diameters and lengths are told apart only by words that some plates leave out."""
    return row.value is not None and truth["value"] is not None and abs(float(row.value) - truth["value"]) < SAME


def is_true(row: Dimension, plate: dict[str, Any]) -> bool:
    """Is the row some figure of the plate, with its value?"""
    return any(is_at(row, t["x"], t["y"]) and is_right(row, t) for t in plate["dimensions"])


def score_plate(plate: dict[str, Any], folder: Path, out: Path | None) -> dict[str, Any]:
    """Digitize one plate and count."""
    start = time.perf_counter()
    target = out / Path(plate["file"]).stem if out else None
    result = digitize_sheet(folder / plate["file"], out=target)
    rows = result.reconciled.dimensions
    truths = [t for t in plate["dimensions"] if t["kind"] in GEOMETRIC and t["value"] is not None]
    found = [any(is_at(row, t["x"], t["y"]) for row in rows) for t in truths]
    right = [any(is_at(row, t["x"], t["y"]) and is_right(row, t) for row in rows) for t in truths]
    agreed = [row for row in rows if row.state is State.AGREED]
    figures = [row for row in rows if row.kind in GEOMETRIC and row.value is not None]
    wrong = [f"{row.text!r}" for row in agreed if not is_true(row, plate)]
    return {
        "plate": plate["file"], "true": len(truths), "placed": sum(found), "right": sum(right), "rows": len(rows),
        "figures": len(figures), "figures_right": sum(is_true(row, plate) for row in figures),
        "agreed": len(agreed), "agreed_wrong": wrong, "seconds": round(time.perf_counter() - start, 1),
        "disputed": [row.text for row in rows if row.state is State.DISPUTED],
    }  # fmt: skip


def main(argv: list[str] | None = None) -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="plates", description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--out", type=Path)
    parser.add_argument("--only", nargs="*", default=[], help="names of plates; all by default")
    options = parser.parse_args(argv)
    plates = json.loads((options.folder / "truth.json").read_text(encoding="utf-8"))
    chosen = [plate for plate in plates if not options.only or Path(plate["file"]).stem in options.only]
    scores = [score_plate(plate, options.folder, options.out) for plate in chosen]
    for score in scores:
        print(score)
    total = {
        key: sum(s[key] for s in scores) for key in ("true", "placed", "right", "figures", "figures_right", "agreed")
    }
    print(f"recall {total['right'] / max(total['true'], 1):.3f}", end=" ")
    print(f"precision {total['figures_right'] / max(total['figures'], 1):.3f}", total)


if __name__ == "__main__":
    main()
