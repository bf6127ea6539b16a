"""Flanks read as an arrowhead: filled, open, or open with barbs that have run together.

In a head the ink widens evenly on both sides from the tip to the tail, and is gone behind the tail. Whether it does is
fitted in `flank_fits`; in `shape` the rest of the ink has its say.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.heads.borne_out import Shape, is_borne_out
from digitize.strokes.heads.flank_fits import LONGEST_MM, fit_filled, fit_open, is_of_a_head
from digitize.strokes.heads.flanks import STEP_PX, follow_flanks, may_widen
from digitize.strokes.heads.strangers import REACH_MM, STRANGER_MM, strangers_of
from digitize.strokes.table import Cells

FloatArray = NDArray[np.float64]

LEAST_RISE_MM, LEAST_RISE_PX = 0.09, 0.9
"""How much wider than its line a head must be on each side."""
RAIL, FLARE_RAIL = 0.8, 0.95
"""Ink is looked for at this share of that, and of the least half width of a head on a line that seems thick, before the
flanks are followed,"""
CLEAR_OF_TIP_MM = 0.3
"""and from here on, for a stroke may cross at the tip."""
NO_SHAPE = Shape(0.0, 0.0, 0.0, 0.0, 0.0, False)


@compiled
def may_be_heads(
    rows: FloatArray, cells: Cells, picture: FloatArray, dark: ByteImage, rays: FloatArray, mm: float
) -> NDArray[np.bool_]:
    """At which of many places `shape_at` may find a head.

    ``rays`` are x, y, dx, dy, ``base`` and ``least`` of each place, and ``mm`` is a mm of paper in px.
    """
    found = np.zeros(len(rays), np.bool_)
    for n in range(len(rays)):
        x, y, dx, dy, base, least = rays[n]
        strangers = strangers_of(rows, cells, picture, x, y, dx, dy, mm, STRANGER_MM * mm, REACH_MM * mm)
        px, py = picture[0, 0] * x + picture[0, 1] * y, picture[1, 0] * x + picture[1, 1] * y
        qx, qy = picture[0, 0] * dx + picture[0, 1] * dy, picture[1, 0] * dx + picture[1, 1] * dy
        found[n] = _may_be_head(dark, strangers, (px, py, qx, qy), base, least, mm, (np.inf, np.inf))
    return found


@compiled
def may_be_lone_heads(dark: ByteImage, rays: FloatArray, base: float, mm: float) -> NDArray[np.bool_]:
    """At which of many places `shape_at` may find a head where there are no strangers.

    ``rays`` are x, y, dx, dy and the two parts of ``within`` of each place in the picture.
    """
    found, strangers = np.zeros(len(rays), np.bool_), np.zeros((0, 8))
    for n in range(len(rays)):
        x, y, dx, dy, back, aside = rays[n]
        found[n] = _may_be_head(dark, strangers, (x, y, dx, dy), base, 0.0, mm, (back, aside))
    return found


@compiled
def _may_be_head(
    dark: ByteImage,
    strangers: FloatArray,
    ray: tuple[float, float, float, float],
    base: float,
    least: float,
    mm: float,
    within: tuple[float, float],
) -> bool:
    """Whether flanks behind a place have a head's slope and length."""
    longest, rise = LONGEST_MM * mm, max(LEAST_RISE_MM * mm, LEAST_RISE_PX)
    (x, y, dx, dy), steps = ray, int(longest / STEP_PX) + 2
    rail = max(base + RAIL * rise, FLARE_RAIL * least)
    if not may_widen(dark, strangers, x, y, dx, dy, CLEAR_OF_TIP_MM * mm, longest, rail):
        return False
    inner, near, outer = np.zeros((2, steps)), np.full((2, steps), -1.0), np.full((2, steps), -1.0)
    seen, aside = int(min(longest, within[0]) / STEP_PX) + 2, min(0.45 * longest, within[1])
    first = 0
    for end in (steps // 2, steps):  # few heads are so long that the second half is needed
        follow_flanks(dark, strangers, x, y, dx, dy, first, min(end, seen), aside, inner, near, outer)
        first = end
        tip, tail, slope, rms, peak = fit_open(inner, outer, base, base, end)
        if slope > 0.0 and is_of_a_head(mm, tip, tail, slope, rms, peak):
            return True
        may_go_on = not np.isfinite(tail)
        tip, tail, slope, rms, peak = fit_filled(inner, base, end, rise, longest)
        if slope > 0.0 and (
            is_of_a_head(mm, tip, tail, slope, rms, peak)
            or is_of_a_head(mm, tip + base / slope, tail, slope, rms, peak)
        ):
            return True
        if not may_go_on and np.isfinite(tail):
            return False
    return False


def shape_at(
    ground: Ground,
    strangers: FloatArray,
    x: float,
    y: float,
    dx: float,
    dy: float,
    base: float,
    least: float,
    barb: float,
    within: tuple[float, float] = (math.inf, math.inf),
) -> Shape | None:
    """Look for a filled or an open head that points along (dx, dy) at a point; the better of the two, or None.

    ``base`` is half of the width of its line, ``least`` the half width from which it is one, and ``barb`` half of the
    width of its barbs: the leg of a cutting plane is heavy, its head is drawn by the thin pen. What lies further behind
    the point, or aside of the line, than ``within`` is taken for paper.
    """
    (px, py), (qx, qy) = ground.in_picture(np.array([[x, y], [dx, dy]])).tolist()
    shape = _shape_at(ground.dark, strangers, (px, py, qx, qy), base, least, barb, ground.px(1.0), within)
    return shape if shape.slope > 0.0 else None


@compiled
def _shape_at(
    dark: ByteImage,
    strangers: FloatArray,
    ray: tuple[float, float, float, float],
    base: float,
    least: float,
    barb: float,
    mm: float,
    within: tuple[float, float],
) -> Shape:
    """See `shape_at`; ``mm`` is a mm of paper in px."""
    longest, rise = LONGEST_MM * mm, max(LEAST_RISE_MM * mm, LEAST_RISE_PX)
    (x, y, dx, dy), steps = ray, int(longest / STEP_PX) + 2
    rail = max(base + RAIL * rise, FLARE_RAIL * least)
    if not may_widen(dark, strangers, x, y, dx, dy, CLEAR_OF_TIP_MM * mm, longest, rail):
        return NO_SHAPE
    inner, near, outer = np.zeros((2, steps)), np.full((2, steps), -1.0), np.full((2, steps), -1.0)
    seen, aside = int(min(longest, within[0]) / STEP_PX) + 2, min(0.45 * longest, within[1])
    follow_flanks(dark, strangers, x, y, dx, dy, 0, seen, aside, inner, near, outer)
    tip, tail, slope, rms, peak = fit_open(inner, outer, base, barb, steps)
    if slope > 0.0 and is_of_a_head(mm, tip, tail, slope, rms, peak):
        shape = Shape(tip, tail, slope, rms, peak, True)
        if is_borne_out(inner, near, outer, shape, base, barb):
            return shape  # paper was seen between its barbs
    tip, tail, slope, rms, peak = fit_filled(inner, base, steps, rise, longest)
    best, least_off = NO_SHAPE, np.inf
    for is_open in (False, True):  # filled, or its barbs have run together
        if slope > 0.0:
            shape = Shape(tip + barb / slope if is_open else tip, tail, slope, rms, peak, is_open)
            off = shape.rms / shape.peak + abs(shape.tip) / shape.tail
            is_one = off < least_off and is_of_a_head(mm, shape.tip, tail, slope, rms, peak)
            if is_one and is_borne_out(inner, near, outer, shape, base, barb):
                best, least_off = shape, off
    return best
