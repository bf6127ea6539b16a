"""Arrowheads on their lines: filled, open, oblique ticks, dots.

An arrowhead is looked for where a line ends or meets another stroke, since that is where a drafter points at. What is
tested is the ink on both sides of the line behind such a point: in a head it widens evenly on both sides from the tip
to the tail, and is gone behind the tail.

Glossary
--------
tip candidate
    A point on a piece, with the direction in which a head there would point.
flank
    Distance from the line to the edge of the head (filled) or to the middle of its barb (open), the smaller of the two
    sides, so that a neighbour's ink on one side does no harm.
slope
    How much a flank grows per px behind the tip.
stranger
    See `strangers`; what lies under its ink is unknown.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.barbs import BARBS_REACH_MM, DOUBT, SPREAD_DOUBT, STRANGER_TO_BARBS_MM, Barbed, barbed_at
from digitize.strokes.compiled import compiled
from digitize.strokes.crossings import Crossing, Table, crossings_of
from digitize.strokes.fit import ARC, LINE
from digitize.strokes.ground import Ground
from digitize.strokes.pieces import Piece
from digitize.strokes.refine import darkness_at
from digitize.strokes.seeds import ByteImage
from digitize.strokes.standing_heads import standing_heads
from digitize.strokes.strangers import strangers_near
from digitize.strokes.widths import Pens, pens_of

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

LONGEST_MM, SHORTEST_MM = 8.0, 0.9
STEP_PX = 0.5
TIP_REACH_MM = 0.55
"""The flanks must run together this near to the candidate."""
STEEPEST, FLATTEST = 0.55, 0.06
LEAST_RISE_MM, LEAST_RISE_PX = 0.09, 0.9
"""How much wider than its line a head must be on each side."""
CROSSING_SLACK_MM = 0.4
UNEVEN_SHARE = 0.2
WIDEST_BARBS = 1.5
"""Ink further out than this times a head's half width is no barb of it."""
LEAST_SHAFT = 1.3
"""A shaft is longer than its head by this; a shorter piece may be a barb, and a rival goes before it."""
SHAFTLESS_DOUBT = 0.3
LEAST_FLARE = 1.35
"""A head's half width over that of a piece that seems thick; less, and the piece is an edge."""
THIN_SPREAD = 1.25
"""Lines of the thin pen are at most this much wider than its usual width."""
STUMP_MM = 7.0
"""A piece this short may seem thick only because most of it is its own arrowhead."""
SAME_TIP_MM = 0.8
SAME_TURN_DEG = 35.0
LEAST_SHARED_SPREAD = 0.3
BACKED_BONUS = 0.05
LONGEST_DIMENSION_MM, MATE_OFF_MM = 300.0, 0.4
TIP_TO_TIP_DEG = 10.0
UNKNOWN = -2.0
LEAST_SEEN_SHARE, LEAST_SEEN_BOTH_SHARE = 0.6, 0.25
HEAVIEST_BARB = 1.6
"""Thickness of a barb, measured across the shaft, over the width of the shaft."""
TICK_LONGEST_MM, TICK_SHORTEST_MM = 6.0, 1.2
TICK_ANGLE_DEG = (30.0, 65.0)


@dataclass(frozen=True)
class Head:
    """An arrowhead in the working frame: tip, unit direction, length, form, the piece it ends and s of its tip there.

    ``piece`` is -1 where no shaft was traced.

    ``doubt`` orders rivals for the same place: the scatter of the flanks over the width of the head.
    """

    x: float
    y: float
    dx: float
    dy: float
    length: float
    half_width: float
    form: str
    piece: int
    s: float
    doubt: float


