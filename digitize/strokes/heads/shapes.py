"""Flanks read as an arrowhead: filled, open, or open with barbs that have run together.

In a head the ink widens evenly on both sides from the tip to the tail, and is gone behind the tail. Whether it does is
fitted in `flank_fits`; here the rest of the ink has its say.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.heads.flank_fits import LONGEST_MM, fit_filled, fit_open, is_of_a_head
from digitize.strokes.heads.flanks import STEP_PX, UNKNOWN, follow_flanks, may_widen
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
UNEVEN_PX, UNEVEN_SHARE = 0.8, 0.2
"""One side of a head may reach so much further than the other, in px and as a share of its half width."""
ASIDE_PX = 1.6
"""A filled head drawn by whole pixels may lie so far beside its shaft: one side reaches further by an even step."""
SHAFT_PLACES = 4
"""Behind its tail a head leaves nothing but its shaft at so many places,"""
SLANTED_SHARE, STILL_HEAD, CLEAR_FLARE = 0.25, 0.75, 2.5
"""after a slanted back, as a hand or a scanner leaves: over this share of its length one side may be nearly as wide as
the head yet, where that is so many times as wide as its line."""
WIDEST_BARBS = 1.5
"""Ink further out than this times a head's half width is no barb of it."""
LEAST_AHEAD = 3
"""Places that tell what lies ahead of a tip."""
LEAST_SEEN_SHARE, LEAST_SEEN_BOTH_SHARE = 0.6, 0.25
HEAVIEST_BARB = 1.6
"""Thickness of a barb, measured across the shaft, over the width of the shaft."""


@dataclass(frozen=True)
class Shape:
    """A head read from its flanks: tip and tail behind the candidate, slope, scatter, half width, form."""

    tip: float
    tail: float
    slope: float
    rms: float
    peak: float
    form: str


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
    found, strangers = np.zeros(len(rays), np.bool_), np.zeros((0, 5))
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
    longest, rise = ground.px(LONGEST_MM), max(ground.px(LEAST_RISE_MM), LEAST_RISE_PX)
    (px, py), (qx, qy) = ground.in_picture(np.array([[x, y], [dx, dy]]))
    rail = max(base + RAIL * rise, FLARE_RAIL * least)
    if not may_widen(ground.dark, strangers, px, py, qx, qy, ground.px(CLEAR_OF_TIP_MM), longest, rail):
        return None
    steps = int(longest / STEP_PX) + 2
    inner, near, outer = np.zeros((2, steps)), np.full((2, steps), -1.0), np.full((2, steps), -1.0)
    seen, aside = int(min(longest, within[0]) / STEP_PX) + 2, min(0.45 * longest, within[1])
    follow_flanks(ground.dark, strangers, px, py, qx, qy, 0, seen, aside, inner, near, outer)
    shapes = _shapes(inner, outer, base, barb, steps, rise, longest)
    fitting = [
        s
        for s in shapes
        if is_of_a_head(ground.px(1.0), s.tip, s.tail, s.slope, s.rms, s.peak)
        and _is_seen(inner, outer, s)
        and _is_even(inner, outer, s)
        and _has_shaft(inner, s, base)
        and not _goes_on(outer, s)
        and not _is_heavy(near, outer, s, base)
        and not _tapers_on(inner, s, barb)
    ]
    if fitting and fitting[0] is shapes[0] and shapes[0].form == "open":
        return fitting[0]  # paper was seen between its barbs
    return min(fitting, key=lambda shape: shape.rms / shape.peak + abs(shape.tip) / shape.tail, default=None)


def _shapes(
    inner: FloatArray, outer: FloatArray, base: float, barb: float, steps: int, rise: float, longest: float
) -> list[Shape]:
    """Read the flanks as a filled head, as an open one, and as an open one whose barbs have run together."""
    tip, tail, slope, rms, peak = fit_filled(inner, base, steps, rise, longest)
    shapes = [Shape(*fit_open(inner, outer, base, barb, steps), form="open")]
    if slope > 0.0:
        shapes.append(Shape(tip, tail, slope, rms, peak, "filled"))
        shapes.append(Shape(tip + barb / slope, tail, slope, rms, peak, "open"))
    return [shape for shape in shapes if shape.slope > 0.0]


