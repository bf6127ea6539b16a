"""Calibration of a sheet against truth: quarter turn, skew, polarity, scale on each axis and its stated error."""

from dataclasses import dataclass

import numpy as np

from tests.bench.records import Case, project

NORMAL_95 = 1.96  # half width of a 95 % interval in standard errors
TEST_LENGTH_MM = 40.0  # of paper, about the middle of the main view


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


def main_scale(case: Case) -> tuple[float, tuple[float, float]]:
    """Part mm per mm of paper that most dimensions are drawn at, and the middle of its first view on the paper."""
    weight: dict[float, int] = {}
    views = [v for v in case.truth["views"] if not v["not_to_scale"]] or case.truth["views"]
    for view in views:
        count = sum(d["view"] == view["id"] for d in case.truth["dimensions"])
        weight[view["scale"]] = weight.get(view["scale"], 0) + count
    scale = max(weight, key=lambda s: weight[s])
    box = next(v["box_paper_mm"] for v in views if v["scale"] == scale)
    return scale, ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)


def scale_errors(case: Case) -> tuple[float, float] | None:
    """Relative errors of ``pixel_to_mm`` along the paper's x and y at the main view."""
    claimed = (case.sheet or {}).get("pixel_to_mm")
    if claimed is None or not (case.sheet or {}).get("scale"):
        return None
    scale, (x, y) = main_scale(case)
    half = TEST_LENGTH_MM / 2
    points = [[x - half, y], [x + half, y], [x, y - half], [x, y + half]]
    a, b, c, d = project(np.array(claimed, dtype=np.float64) @ case.source_from_paper, points)
    true = TEST_LENGTH_MM * scale
    return float(np.hypot(*(b - a)) / true - 1), float(np.hypot(*(d - c)) / true - 1)


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
