"""`sheet.json`: where the numbers come from, and how the sheet was calibrated."""

import platform
from collections.abc import Mapping
from importlib import metadata
from typing import Any

from calibrate.record import proportion_record
from calibrate.scaling.witnesses import witness_record
from calibrate.sheet import LevelSheet, ResolutionStatus, ScaleWitness
from calibrate.straightening.flat_map import bend_record
from digitize.dimensions.table import Reconciled, State, Stretched, ViewScale
from digitize.redraw.report import PartReport
from digitize.report.cautions import CAUTIONS
from digitize.report.frame import Frame, Length, main_scale
from digitize.report.numbers import rounded, significant
from digitize.report.paper import Paper
from digitize.standards import nearest_line_widths
from digitize.strokes.primitives import Strokes

SCHEMA = "sheet/1"
SCALE_DIGITS = 8
LIBRARIES = ("numpy", "scipy", "opencv-python-headless", "scikit-image", "pillow", "tifffile", "pypdfium2", "ezdxf",
             "shapely", "lark", "onnxruntime", "xlsxwriter", "numba")  # fmt: skip
_TIMING_DIGITS = 3


def versions() -> dict[str, str]:
    """Versions of this program, of Python and of the libraries that a result depends on; missing ones left out."""
    found = {"python": platform.python_version()}
    for name in ("tracecloth", *LIBRARIES):
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            continue
    return found


def provenance(
    sheet: LevelSheet,
    strokes: Strokes,
    reconciled: Reconciled,
    frame: Frame,
    paper: Paper,
    part: PartReport,
    timings: Mapping[str, float],
) -> dict[str, Any]:
    """The whole of `sheet.json` as JSON values."""
    height, width = sheet.source_shape_px
    return {
        "schema": SCHEMA,
        "source": sheet.path.name,
        "sha256": sheet.sha256,
        "page": sheet.page,
        "page_count": sheet.page_count,
        "image_size_px": [width, height],
        **_calibration(sheet, reconciled, frame, paper),
        "line_widths": _line_widths(strokes, _paper_mm_per_px(sheet)),
        "views": _views(strokes, reconciled),
        "dimensions": {state.value: sum(each.state is state for each in reconciled.dimensions) for state in State},
        "part": _part(part),
        "versions": versions(),
        "timings_s": {name: round(seconds, _TIMING_DIGITS) for name, seconds in timings.items()},
        "warnings": [*sheet.warnings, *reconciled.warnings],
        "cautions": list(CAUTIONS),
    }


def _calibration(sheet: LevelSheet, reconciled: Reconciled, frame: Frame, paper: Paper) -> dict[str, Any]:
    known = _paper_mm_per_px(sheet)
    homography = [[significant(value, 12) for value in row] for row in frame.pixel_to_mm.tolist()]
    return {
        "polarity": sheet.polarity.value,
        "orientation_deg": sheet.orientation_deg,
        "turned_over": sheet.turned_over,
        "skew_deg": rounded(sheet.skew_deg),
        "skew_std_deg": rounded(sheet.skew_std_deg),
        "rectified": sheet.rectified,
        "proportion": proportion_record(sheet.proportion),
        "bend": bend_record(sheet.bend, sheet.grey.shape, None if known is None else sum(known) / 2),
        "resolution": {
            "status": sheet.resolution.status.value,
            "x_dpi": rounded(sheet.resolution.x_dpi),
            "y_dpi": rounded(sheet.resolution.y_dpi),
            "note": sheet.resolution.note,
        },
        "trace_length": frame.length.value,
        "pixel_to_mm": None if frame.length is Length.PIXEL else homography,
        "pixel_to_trace": homography,
        "mm_per_px": known,
        "scale": _scale(main_scale(reconciled), paper),
        "evidence": list(sheet.evidence),
        "witnesses": [_witness(each) for each in reconciled.witnesses],
        "stretch": _stretch(reconciled.stretch),
        "shrink_percent": _pair(paper.shrink_percent),
        "shrink_std_percent": _pair(paper.shrink_std_percent),
        "shrink_difference_percent": rounded(paper.difference_percent, 4),
    }