@compiled
def _cover(strangers: FloatArray, x: float, y: float, nx: float, ny: float, covered: BoolArray) -> None:
    """Mark where strangers lie on a section through (x, y): ``covered[i]`` is at offset (i - middle) / 2 px."""
    middle = (len(covered) - 1) // 2
    covered[:] = False
    for k in range(len(strangers)):
        ax, ay, bx, by, half = strangers[k]
        length = math.hypot(bx - ax, by - ay)
        ux, uy = (bx - ax) / length, (by - ay) / length
        # offsets at which the section is within half of the endless line, and within the ends
        off, turn = (y - ay) * ux - (x - ax) * uy, ny * ux - nx * uy
        along, rise = (x - ax) * ux + (y - ay) * uy, nx * ux + ny * uy
        low, high = -0.5 * middle, 0.5 * middle
        for value, slope, least, most in ((off, turn, -half, half), (along, rise, -half, length + half)):
            if abs(slope) < 1e-9:
                if not least <= value <= most:
                    high = low - 1.0
                continue
            one, two = (least - value) / slope, (most - value) / slope
            low, high = max(low, min(one, two)), min(high, max(one, two))
        for i in range(max(0, math.ceil(2.0 * low) + middle), min(2 * middle, math.floor(2.0 * high) + middle) + 1):
            covered[i] = True


@compiled
def _flanks(
    dark: ByteImage,
    strangers: FloatArray,
    x: float,
    y: float,
    dx: float,
    dy: float,
    steps: int,
    farthest: float,
    inner: FloatArray,
    near: FloatArray,
    outer: FloatArray,
) -> None:
    """Edge of the ink on the line, and the edges of the next ink outside it, on both sides behind a tip.

    All three have shape (2, steps); -1 where there is none within ``farthest`` px, `UNKNOWN` where a stranger hides
    it.
    """
    level = 100.0
    reach = int(2.0 * farthest)
    covered = np.zeros(2 * reach + 1, np.bool_)
    for k in range(steps):
        s = 0.5 * k
        cx, cy = x - s * dx, y - s * dy
        if len(strangers) > 0:
            _cover(strangers, cx, cy, -dy, dx, covered)
        for side in range(2):
            sign = 1 if side == 0 else -1
            inner[side, k] = -1.0
            near[side, k] = -1.0
            outer[side, k] = -1.0
            before = darkness_at(dark, cx, cy)
            state = 0
            hidden = covered[reach]
            if before < level:
                inner[side, k] = 0.0
                state = 1
            for i in range(1, reach + 1):
                t = 0.5 * i
                if covered[reach + sign * i]:
                    hidden = True
                    continue
                here = darkness_at(dark, cx - sign * t * dy, cy + sign * t * dx)
                if state != 1 and here < level:
                    at = UNKNOWN if hidden else t - 0.5 * (level - here) / max(before - here, 1e-9)
                    if state == 0:
                        inner[side, k] = at
                        state = 1
                    else:
                        outer[side, k] = at
                        break
                elif state == 1 and here >= level:
                    near[side, k] = t - 0.5 * (here - level) / max(here - before, 1e-9)
                    state = 2
                before = here
                hidden = False
            if state == 0 and hidden:
                inner[side, k] = UNKNOWN


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
    if at - first < 3 or at - first < 0.35 * (tail - start):
        return 0.0, 0.0, 0.0, np.inf, 0.0
    s = 0.5 * np.arange(first, at + 1).astype(np.float64)
    slope, tip, rms = _slope_of(s, h[first : at + 1])
    return tip, 0.5 * tail, slope, rms, peak


