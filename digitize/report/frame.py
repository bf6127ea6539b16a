"""The frame that `trace.dxf` and `pixel_to_mm` share.

Glossary
--------
trace frame
    Origin at the lower-left corner of the level image (the outer corner of its corner pixel), x right, y up, in part
    millimetres at the scale of the sheet's main view.
part millimetre
    A millimetre of paper times the drawing's scale. Where no scale is known the trace frame is in millimetres of
    paper, and where no resolution is known either, in level pixels: `Frame.length` says which.
"""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from calibrate.sheet import FloatArray, LevelSheet, ResolutionStatus, apply_homography
from digitize.dimensions.table import Reconciled, ViewScale
from digitize.redraw.planes.curve import Circular, axis_scaled
from digitize.strokes.primitives import Arc, Point

PIXEL_CORNER_PX = 0.5  # the outer corner of a pixel lies half a pixel from its centre
SAME_SCALE = 0.002  # two views whose scales differ by less, relative, are drawn at one scale


class Length(StrEnum):
    """What one unit of the trace frame is."""

    PART_MM = "part mm"
    PAPER_MM = "paper mm"
    PIXEL = "px"


@dataclass(frozen=True)
class Frame:
    """Level pixels to the trace frame.

    Attributes
    ----------
    mm_from_level : ndarray, float64, shape (3, 3)
    level_from_source : ndarray, float64, shape (3, 3)
    x_mm_per_px, y_mm_per_px : float
        Length units per level pixel on each axis.
    length : Length
    paper_mm : float
        One millimetre of paper in length units, for line patterns and text heights.
    """

    mm_from_level: FloatArray
    level_from_source: FloatArray
    x_mm_per_px: float
    y_mm_per_px: float
    length: Length
    paper_mm: float

    @property
    def pixel_to_mm(self) -> FloatArray:
        """Homography from source pixels to the trace frame, shape (3, 3), scaled so that its last element is 1."""
        homography = self.mm_from_level @ self.level_from_source
        return np.asarray(homography / homography[2, 2], dtype=np.float64)

    def level_to_mm(self, points: FloatArray) -> FloatArray:
        """Map level pixels, shape (N, 2), into the trace frame."""
        return apply_homography(self.mm_from_level, points)

    def point(self, point: Point) -> Point:
        """Map one level pixel into the trace frame."""
        x, y = self.level_to_mm(np.array([point]))[0]
        return float(x), float(y)

    def arc(self, arc: Arc) -> Circular:
        """Map an arc: a compass draws circles, so the result is one even where the axes' scales differ."""
        seen = Circular(self.point(arc.centre), arc.radius_px, arc.start_deg, arc.sweep_deg)
        return axis_scaled(seen, self.x_mm_per_px, self.y_mm_per_px)


def axes_homography(height_px: int, x_mm_per_px: float, y_mm_per_px: float) -> FloatArray:
    """Level pixels to a frame with its origin at the image's lower-left corner and y up, shape (3, 3).

    Examples
    --------
    >>> apply_homography(axes_homography(100, 0.5, 0.25), np.array([[-0.5, 99.5], [9.5, 89.5]])).tolist()
    [[0.0, 0.0], [5.0, 2.5]]
    """
    lower_edge_px = height_px - PIXEL_CORNER_PX
    return np.array(
        [
            [x_mm_per_px, 0.0, PIXEL_CORNER_PX * x_mm_per_px],
            [0.0, -y_mm_per_px, lower_edge_px * y_mm_per_px],
            [0.0, 0.0, 1.0],
        ]
    )


def main_scale(reconciled: Reconciled) -> ViewScale | None:
    """Scale of the sheet's main view, or None where it is not known."""
    if reconciled.scales and reconciled.scales[0].known:
        return reconciled.scales[0]
    return None


def sheet_frame(sheet: LevelSheet, reconciled: Reconciled) -> Frame:
    """Choose the trace frame of a sheet: part mm, or paper mm, or pixels, whichever is the best that is known."""
    scale = main_scale(reconciled)
    if scale is not None:
        length, x_mm, y_mm = Length.PART_MM, scale.x_mm_per_px, scale.y_mm_per_px
    elif sheet.resolution.status is not ResolutionStatus.UNKNOWN:
        # Circles show how the axes differ though no scale is known: what a compass drew comes out round.
        ratio = math.sqrt(_x_over_y(reconciled))
        length, x_mm, y_mm = Length.PAPER_MM, sheet.paper_mm_per_px * ratio, sheet.paper_mm_per_px / ratio
    else:
        length, x_mm, y_mm = Length.PIXEL, 1.0, 1.0
    return Frame(
        mm_from_level=axes_homography(sheet.grey.shape[0], x_mm, y_mm),
        level_from_source=sheet.level_from_source,
        x_mm_per_px=x_mm,
        y_mm_per_px=y_mm,
        length=length,
        paper_mm=(x_mm + y_mm) / 2 / sheet.paper_mm_per_px,
    )


def _x_over_y(reconciled: Reconciled) -> float:
    """Length of a pixel across over one up, as far as it is settled."""
    stretch = reconciled.stretch
    return 1.0 + stretch.percent / 100 if stretch is not None and stretch.decided else 1.0


def other_scales(reconciled: Reconciled) -> tuple[ViewScale, ...]:
    """Views that are known to be drawn at another scale than the main one, or to no scale."""
    scale = main_scale(reconciled)
    if scale is None:
        return ()
    return tuple(other for other in reconciled.scales[1:] if other.not_to_scale or _differs(other, scale))


def _differs(other: ViewScale, scale: ViewScale) -> bool:
    ratio = (other.x_mm_per_px + other.y_mm_per_px) / (scale.x_mm_per_px + scale.y_mm_per_px)
    return bool(other.known) and abs(ratio - 1) > SAME_SCALE


def rescaled(frame: Frame, scale: ViewScale) -> Frame:
    """A frame in part mm by a view's scale, with its origin where the frame has it."""
    x_factor, y_factor = scale.x_mm_per_px / frame.x_mm_per_px, scale.y_mm_per_px / frame.y_mm_per_px
    return replace(
        frame,
        mm_from_level=np.diag([x_factor, y_factor, 1.0]) @ frame.mm_from_level,
        x_mm_per_px=scale.x_mm_per_px,
        y_mm_per_px=scale.y_mm_per_px,
        length=Length.PART_MM,
        paper_mm=frame.paper_mm * (x_factor + y_factor) / 2,
    )


def scaled_about(frame: Frame, box: tuple[float, float, float, float], scale: ViewScale) -> Frame:
    """A view's own frame: its scale, its box's middle where the sheet's frame has it.

    Parameters
    ----------
    frame : Frame
        Of the sheet.
    box : tuple of float
        (left, top, right, bottom) in level pixels.
    scale : ViewScale
    """
    middle = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    x, y = frame.point(middle)
    x_mm, y_mm = scale.x_mm_per_px, scale.y_mm_per_px
    homography = np.array([[x_mm, 0.0, x - x_mm * middle[0]], [0.0, -y_mm, y + y_mm * middle[1]], [0.0, 0.0, 1.0]])
    growth = (x_mm + y_mm) / (frame.x_mm_per_px + frame.y_mm_per_px)
    return replace(
        frame,
        mm_from_level=homography,
        x_mm_per_px=x_mm,
        y_mm_per_px=y_mm,
        length=Length.PART_MM,
        paper_mm=frame.paper_mm * growth,
    )
