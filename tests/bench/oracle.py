"""Results that a perfect tool would write for a sheet, made from its truth: they must score 1."""

import json
from pathlib import Path

import ezdxf
import numpy as np

from tests.bench.records import Case, FloatArray, Record, project
from tests.bench.sheet_score import main_scale

STATED_STD = 1e-4  # relative, of the oracle's scale


def _table(truth: Record) -> Record:
    rows = []
    for mark in truth["dimensions"]:
        rows.append({
            "id": mark["id"], "zone": "A1", "view": mark["view"], "kind": mark["kind"], "callout": mark["callout"],
            "text": mark["text"], "value": mark["value"], "unit": mark["unit"], "upper": mark["upper"],
            "lower": mark["lower"], "measured": None, "residual": None,
            "status": "disputed" if mark["trap"] else "agreed" if mark["value"] is not None else "unproven",
            "confidence": 1.0, "quad_px": mark["quad_px"], "evidence": [],
        })  # fmt: skip
    gear = truth["gear"]
    claim = None
    if gear:
        claim = {**gear, "status": "agreed" if gear["decidable"] else "unproven", "alternatives": []}
    return {"schema": "dimension-table/1", "dimensions": rows, "gear": claim}


def part_from_source(truth: Record) -> FloatArray:
    """The true homography from source pixels to part mm at the sheet's main scale."""
    scale, _ = main_scale(Case(truth["name"], truth, None, None, Path()))
    paper_from_source = np.linalg.inv(np.array(truth["source_from_paper"], dtype=np.float64))
    return np.asarray(np.diag([scale, scale, 1.0]) @ paper_from_source, dtype=np.float64)


def _trace(truth: Record, path: Path) -> None:
    drawing = ezdxf.new()  # type: ignore[attr-defined]
    drawing.header["$INSUNITS"] = 4
    space = drawing.modelspace()
    scale, _ = main_scale(Case(truth["name"], truth, None, None, path))
    for stroke in truth["strokes"]:
        layer = {"layer": stroke["role"].upper()}
        if stroke["type"] == "line":
            start, end = (np.array([stroke["p0"], stroke["p1"]]) * scale).tolist()
            space.add_line(start, end, dxfattribs=layer)
        else:
            first, last = stroke["start_deg"], stroke["start_deg"] + stroke["sweep_deg"]
            centre, radius = (np.array(stroke["centre"]) * scale).tolist(), stroke["radius"] * scale
            if stroke["sweep_deg"] >= 360:
                space.add_circle(centre, radius, dxfattribs=layer)
            else:
                space.add_arc(centre, radius, min(first, last), max(first, last), dxfattribs=layer)
    drawing.saveas(path)


def write_perfect(truth: Record, folder: Path) -> None:
    """Write the result folder of a perfect tool."""
    folder.mkdir(parents=True, exist_ok=True)
    matrix = part_from_source(truth)
    x, y = truth["size_px"][0] / 2, truth["size_px"][1] / 2
    here = project(matrix, [[x, y], [x + 1, y], [x, y + 1]])
    per_px = [float(np.hypot(*(here[k] - here[0]))) for k in (1, 2)]
    sheet = {
        "orientation_deg": truth["orientation_deg"], "skew_deg": truth["skew_deg"], "polarity": truth["polarity"],
        "pixel_to_mm": (matrix / matrix[2, 2]).tolist(),
        "scale": {"part_mm_per_px": per_px, "std": [STATED_STD * v for v in per_px]},
    }  # fmt: skip
    (folder / "dimensions.json").write_text(json.dumps(_table(truth)), encoding="utf-8")
    (folder / "sheet.json").write_text(json.dumps(sheet), encoding="utf-8")
    _trace(truth, folder / "trace.dxf")
