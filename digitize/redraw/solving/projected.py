"""Whether two views were projected from each other: their outlines span the same height, or the same width.

The outlines are compared, not all the strokes: a stray stroke beside a view would hide what stands level.
"""

import numpy as np

from calibrate.sheet import FloatArray, apply_homography
from digitize.redraw.planes import outline
from digitize.redraw.planes.plane_strokes import Axis, Pen
from digitize.redraw.solving.draft import Draft

SPAN_MM = (0.5, 0.9)  # of paper: carried over with the T-square, the ends of a span are no further from their twins
LEAST_SPAN_MM = 8.0  # of paper: shorter spans may agree by chance


def shared_axis(one: Draft, other: Draft) -> Axis | None:
    """The axis on which two views' outer outlines begin and end at the same places; None where on neither."""
    mine, theirs = _span_px(one), _span_px(other)
    if mine is None or theirs is None:
        return None
    frame = one.view.frame
    paper_mm_per_px = (frame.x_mm_per_px + frame.y_mm_per_px) / 2 / frame.paper_mm
    slack = Pen(1.0, max(one.view.pen_mm, other.view.pen_mm)).slack(SPAN_MM)
    for axis in (Axis.Y, Axis.X):
        (low, high), (other_low, other_high) = (each[:, axis.value] * paper_mm_per_px for each in (mine, theirs))
        if high - low > LEAST_SPAN_MM and max(abs(low - other_low), abs(high - other_high)) <= slack:
            return axis
    return None


def _span_px(begun: Draft) -> FloatArray | None:
    """Least and greatest x and y of a view's outer outlines, in level pixels, shape (2, 2); None where it has none."""
    outer = [outline.ring_polygon(begun.shape.plane, ring) for ring in begun.shape.rings if ring.within is None]
    if not outer:
        return None
    bounds = np.array([each.bounds for each in outer])
    corners = np.array([bounds[:, :2].min(axis=0), bounds[:, 2:].max(axis=0)])
    inverse = np.asarray(np.linalg.inv(begun.view.frame.mm_from_level), dtype=np.float64)
    return np.sort(apply_homography(inverse, corners), axis=0)
