"""Flanks read as an arrowhead: filled, open, or open with barbs that have run together.

In a head the ink widens evenly on both sides from the tip to the tail, and is gone behind the tail.

Glossary
--------
flank
    See `flanks`.
slope
    How much a flank grows per px behind the tip.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.heads.flanks import STEP_PX, UNKNOWN, follow_flanks, may_widen
from digitize.strokes.heads.strangers import REACH_MM, STRANGER_MM, strangers_of
from digitize.strokes.table import Cells

FloatArray = NDArray[np.float64]

LONGEST_MM, SHORTEST_MM = 8.0, 0.9
TIP_REACH_MM = 0.55
TIP_SHARE = 0.2
"""The flanks must run together this near to the candidate, and by this share of the head's length."""
STEEPEST, FLATTEST = 0.55, 0.06
LEAST_RISE_MM, LEAST_RISE_PX = 0.09, 0.9
"""How much wider than its line a head must be on each side."""
LEAST_TAPER = 0.35
"""The flanks of a head rise over this share of the length that they stand out of their line at least."""
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


@compiled
def _bridge(h: FloatArray) -> None:
    """Draw straight over the unknown stretches of a flank that has known ones on both sides."""
    last = -1
    for k in range(len(h)):
        if h[k] == UNKNOWN:
            continue
        if last >= 0 and k - last > 1 and h[k] >= 0.0 and h[last] >= 0.0:
            for m in range(last + 1, k):
                h[m] = h[last] + (h[k] - h[last]) * (m - last) / (k - last)
        last = k


@compiled
def _slope_of(s: FloatArray, h: FloatArray) -> tuple[float, float, float]:
    """Straight flank h = slope (s - tip): slope, tip and rms; slope 0 where undetermined. Strays are left out once."""
    keep = np.ones(len(s), np.bool_)
    slope, tip, rms = 0.0, 0.0, np.inf
    for _ in range(2):
        n = np.sum(keep)
        if n < 4:
            return 0.0, 0.0, np.inf
        ms, mh = np.mean(s[keep]), np.mean(h[keep])
        var = np.sum((s[keep] - ms) ** 2)
        if var <= 0.0:
            return 0.0, 0.0, np.inf
        slope = np.sum((s[keep] - ms) * (h[keep] - mh)) / var
        if abs(slope) < 1e-6:
            return 0.0, 0.0, np.inf
        tip = ms - mh / slope
        off = h - slope * (s - tip)
        rms = np.sqrt(np.mean(off[keep] ** 2))
        keep = np.abs(off) <= max(2.0 * rms, 0.5)
    return slope, tip, rms


@compiled
def _filled(
    inner: FloatArray, base: float, steps: int, least_rise: float, longest: float
) -> tuple[float, float, float, float, float]:
    """Tip offset, tail, slope, rms and peak of a filled head; slope 0 where there is none."""
    h = np.minimum(inner[0], inner[1])
    for k in range(steps):
        if h[k] < 0.0:
            h[k] = max(inner[0, k], inner[1, k])
            if h[k] < 0.0 and min(inner[0, k], inner[1, k]) == UNKNOWN:
                h[k] = UNKNOWN
    _bridge(h)
    start = -1
    for k in range(steps - 4):
        # a stroke that crosses at the tip widens the first flanks, less and less
        settled = h[k + 1] >= h[k] - 0.1 and h[k + 2] >= h[k] - 0.1 and h[k + 4] >= h[k] - 0.1
        if 0.0 < h[k] <= 0.6 * 0.5 * k + base + 0.5 and settled:
            start = k
            break
    if start < 0:
        return 0.0, 0.0, 0.0, np.inf, 0.0
    peak, at = 0.0, start
    tail = -1
    for k in range(start, steps):
        if h[k] < 0.0:
            break
        if h[k] > peak:
            if h[k] > 0.65 * 0.5 * k + base + 1.5:
                break
            peak, at = h[k], k
        elif peak > base + least_rise and h[k] < base + 0.4 * (peak - base):
            tail = k
            break
        elif h[k] <= 0.0 or 0.5 * (k - at) > 0.35 * longest:
            break
    if tail < 0 or peak < base + least_rise or peak < 1.45 * base:
        return 0.0, 0.0, 0.0, np.inf, 0.0
    first = start
    while first < at and h[first] < base + 0.25 * (peak - base):
        first += 1
    # a head rises out of its line where it is as wide as that: of a slim one little is left to see
    if at - first < 3 or at - first < LEAST_TAPER * (peak - base) / peak * (tail - start):
        return 0.0, 0.0, 0.0, np.inf, 0.0
    for k in range(first, at + 1):
        # the narrower side told that there is a head; where it lies, both sides tell
        if min(inner[0, k], inner[1, k]) >= 0.0:
            h[k] = 0.5 * (inner[0, k] + inner[1, k])
    s = 0.5 * np.arange(first, at + 1).astype(np.float64)
    slope, tip, rms = _slope_of(s, h[first : at + 1])
    return tip, 0.5 * tail, slope, rms, peak


