"""Calibration of a sheet against truth: quarter turn, skew, polarity, scale on each axis and its stated error."""

from dataclasses import dataclass

import numpy as np

from samples.truth import project
from tests.bench.records import Case, FloatArray, camera_of
from tests.bench.records import project as mapped

NORMAL_95 = 1.96  # half width of a 95 % interval in standard errors
PLACES = 9  # a side, over the boxes of the main views: a bent or photographed sheet has no one scale at a point


@dataclass(frozen=True)
class SheetCalibration:
    """Errors of one sheet; None where nothing was claimed or nothing is known.

    ``scale_error`` is relative, on x and y; ``covered`` says whether the truth lies in the stated 95 % interval.
    """

    orientation_right: bool = False
    polarity_right: bool = False
    skew_error_deg: float | None = None
    scale_error: tuple[float, float] | None = None
    covered: tuple[bool, bool] | None = None


def skew_error(case: Case) -> float | None:
    """Skew error in degrees of a scan whose quarter turn was found; a photograph has no skew of its own."""
    sheet = case.sheet or {}
    if case.truth.get("perspective") or sheet.get("skew_deg") is None:
        return None
    tilt = float(sheet["skew_deg"]) - float(case.truth["skew_deg"])
    return abs((tilt + 180) % 360 - 180)


def main_scale(case: Case) -> tuple[float, list[list[float]]]:
    """Part mm per mm of paper that most dimensions are drawn at, and the boxes of its views on the paper."""
    weight: dict[float, int] = {}
    views = [v for v in case.truth["views"] if not v["not_to_scale"]] or case.truth["views"]
    for view in views:
        count = sum(d["view"] == view["id"] for d in case.truth["dimensions"])
        weight[view["scale"]] = weight.get(view["scale"], 0) + count
    scale = max(weight, key=lambda s: weight[s])
    return scale, [v["box_paper_mm"] for v in views if v["scale"] == scale]


def scale_errors(case: Case) -> tuple[float, float] | None:
    """Relative errors of the scale along the paper's x and y, as it is over all main views.

    Notes
    -----
    Places of these views are carried through truth into the picture, and through what was found into part mm. What
    brings the paper nearest to there, linearly, has the scale found along x and along y.
    """
    if (case.sheet or {}).get("pixel_to_mm") is None or not (case.sheet or {}).get("scale"):
        return None
    scale, boxes = main_scale(case)
    grids = [np.meshgrid(np.linspace(x0, x1, PLACES), np.linspace(y0, y1, PLACES)) for x0, y0, x1, y1 in boxes]
    paper = np.concatenate([np.stack(grid, axis=-1).reshape(-1, 2) for grid in grids])
    found = _part_mm(case, project(camera_of(case.truth), paper))
    x, y = np.linalg.norm(np.linalg.lstsq(np.column_stack([paper, np.ones(len(paper))]), found)[0][:2], axis=1)
    return float(x) / scale - 1, float(y) / scale - 1


def _part_mm(case: Case, source: FloatArray) -> FloatArray:
    """Where places of the picture lie in part mm; of a sheet that bends the bend goes between the two homographies."""
    claimed = case.sheet or {}
    if case.level is None or case.level.bend is None:
        return mapped(np.array(claimed["pixel_to_mm"], np.float64), source)
    return case.level.flat_points(source) * np.array(claimed["scale"]["part_mm_per_px"], np.float64)


def covered(case: Case) -> tuple[bool, bool] | None:
    """Whether the stated 95 % interval holds the truth, on x and y; None where none is stated."""
    scale, errors = (case.sheet or {}).get("scale") or {}, scale_errors(case)
    if errors is None or not scale.get("std") or not scale.get("part_mm_per_px"):
        return None
    halves = scale.get("half_width_95") or [NORMAL_95 * std for std in scale["std"]]
    x, y = (half / value for half, value in zip(halves, scale["part_mm_per_px"], strict=True))
    return abs(errors[0]) <= x, abs(errors[1]) <= y


def score_calibration(case: Case) -> SheetCalibration:
    """Compare one sheet's calibration."""
    if case.failed or case.sheet is None:
        return SheetCalibration()
    right = case.sheet.get("orientation_deg") == case.truth["orientation_deg"]
    errors = scale_errors(case)
    return SheetCalibration(
        right, case.sheet.get("polarity") == case.truth["polarity"], skew_error(case) if right else None, errors,
        covered(case),
    )  # fmt: skip