@compiled
def _open(inner: FloatArray, outer: FloatArray, base: float, steps: int) -> tuple[float, float, float, float, float]:
    """Tip offset, tail, slope, rms and width at the tail of an open head; slope 0 where there is none.

    Near the tip barbs and line are one, further back there is paper between them; their outer edges are straight all
    the way and lie half a pen outside the lines that meet at the tip.
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
    slope, tip, rms = _slope_of(s[:n], h[:n] - base)
    return tip, s[n - 1], slope, rms, h[n - 1]


@dataclass(frozen=True)
class _Shape:
    tip: float
    tail: float
    slope: float
    rms: float
    peak: float
    form: str


def _shape_at(
    ground: Ground, strangers: FloatArray, x: float, y: float, dx: float, dy: float, base: float
) -> _Shape | None:
    """Look for a filled or an open head that points along (dx, dy) at a point; the better of the two, or None."""
    longest = ground.px(LONGEST_MM)
    steps = int(longest / STEP_PX) + 2
    inner, near, outer = np.empty((2, steps)), np.empty((2, steps)), np.empty((2, steps))
    (px, py), (qx, qy) = ground.in_picture(np.array([[x, y], [dx, dy]]))
    _flanks(ground.dark, strangers, px, py, qx, qy, steps, 0.45 * longest, inner, near, outer)
    rise = max(ground.px(LEAST_RISE_MM), LEAST_RISE_PX)
    shapes = _shapes(inner, outer, base, steps, rise, longest)
    fitting = [
        s
        for s in shapes
        if _is_head(ground, s)
        and _is_seen(inner, outer, s)
        and _is_even(inner, outer, s)
        and _has_shaft(inner, s, base)
        and not _goes_on(outer, s)
        and not _is_heavy(near, outer, s, base)
    ]
    if fitting and fitting[0] is shapes[0] and shapes[0].form == "open":
        return fitting[0]  # paper was seen between its barbs
    return min(fitting, key=lambda shape: shape.rms / shape.peak + abs(shape.tip) / shape.tail, default=None)


def _shapes(inner: FloatArray, outer: FloatArray, base: float, steps: int, rise: float, longest: float) -> list[_Shape]:
    """Read the flanks as a filled head, as an open one, and as an open one whose barbs have run together."""
    tip, tail, slope, rms, peak = _filled(inner, base, steps, rise, longest)
    shapes = [_Shape(*_open(inner, outer, base, steps), form="open")]
    if slope > 0.0:
        shapes.append(_Shape(tip, tail, slope, rms, peak, "filled"))
        shapes.append(_Shape(tip + base / slope, tail, slope, rms, peak, "open"))
    return [shape for shape in shapes if shape.slope > 0.0]


def _is_head(ground: Ground, shape: _Shape) -> bool:
    """Whether flanks have a head's slope and length, run together at the candidate, and are straight."""
    length = shape.tail - shape.tip
    return (
        FLATTEST <= shape.slope <= STEEPEST
        and ground.px(SHORTEST_MM) <= length <= ground.px(LONGEST_MM)
        and abs(shape.tip) <= ground.px(TIP_REACH_MM) + 0.15 * length
        and shape.rms <= max(0.45, 0.09 * shape.peak)
    )


def _is_seen(inner: FloatArray, outer: FloatArray, shape: _Shape) -> bool:
    """Whether strangers leave enough of a head free to tell."""
    length = slice(int(max(shape.tip, 0.0) / STEP_PX), int(shape.tail / STEP_PX))
    known = np.minimum(inner[:, length], outer[:, length]) != UNKNOWN
    one_side, both = float(known.any(axis=0).mean()), float(known.all(axis=0).mean())
    return one_side >= LEAST_SEEN_SHARE and both >= LEAST_SEEN_BOTH_SHARE


def _is_heavy(near: FloatArray, outer: FloatArray, shape: _Shape, base: float) -> bool:
    """Whether what look like barbs are strokes of a heavier pen."""
    length = slice(int(max(shape.tip, 0.0) / STEP_PX), int(shape.tail / STEP_PX))
    barbs = (near[:, length] > 0.0) & (outer[:, length] > 0.0) & (outer[:, length] <= WIDEST_BARBS * shape.peak)
    thickness = (outer - near)[:, length][barbs]
    return len(thickness) > 0 and float(np.median(thickness)) > HEAVIEST_BARB * 2.0 * base + 1.0