def _is_seen(inner: FloatArray, outer: FloatArray, shape: Shape) -> bool:
    """Whether strangers leave enough of a head free to tell."""
    length = slice(int(max(shape.tip, 0.0) / STEP_PX), int(shape.tail / STEP_PX))
    known = np.minimum(inner[:, length], outer[:, length]) != UNKNOWN
    one_side, both = float(known.any(axis=0).mean()), float(known.all(axis=0).mean())
    return one_side >= LEAST_SEEN_SHARE and both >= LEAST_SEEN_BOTH_SHARE


def _is_heavy(near: FloatArray, outer: FloatArray, shape: Shape, base: float) -> bool:
    """Whether what look like barbs are strokes of a heavier pen."""
    length = slice(int(max(shape.tip, 0.0) / STEP_PX), int(shape.tail / STEP_PX))
    barbs = (near[:, length] > 0.0) & (outer[:, length] > 0.0) & (outer[:, length] <= WIDEST_BARBS * shape.peak)
    thickness = (outer - near)[:, length][barbs]
    return len(thickness) > 0 and float(np.median(thickness)) > HEAVIEST_BARB * 2.0 * base + 1.0


def _tapers_on(inner: FloatArray, shape: Shape, barb: float) -> bool:
    """Whether ink, narrower than a barb, goes on ahead of an open head's tip: the point of a filled one."""
    ahead = inner[:, : max(int((shape.tip - barb) / STEP_PX), 0)].min(axis=0)
    return shape.form == "open" and len(ahead) >= LEAST_AHEAD and bool(((ahead > 0.0) & (ahead <= barb)).all())


def _is_even(inner: FloatArray, outer: FloatArray, shape: Shape) -> bool:
    """Whether the two sides of a head are alike over its rear half, where nothing but the head should be."""
    rear = slice(int((0.5 * shape.tail + 0.5 * max(shape.tip, 0.0)) / STEP_PX), max(int(shape.tail / STEP_PX) - 1, 0))
    barbs = (outer[:, rear] > 0.0) & (outer[:, rear] <= WIDEST_BARBS * shape.peak) & (shape.form == "open")
    edges = np.where(barbs, outer[:, rear], inner[:, rear])
    edges = edges[:, (np.minimum(inner[:, rear], outer[:, rear]) != UNKNOWN).all(axis=0)]
    if edges.shape[1] < 2:
        return False
    apart = edges[0] - edges[1]
    aside = float(np.median(apart))
    if float(np.median(np.abs(apart))) <= UNEVEN_PX + UNEVEN_SHARE * shape.peak:
        return True
    set_aside = shape.form == "filled" and abs(aside) <= min(2.0 * ASIDE_PX, shape.peak)
    return set_aside and float(np.median(np.abs(apart - aside))) <= 0.5 * UNEVEN_PX


def _goes_on(outer: FloatArray, shape: Shape) -> bool:
    """Whether the flanks run on well behind the tail: two lines that cross here, no head."""
    behind = np.array([1.5, 1.7, 1.9]) * (shape.tail - shape.tip) + shape.tip
    number = (behind / STEP_PX).astype(int)
    if number[-1] >= outer.shape[1]:
        return False
    expected = shape.slope * (behind - shape.tip)
    off = np.abs(outer[:, number] - expected)
    return bool(((outer[:, number] > 0.0) & (off <= 2.0 + 0.25 * expected)).all())


def _has_shaft(inner: FloatArray, shape: Shape, base: float) -> bool:
    """Whether nothing but a thin line, or paper, follows behind the tail."""
    behind = inner[:, int(shape.tail / STEP_PX) + 2 :]
    width = behind[:, (behind != UNKNOWN).all(axis=0)].max(axis=0)
    if shape.peak >= CLEAR_FLARE * base:
        back = width[: int(SLANTED_SHARE * (shape.tail - shape.tip) / STEP_PX)]
        width = width[int(np.argmin(np.append(back, 0.0) > STILL_HEAD * shape.peak)) :]
    width = width[:SHAFT_PLACES]
    return len(width) > 0 and bool((width >= 0.0).any()) and float(np.median(width)) <= 1.25 * base + 0.6