@compiled
def _open(
    inner: FloatArray, outer: FloatArray, base: float, barb: float, steps: int
) -> tuple[float, float, float, float, float]:
    """Tip offset, tail, slope, rms and width at the tail of an open head; slope 0 where there is none.

    Near the tip barbs and line are one, further back there is paper between them; their outer edges are straight all
    the way and lie half a pen (``barb``) outside the lines that meet at the tip.
    """
    s = np.zeros(steps)
    h = np.zeros(steps)
    n, parted, missing = 0, 0, 0
    for k in range(2, steps):
        if min(inner[0, k], inner[1, k], outer[0, k], outer[1, k]) == UNKNOWN:
            continue
        both = outer[0, k] > 0.0 and outer[1, k] > 0.0
        left = outer[0, k] if outer[0, k] > 0.0 else inner[0, k]
        right = outer[1, k] if outer[1, k] > 0.0 else inner[1, k]
        low, high = min(left, right), max(left, right)
        good = low > base + 0.4 and low <= 0.7 * 0.5 * k + base + 1.0 and high - low <= 1.5 + 0.25 * low
        if good and n > 0 and low < h[n - 1] - 0.8:
            good = False
        if good:
            s[n], h[n] = 0.5 * k, low
            n += 1
            missing = 0
            parted += both
        elif n > 0:
            missing += 1
            if missing > 5:
                break
    if n < 6 or parted < 3:
        return 0.0, 0.0, 0.0, np.inf, 0.0
    beyond = int(2.0 * s[n - 1]) + 3
    for k in range(beyond, min(beyond + 4, steps)):
        # lines that only cross here go on behind the tail, barbs do not
        if outer[0, k] > 0.0 and outer[1, k] > 0.0 and abs(outer[0, k] - outer[1, k]) <= 1.5 + 0.25 * outer[0, k]:
            return 0.0, 0.0, 0.0, np.inf, 0.0
    if beyond >= steps or h[n - 1] > 0.4 * 0.5 * steps:
        return 0.0, 0.0, 0.0, np.inf, 0.0
    slope, tip, rms = _slope_of(s[:n], h[:n] - barb)
    return tip, s[n - 1], slope, rms, h[n - 1]


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
    longest, rise = LONGEST_MM * mm, max(LEAST_RISE_MM * mm, LEAST_RISE_PX)
    steps, found = int(longest / STEP_PX) + 2, np.zeros(len(rays), np.bool_)
    inner, near, outer = np.empty((2, steps)), np.empty((2, steps)), np.empty((2, steps))
    for n in range(len(rays)):
        x, y, dx, dy, base, least = rays[n]
        strangers = strangers_of(rows, cells, picture, x, y, dx, dy, mm, STRANGER_MM * mm, REACH_MM * mm)
        px, py = picture[0, 0] * x + picture[0, 1] * y, picture[1, 0] * x + picture[1, 1] * y
        qx, qy = picture[0, 0] * dx + picture[0, 1] * dy, picture[1, 0] * dx + picture[1, 1] * dy
        rail = max(base + RAIL * rise, FLARE_RAIL * least)
        if not may_widen(dark, strangers, px, py, qx, qy, CLEAR_OF_TIP_MM * mm, longest, rail):
            continue
        follow_flanks(dark, strangers, px, py, qx, qy, steps, 0.45 * longest, inner, near, outer)
        tip, tail, slope, rms, peak = _open(inner, outer, base, base, steps)
        found[n] = slope > 0.0 and is_of_a_head(mm, tip, tail, slope, rms, peak)
        if not found[n]:
            tip, tail, slope, rms, peak = _filled(inner, base, steps, rise, longest)
            found[n] = slope > 0.0 and (
                is_of_a_head(mm, tip, tail, slope, rms, peak)
                or is_of_a_head(mm, tip + base / slope, tail, slope, rms, peak)
            )
    return found


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
) -> Shape | None:
    """Look for a filled or an open head that points along (dx, dy) at a point; the better of the two, or None.

    ``base`` is half of the width of its line, ``least`` the half width from which it is one, and ``barb`` half of the
    width of its barbs: the leg of a cutting plane is heavy, its head is drawn by the thin pen.
    """
    longest, rise = ground.px(LONGEST_MM), max(ground.px(LEAST_RISE_MM), LEAST_RISE_PX)
    (px, py), (qx, qy) = ground.in_picture(np.array([[x, y], [dx, dy]]))
    rail = max(base + RAIL * rise, FLARE_RAIL * least)
    if not may_widen(ground.dark, strangers, px, py, qx, qy, ground.px(CLEAR_OF_TIP_MM), longest, rail):
        return None
    steps = int(longest / STEP_PX) + 2
    inner, near, outer = np.empty((2, steps)), np.empty((2, steps)), np.empty((2, steps))
    follow_flanks(ground.dark, strangers, px, py, qx, qy, steps, 0.45 * longest, inner, near, outer)
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
    tip, tail, slope, rms, peak = _filled(inner, base, steps, rise, longest)
    shapes = [Shape(*_open(inner, outer, base, barb, steps), form="open")]
    if slope > 0.0:
        shapes.append(Shape(tip, tail, slope, rms, peak, "filled"))
        shapes.append(Shape(tip + barb / slope, tail, slope, rms, peak, "open"))
    return [shape for shape in shapes if shape.slope > 0.0]


@compiled
def is_of_a_head(mm: float, tip: float, tail: float, slope: float, rms: float, peak: float) -> bool:
    """Whether flanks have a head's slope and length, run together at the candidate, and are straight."""
    length = tail - tip
    return bool(
        FLATTEST <= slope <= STEEPEST
        and SHORTEST_MM * mm <= length <= LONGEST_MM * mm
        and abs(tip) <= TIP_REACH_MM * mm + TIP_SHARE * length
        and rms <= max(0.45, 0.09 * peak)
    )


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