def _is_even(inner: FloatArray, outer: FloatArray, shape: _Shape) -> bool:
    """Whether the two sides of a head are alike over its rear half, where nothing but the head should be."""
    rear = slice(int((0.5 * shape.tail + 0.5 * max(shape.tip, 0.0)) / STEP_PX), max(int(shape.tail / STEP_PX) - 1, 0))
    barbs = (outer[:, rear] > 0.0) & (outer[:, rear] <= WIDEST_BARBS * shape.peak) & (shape.form == "open")
    edges = np.where(barbs, outer[:, rear], inner[:, rear])
    edges = edges[:, (np.minimum(inner[:, rear], outer[:, rear]) != UNKNOWN).all(axis=0)]
    if edges.shape[1] < 2:
        return False
    return float(np.median(np.abs(edges[0] - edges[1]))) <= 0.8 + UNEVEN_SHARE * shape.peak


def _goes_on(outer: FloatArray, shape: _Shape) -> bool:
    """Whether the flanks run on well behind the tail: two lines that cross here, no head."""
    behind = np.array([1.5, 1.7, 1.9]) * (shape.tail - shape.tip) + shape.tip
    number = (behind / STEP_PX).astype(int)
    if number[-1] >= outer.shape[1]:
        return False
    expected = shape.slope * (behind - shape.tip)
    off = np.abs(outer[:, number] - expected)
    return bool(((outer[:, number] > 0.0) & (off <= 2.0 + 0.25 * expected)).all())


def _has_shaft(inner: FloatArray, shape: _Shape, base: float) -> bool:
    """Whether nothing but a thin line, or paper, follows behind the tail."""
    behind = inner[:, int(shape.tail / STEP_PX) + 2 :]
    behind = behind[:, (behind != UNKNOWN).all(axis=0)][:, :4]
    if behind.shape[1] == 0 or (behind < 0.0).all():
        return False
    return float(np.median(behind.max(axis=0))) <= 1.25 * base + 0.6


def find_heads(ground: Ground, pieces: list[Piece]) -> list[Head]:
    """Find all arrowheads, each once.

    Returns
    -------
    list of Head
        In the order of their tips (x, then y).
    """
    table = Table(pieces)
    pens = pens_of(table.width, table.s1 - table.s0)
    slack = ground.px(CROSSING_SLACK_MM)
    found: list[Head] = []
    for k, piece in enumerate(pieces):
        if piece.length < ground.px(SHORTEST_MM):
            continue
        if pens.is_thick(piece.width) and pens.parting is not None and piece.length > ground.px(STUMP_MM):
            continue
        crossings = [] if piece.closed else crossings_of(table, k, slack)
        for s, sign in _tip_candidates(piece, crossings, slack):
            head = _head_at(ground, table, pens, k, s, sign)
            if head is not None:
                found.append(_set_on_crossing(ground, head, piece, crossings))
        found += [] if piece.track.kind == ARC else _ticks(ground, table, k, crossings)
    standing = [
        _from_barbs(barbed, (x, y), (dx, dy), -1, 0.0) for x, y, dx, dy, barbed in standing_heads(ground, table, pens)
    ]
    found += [head for head in standing if any(_are_mates(ground, head, other) for other in found + standing)]
    return _each_once(ground, found)


def _tip_candidates(piece: Piece, crossings: list[Crossing], slack: float) -> list[tuple[float, float]]:
    """Places on a piece where a head may point, with the sign of s in which it would point.

    The head of an arc that is measured from outside may have no tail behind it: it points back at the arc's end.
    """
    if piece.closed:
        return []
    places = [(piece.s0, -1.0), (piece.s1, 1.0)]
    for crossing in crossings:
        for sign in (-1.0, 1.0):
            tail_inside = crossing.s > piece.s0 + slack if sign > 0 else crossing.s < piece.s1 - slack
            if tail_inside or piece.track.kind == ARC:
                places.append((crossing.s, sign))
    return places