def _paper_mm_per_px(sheet: LevelSheet) -> list[float] | None:
    """Millimetres of paper per level pixel on x and y, or None where no resolution is known."""
    if sheet.resolution.status is ResolutionStatus.UNKNOWN:
        return None
    return [significant(sheet.paper_mm_per_px, SCALE_DIGITS)] * 2


def _witness(witness: ScaleWitness) -> dict[str, Any]:
    rounded_pairs = {
        "mm_per_px": [significant(value, SCALE_DIGITS) for value in witness.mm_per_px],
        "std": [significant(value, 4) for value in witness.std],
    }
    return witness_record(witness) | rounded_pairs


def _stretch(stretch: Stretched | None) -> dict[str, Any] | None:
    if stretch is None:
        return None
    return {
        "percent": rounded(stretch.percent, 4),
        "std_percent": rounded(stretch.std_percent, 4),
        "source": stretch.source,
        "decided": stretch.decided,
    }


def _pair(pair: tuple[float, float] | None) -> list[float | None] | None:
    return None if pair is None else [rounded(value, 4) for value in pair]


def _scale(scale: ViewScale | None, paper: Paper) -> dict[str, Any] | None:
    """Scale of the main view, or None where no common scale fits enough dimensions."""
    if scale is None:
        return None
    return {
        "drawn_over_real": None if paper.drawn_over_real is None else str(paper.drawn_over_real),
        "nominal_known": paper.nominal_known,
        **_view_scale(scale),
    }


def _view_scale(scale: ViewScale) -> dict[str, Any]:
    if scale.not_to_scale:
        return {"not_to_scale": True, "marked_not_to_scale": bool(scale.marked_not_to_scale), "known": ""}
    return {
        "part_mm_per_px": [significant(value, SCALE_DIGITS) for value in (scale.x_mm_per_px, scale.y_mm_per_px)],
        "std": [significant(value, 4) for value in (scale.x_std, scale.y_std)],
        "half_width_95": scale.half_width_95 and [significant(value, 4) for value in scale.half_width_95],
        "witnesses": int(scale.witnesses),
        "pen_std_mm": rounded(scale.pen_std_mm, 4),
        "not_to_scale": False,
        "marked_not_to_scale": bool(scale.marked_not_to_scale),
        "known": scale.known,
    }


def _views(strokes: Strokes, reconciled: Reconciled) -> list[dict[str, Any]]:
    scales = {scale.view: scale for scale in reconciled.scales}
    return [
        {
            "id": view.id,
            "kind": view.kind,
            "box_px": [rounded(value, 1) for value in view.box],
            "scale": _view_scale(scales[view.id]) if view.id in scales else None,
        }
        for view in strokes.views
    ]


def _line_widths(strokes: Strokes, mm_per_px: list[float] | None) -> list[dict[str, Any]] | None:
    """Groups of width in mm as printed, the finest first, or None where no resolution is known."""
    if mm_per_px is None:
        return None
    scale = sum(mm_per_px) / 2
    return [
        {
            "width_mm": rounded(pen.width_px * scale, 3),
            "std_mm": rounded(pen.std_px * scale, 3),
            "nearest_mm": {row.series: float(row.width_mm) for row in nearest_line_widths(pen.width_px * scale)},
            "length_mm": rounded(pen.length_px * scale, 0),
            "strokes": pen.strokes,
        }
        for pen in strokes.pens
    ]


def _part(part: PartReport) -> dict[str, Any]:
    return {
        "outlines": [
            {
                "view": each.view,
                "kind": each.kind.value,
                "area_mm2": rounded(each.area_mm2, 4),
                "determined": each.determined,
                "area_std_mm2": rounded(each.area_std_mm2, 4) if each.settled else None,
            }
            for each in part.outlines
        ],
        "degrees_of_freedom": {str(view): count for view, count in part.freedom},
        "dimensions_used": list(part.used),
        "in_excess": list(part.in_excess),
        "left_out": [{"id": name, "why": why} for name, why in part.left_out],
        "open_ends": [
            {
                "view": each.view,
                "at_mm": [rounded(v, 3) for v in each.at_mm],
                "at_level_px": [rounded(v, 1) for v in each.at_px],
            }
            for each in part.open_ends
        ],
        "notes": list(part.notes),
    }