def _head_at(ground: Ground, table: Table, pens: Pens, k: int, s: float, sign: float) -> Head | None:
    """Test one candidate."""
    piece = table.pieces[k]
    x, y = (float(v) for v in piece.track.at(s))
    hx, hy = piece.track.heading(s)
    dx, dy = sign * hx, sign * hy
    base = 0.5 * min(piece.width, pens.thin * THIN_SPREAD)
    strangers = strangers_near(ground, table, x, y, dx, dy)
    shape = _shape_at(ground, strangers, x, y, dx, dy, base)
    if shape is None:
        near = strangers_near(ground, table, x, y, dx, dy, STRANGER_TO_BARBS_MM, BARBS_REACH_MM)
        return _barbed(ground, near, k, piece, s, sign)
    if shape.peak < LEAST_FLARE * 0.5 * piece.width and pens.is_thick(piece.width):
        return None
    length = shape.tail - shape.tip
    shaftless = SHAFTLESS_DOUBT if piece.length < LEAST_SHAFT * length else 0.0
    return Head(
        x - shape.tip * dx,
        y - shape.tip * dy,
        dx,
        dy,
        length,
        shape.peak,
        shape.form,
        k,
        s - sign * shape.tip,
        shape.rms / shape.peak + 0.2 * abs(shape.tip) / length + shaftless,
    )


def _barbed(ground: Ground, strangers: FloatArray, k: int, piece: Piece, s: float, sign: float) -> Head | None:
    """Test one candidate for a small head drawn by hand."""
    hx, hy = piece.track.heading(s)
    (px, py), (qx, qy) = ground.in_picture(np.array([piece.track.point(s), (sign * hx, sign * hy)]))
    found = barbed_at(ground, strangers, float(px), float(py), float(qx), float(qy), piece.width)
    if found is None:
        return None
    at = s + sign * found.ahead
    return _from_barbs(found, piece.track.point(at), (sign * hx, sign * hy), k, at)


def _from_barbs(found: Barbed, tip: tuple[float, float], direction: tuple[float, float], piece: int, s: float) -> Head:
    """Make a head of its barbs."""
    form = "open" if found.is_open else "filled"
    doubt = DOUBT + SPREAD_DOUBT * found.half_width / found.length
    return Head(*tip, *direction, found.length, found.half_width, form, piece, s, doubt)


def _set_on_crossing(ground: Ground, head: Head, piece: Piece, crossings: list[Crossing]) -> Head:
    """Put a tip on the stroke that it touches."""
    near = [c for c in crossings if abs(c.s - head.s) <= ground.px(TIP_REACH_MM)]
    if not near:
        return head
    s = min(near, key=lambda c: abs(c.s - head.s)).s
    x, y = (float(v) for v in piece.track.at(s))
    shift = (x - head.x) * head.dx + (y - head.y) * head.dy
    return Head(x, y, head.dx, head.dy, head.length + shift, head.half_width, head.form, head.piece, s, head.doubt)


def _ticks(ground: Ground, table: Table, k: int, crossings: list[Crossing]) -> list[Head]:
    """Oblique strokes across the end of a line, where it meets another one."""
    piece = table.pieces[k]
    found = []
    for crossing in crossings:
        tick = table.pieces[crossing.other]
        if tick.track.kind != LINE or not ground.px(TICK_SHORTEST_MM) <= tick.length <= ground.px(TICK_LONGEST_MM):
            continue
        if abs(crossing.other_s - 0.5 * (tick.s0 + tick.s1)) > 0.15 * tick.length or piece.length < 1.5 * tick.length:
            continue
        angle = math.degrees(math.asin(min(crossing.sine, 1.0)))
        at_end = min(abs(crossing.s - piece.s0), abs(crossing.s - piece.s1)) <= tick.length
        third = any(
            abs(c.s - crossing.s) < ground.px(CROSSING_SLACK_MM) and c.other != crossing.other and c.sine > 0.8
            for c in crossings
        )
        if not (TICK_ANGLE_DEG[0] <= angle <= TICK_ANGLE_DEG[1] and at_end and third):
            continue
        x, y = (float(v) for v in piece.track.at(crossing.s))
        sign = 1.0 if abs(crossing.s - piece.s1) < abs(crossing.s - piece.s0) else -1.0
        hx, hy = piece.track.heading(crossing.s)
        found.append(Head(x, y, sign * hx, sign * hy, tick.length, 0.35 * tick.length, "tick", k, crossing.s, 0.5))
    return found


def _each_once(ground: Ground, heads: list[Head]) -> list[Head]:
    """Of heads that claim the same ink keep the least doubtful."""
    kept: list[Head] = []
    backed = [replace(h, doubt=h.doubt - BACKED_BONUS) if _is_backed(ground, h, heads) else h for h in heads]
    for head in sorted(backed, key=lambda h: (h.doubt, h.x, h.y)):
        if not any(_are_rivals(ground, k, head) for k in kept):
            kept.append(head)
    return sorted(kept, key=lambda h: (h.x, h.y, h.dx, h.dy))


def _are_mates(ground: Ground, head: Head, other: Head) -> bool:
    """Whether two heads end one dimension line: on one axis, pointing away from each other."""
    x, y = other.x - head.x, other.y - head.y
    back, side = -(x * head.dx + y * head.dy), abs(x * head.dy - y * head.dx)
    apart = head.dx * other.dx + head.dy * other.dy < -math.cos(math.radians(TIP_TO_TIP_DEG))
    room = head.length + other.length
    return apart and room < back <= ground.px(LONGEST_DIMENSION_MM) and side <= ground.px(MATE_OFF_MM) + 0.01 * back


def _is_backed(ground: Ground, head: Head, heads: list[Head]) -> bool:
    """Whether another head points the opposite way at the same tip, as where two dimensions meet."""
    return any(
        math.hypot(other.x - head.x, other.y - head.y) <= ground.px(SAME_TIP_MM)
        and head.dx * other.dx + head.dy * other.dy < -math.cos(math.radians(TIP_TO_TIP_DEG))
        for other in heads
    )


def _lies_within(inner: Head, outer: Head) -> bool:
    """Whether the tip of one head lies in the body of another."""
    x, y = inner.x - outer.x, inner.y - outer.y
    back, side = -(x * outer.dx + y * outer.dy), abs(x * outer.dy - y * outer.dx)
    return 0.15 * outer.length < back < outer.length and side * outer.length < outer.half_width * back


def _are_rivals(ground: Ground, first: Head, second: Head) -> bool:
    """Whether two heads point the same way at one place, or lie on each other."""
    x, y = second.x - first.x, second.y - first.y
    cosine = first.dx * second.dx + first.dy * second.dy
    tip_to_tip = cosine < -math.cos(math.radians(TIP_TO_TIP_DEG))
    if not tip_to_tip and (_lies_within(first, second) or _lies_within(second, first)):
        return True
    if cosine >= math.cos(math.radians(SAME_TURN_DEG)):
        return math.hypot(x, y) <= max(ground.px(SAME_TIP_MM), 1.1 * max(first.length, second.length))
    if cosine > -math.cos(math.radians(SAME_TURN_DEG)):
        # barbs at half a right angle to two lines that cross here look like heads of either
        spread = min(first.half_width / first.length, second.half_width / second.length)
        return spread > LEAST_SHARED_SPREAD and math.hypot(x, y) <= ground.px(SAME_TIP_MM)
    # pointing opposite ways: in front of the first tip, the second lies from its own tip to its length further on
    ahead, side = x * first.dx + y * first.dy, abs(x * first.dy - y * first.dx)
    overlap = min(0.0, ahead + second.length) - max(-first.length, ahead)
    return side <= first.half_width + 2.0 and overlap > 0.3 * min(first.length, second.length)
