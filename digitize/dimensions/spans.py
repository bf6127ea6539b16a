"""Find what the draughtsman measured: pairs of arrow tips on one axis, leaders, and angles.

Nothing here looks at what a figure says.

Glossary
--------
tip
    The point of an arrowhead, moved along its own direction onto the extension line or edge that it touches.
inside pair
    Two arrowheads that point away from each other, the dimension line between them.
outside pair
    Two arrowheads that point at each other from outside a length too short for its figure.
slot
    Something that wants a figure: a `Span`, a `Leader` or an `Opening`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from digitize.strokes.primitives import Arc, Arrowhead, Line, Point, Role, Strokes

AXIS_ANGLE_DEG = 4.0
"""Two arrowheads lie on one axis when they are parallel to this."""
AXIS_OFFSET_MM = 0.7
"""... and their tips are no further off it than this, in mm of paper: a dimension line's two halves."""
TOUCH_MM = 0.9
"""An arrow touches a line when its tip is at most this far off, in mm of paper."""
SHORTEST_SPAN_MM = 1.2
"""Two tips closer than this, in mm of paper, meet on one extension line: no dimension lies between them."""
ENDS_AT_MM = 0.4
"""A dimension line whose arrowhead was not seen is sure to end at a line this close to its own end, in mm of paper."""
SQUARE_DEG = 35.0
"""An extension line may lean this much from square to its dimension line (isometric help lines)."""
SAME_PLACE = 0.3
"""Lines within this share of the touching distance are at the same place."""
LEAST_STD_PX = 0.02
"""No line is known better than this, in pixels."""
TIP_ON_ARC_MM = 0.15
"""Standard error of the place of an arrow's tip on its arc, in mm of paper."""
LEGS_DEG = 8.0
"""The lines that bound an angle run to the centre of its arc, and enclose what its tips do, to this."""
FREE_END_STD_MM = 0.35
"""Standard error of a span's end that has no arrowhead or no line to stop at, in mm of paper."""


@dataclass(frozen=True)
class Span:
    """A length between two tips, in level pixels.

    ``first`` and ``second`` are the ends after both have been carried onto the lines that they touch.
    ``tails`` are the far ends of the arrow shafts (where a figure may stand outside). ``size_std`` is the standard
    error of the length. ``lines`` are indices of the lines that bound it; ``certain`` is False where an end had to
    be assumed.
    """

    first: Point
    second: Point
    size_std: float
    outside: bool
    tails: tuple[Point, Point]
    lines: tuple[int, ...] = ()
    certain: bool = True

    @property
    def size(self) -> float:
        """Length in level pixels."""
        return math.dist(self.first, self.second)

    @property
    def direction(self) -> Point:
        """Unit vector from first to second."""
        length = self.size
        return (self.second[0] - self.first[0]) / length, (self.second[1] - self.first[1]) / length


@dataclass(frozen=True)
class Leader:
    """An arrow that leads from a figure at ``tail`` to ``tip``; ``arcs`` and ``edges`` are what it touches."""

    tip: Point
    tail: Point
    arcs: tuple[int, ...]
    edges: tuple[int, ...] = ()


@dataclass(frozen=True)
class Opening:
    """An angle between two arrow tips on a drawn arc, in degrees."""

    centre: Point
    radius_px: float
    first: Point
    second: Point
    size_deg: float
    size_std_deg: float
    middle: Point


def unit(angle_deg: float) -> Point:
    """Direction of an angle counter-clockwise as seen, with y down.

    Examples
    --------
    >>> [round(c, 9) for c in unit(90)]
    [0.0, -1.0]
    """
    return math.cos(math.radians(angle_deg)), -math.sin(math.radians(angle_deg))


def along(point: Point, origin: Point, direction: Point) -> float:
    """Signed distance of ``point`` from ``origin`` along a unit vector."""
    return (point[0] - origin[0]) * direction[0] + (point[1] - origin[1]) * direction[1]


def across(point: Point, origin: Point, direction: Point) -> float:
    """Signed distance of ``point`` from the axis through ``origin``."""
    return (point[1] - origin[1]) * direction[0] - (point[0] - origin[0]) * direction[1]


def fold_deg(angle_deg: float, period_deg: float = 180.0) -> float:
    """Bring a difference of angles into (-period/2, period/2]."""
    return (angle_deg + period_deg / 2) % period_deg - period_deg / 2


def line_angle_deg(line: Line) -> float:
    """Direction of a line, counter-clockwise as seen."""
    return math.degrees(math.atan2(line.start[1] - line.end[1], line.end[0] - line.start[0]))


def axes(arrowheads: Sequence[Arrowhead], offset_px: float) -> list[list[Arrowhead]]:
    """Gather arrowheads that lie on a common axis.

    Returns
    -------
    list of list of Arrowhead
        Each group sorted along its axis.
    """
    rest = sorted(arrowheads, key=lambda a: (fold_deg(a.direction_deg) % 180.0, a.tip))
    groups: list[list[Arrowhead]] = []
    for arrow in rest:
        for group in groups:
            if any(_same_axis(arrow, other, offset_px) for other in group):
                group.append(arrow)
                break
        else:
            groups.append([arrow])
    for group in groups:
        axis = unit(fold_deg(group[0].direction_deg))
        group.sort(key=lambda a: along(a.tip, (0.0, 0.0), axis))
    return groups


def _same_axis(one: Arrowhead, other: Arrowhead, offset_px: float) -> bool:
    if abs(fold_deg(one.direction_deg - other.direction_deg)) > AXIS_ANGLE_DEG:
        return False
    gap = math.dist(one.tip, other.tip)
    if gap < offset_px:
        return True
    joining_deg = math.degrees(math.atan2(one.tip[1] - other.tip[1], other.tip[0] - one.tip[0]))
    lean = math.radians(abs(fold_deg(joining_deg - one.direction_deg)))
    return gap * math.sin(lean) < offset_px


def find_spans(strokes: Strokes, mm_per_px: float) -> tuple[Span, ...]:
    """Every length that two arrow tips, or a tip and a stopped line end, mark off.

    Parameters
    ----------
    strokes : Strokes
    mm_per_px : float
        Paper millimetres per level pixel, for thresholds.

    Returns
    -------
    tuple of Span
    """
    spans: list[Span] = []
    paired: set[int] = set()
    heads = list(strokes.arrowheads)
    number = {id(head): i for i, head in enumerate(heads)}
    for group in axes(heads, AXIS_OFFSET_MM / mm_per_px):
        axis = unit(fold_deg(group[0].direction_deg))
        for left, right in pairwise(stations(group, axis, SHORTEST_SPAN_MM / mm_per_px)):
            found = _between(left, right, axis, strokes, mm_per_px)
            if found is not None:
                spans.append(found[0])
                paired.update(number[id(head)] for head in found[1])
    for i, head in enumerate(heads):
        if i not in paired:
            span = _half_drawn(head, strokes, mm_per_px)
            if span is not None:
                spans.append(span)
    return tuple(replace(span, size_std=math.hypot(span.size_std, strokes.strain_std * span.size)) for span in spans)


def stations(group: Sequence[Arrowhead], axis: Point, reach_px: float) -> list[list[Arrowhead]]:
    """Gather the tips of one axis that meet on one extension line, in order along the axis."""
    found: list[list[Arrowhead]] = []
    for head in group:
        if found and along(head.tip, found[-1][0].tip, axis) < reach_px:
            found[-1].append(head)
        else:
            found.append([head])
    return found


def _between(
    left: Sequence[Arrowhead], right: Sequence[Arrowhead], axis: Point, strokes: Strokes, mm_per_px: float
) -> tuple[Span, tuple[Arrowhead, Arrowhead]] | None:
    """The span between neighbouring stations: an inside pair where its shaft lies there, else an outside pair."""
    for outside in (False, True):
        for one in left:
            for other in right:
                if _faces(one, -axis[0], -axis[1]) != outside and _faces(other, *axis) != outside:
                    span = _pair(one, other, axis, outside, strokes, mm_per_px)
                    if span is not None:
                        return span, (one, other)
    return None


def _faces(arrow: Arrowhead, x: float, y: float) -> bool:
    """Does an arrow point along (x, y)? A tick or dot points either way."""
    return arrow.form in ("tick", "dot") or along(unit(arrow.direction_deg), (0.0, 0.0), (x, y)) > 0


def _pair(
    one: Arrowhead, other: Arrowhead, axis: Point, outside: bool, strokes: Strokes, mm_per_px: float
) -> Span | None:
    if not outside and not _shaft_between(one, other, axis, strokes, mm_per_px):
        return None
    first, first_std, first_line = _stop(one.tip, axis, strokes, mm_per_px)
    second, second_std, second_line = _stop(other.tip, axis, strokes, mm_per_px)
    second = _onto(second, first, axis)
    tails = _tail(one, strokes), _tail(other, strokes)
    lines = tuple(i for i in (one.line, other.line, first_line, second_line) if i is not None)
    if math.dist(first, second) * mm_per_px < SHORTEST_SPAN_MM:
        return None
    return Span(first, second, math.hypot(first_std, second_std), outside, tails, tuple(dict.fromkeys(lines)))


def _onto(point: Point, origin: Point, axis: Point) -> Point:
    """Foot of ``point`` on the axis through ``origin``: a dimension is measured along its own direction."""
    t = along(point, origin, axis)
    return origin[0] + t * axis[0], origin[1] + t * axis[1]


def _shaft_between(one: Arrowhead, other: Arrowhead, axis: Point, strokes: Strokes, mm_per_px: float) -> bool:
    """Is each arrow's own shaft on the side of the other, so that they are two ends of one dimension line?

    A shaft that the tracer lost altogether is forgiven; one that runs the other way is not.
    """
    if one.line is not None and one.line == other.line:
        return True
    middle = along(other.tip, one.tip, axis) / 2
    for arrow, sign in ((one, 1.0), (other, -1.0)):
        if arrow.line is None:
            continue
        line = strokes.lines[arrow.line]
        reach = max((along(end, arrow.tip, axis) * sign for end in (line.start, line.end)), default=0.0)
        if reach < min(middle * 0.25, 1.5 / mm_per_px):
            return False
    return True


def _tail(arrow: Arrowhead, strokes: Strokes) -> Point:
    """Far end of the arrow's shaft."""
    if arrow.line is None:
        direction = unit(arrow.direction_deg)
        return arrow.tip[0] - arrow.length_px * direction[0], arrow.tip[1] - arrow.length_px * direction[1]
    line = strokes.lines[arrow.line]
    return max((line.start, line.end), key=lambda end: math.dist(end, arrow.tip))


@dataclass(frozen=True)
class _Hit:
    """A line or arc that crosses an axis ``t`` pixels on from a tip."""

    t: float
    length_px: float
    std_px: float
    line: int | None


def _stop(tip: Point, axis: Point, strokes: Strokes, mm_per_px: float) -> tuple[Point, float, int | None]:
    """Carry a tip along its axis onto the line or circle it touches.

    Of several at nearly the same place the longest is taken, since its position is known best.

    Returns
    -------
    point, standard error in pixels, index of the line or None
    """
    touch_px = TOUCH_MM / mm_per_px
    hits = _hits(tip, axis, strokes, touch_px)
    if not hits:
        return tip, FREE_END_STD_MM / mm_per_px, None
    nearest = min(abs(hit.t) for hit in hits)
    best = max((hit for hit in hits if abs(hit.t) <= nearest + SAME_PLACE * touch_px), key=lambda hit: hit.length_px)
    return (tip[0] + best.t * axis[0], tip[1] + best.t * axis[1]), max(best.std_px, LEAST_STD_PX), best.line


def _hits(tip: Point, axis: Point, strokes: Strokes, touch_px: float) -> list[_Hit]:
    hits = []
    for index, line in enumerate(strokes.lines):
        t = _crossing(tip, axis, line, touch_px)
        if t is not None:
            hits.append(_Hit(t, math.dist(line.start, line.end), line.std_px, index))
    for arc in strokes.arcs:
        length_px = math.radians(arc.sweep_deg) * arc.radius_px
        hits += [
            _Hit(t, length_px, arc.radius_std_px, None)
            for t in _arc_crossings(tip, axis, arc)
            if abs(t) <= 0.7 * touch_px
        ]
    return hits


def _crossing(tip: Point, axis: Point, line: Line, touch_px: float) -> float | None:
    """Distance along the axis from ``tip`` to a line that crosses it squarely enough, or None."""
    if line.role in (Role.DIMENSION, Role.LEADER, Role.HATCH, Role.BORDER, Role.TABLE):
        return None
    axis_deg = math.degrees(math.atan2(-axis[1], axis[0]))
    if abs(abs(fold_deg(line_angle_deg(line) - axis_deg)) - 90.0) > SQUARE_DEG:
        return None
    t = _crossing_at(tip, axis, line)
    if abs(t) > touch_px:
        return None
    at = tip[0] + t * axis[0], tip[1] + t * axis[1]
    length = math.dist(line.start, line.end)
    direction = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length
    s = along(at, line.start, direction)
    return t if -touch_px <= s <= length + touch_px else None


def _crossing_at(tip: Point, axis: Point, line: Line) -> float:
    length = math.dist(line.start, line.end)
    normal = -(line.end[1] - line.start[1]) / length, (line.end[0] - line.start[0]) / length
    slope = axis[0] * normal[0] + axis[1] * normal[1]
    return -along(tip, line.start, normal) / slope


def _arc_crossings(tip: Point, axis: Point, arc: Arc) -> list[float]:
    t0 = along(arc.centre, tip, axis)
    off = across(arc.centre, tip, axis)
    if abs(off) >= arc.radius_px:
        return []
    half = math.sqrt(arc.radius_px**2 - off**2)
    return [t for t in (t0 - half, t0 + half) if on_sweep(arc, (tip[0] + t * axis[0], tip[1] + t * axis[1]))]


def on_sweep(arc: Arc, point: Point, slack_deg: float = 3.0) -> bool:
    """Does the arc's sweep hold the direction of ``point`` from its centre?"""
    if arc.sweep_deg >= 359.9:
        return True
    angle_deg = math.degrees(math.atan2(arc.centre[1] - point[1], point[0] - arc.centre[0]))
    return (angle_deg - arc.start_deg + slack_deg) % 360.0 <= arc.sweep_deg + 2 * slack_deg


def _half_drawn(head: Arrowhead, strokes: Strokes, mm_per_px: float) -> Span | None:
    """A dimension line whose second arrowhead was not seen, but which stops at a line that bounds it."""
    if head.line is None or strokes.lines[head.line].role is not Role.DIMENSION:
        return None
    tail = _tail(head, strokes)
    axis = unit(head.direction_deg)
    first, first_std, first_line = _stop(head.tip, axis, strokes, mm_per_px)
    second, second_std, second_line = _stop(tail, axis, strokes, mm_per_px)
    if second_line is None or math.dist(first, second) * mm_per_px < 3 * SHORTEST_SPAN_MM:
        return None
    lines = tuple(i for i in (head.line, first_line, second_line) if i is not None)
    std = math.hypot(first_std, second_std)
    ends_there = math.dist(tail, second) * mm_per_px < ENDS_AT_MM
    return Span(first, _onto(second, first, axis), std, False, (tail, tail), lines, certain=ends_there)


def find_leaders(strokes: Strokes, spans: Sequence[Span], mm_per_px: float) -> tuple[Leader, ...]:
    """Arrows that belong to no span, with the far end of their line and of its shoulder.

    Returns
    -------
    tuple of Leader
    """
    used = [end for span in spans if span.certain for end in (span.first, span.second)]
    touch_px = TOUCH_MM / mm_per_px
    leaders = []
    for head in strokes.arrowheads:
        if head.line is None or any(math.dist(head.tip, end) < 1.2 * touch_px for end in used):
            continue
        tail = _shoulder_end(_tail(head, strokes), head.line, strokes, touch_px)
        arcs = tuple(
            i
            for i, arc in enumerate(strokes.arcs)
            if abs(math.dist(arc.centre, head.tip) - arc.radius_px) < touch_px and on_sweep(arc, head.tip, 8.0)
        )
        leaders.append(Leader(head.tip, tail, arcs, _edges_at(head, strokes, touch_px)))
    return tuple(leaders)


def _edges_at(head: Arrowhead, strokes: Strokes, touch_px: float) -> tuple[int, ...]:
    """Visible lines that a leader's tip touches."""
    touched = []
    for index, line in enumerate(strokes.lines):
        if line.role is not Role.VISIBLE or index == head.line:
            continue
        length = math.dist(line.start, line.end)
        direction = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length
        if (
            abs(across(head.tip, line.start, direction)) < touch_px
            and 0 <= along(head.tip, line.start, direction) <= length
        ):
            touched.append(index)
    return tuple(touched)


def _shoulder_end(tail: Point, line_index: int, strokes: Strokes, touch_px: float) -> Point:
    """Follow a leader onto the short level line that it ends in."""
    for index, line in enumerate(strokes.lines):
        if index == line_index or line.role not in (Role.LEADER, Role.DIMENSION, Role.EXTENSION):
            continue
        for near, far in ((line.start, line.end), (line.end, line.start)):
            if math.dist(near, tail) < touch_px and math.dist(near, far) < 25 * touch_px:
                return far
    return tail


def find_openings(strokes: Strokes, mm_per_px: float) -> tuple[Opening, ...]:
    """Angles: two arrow tips on one thin arc, along it and pointing opposite ways.

    Where each tip touches a line that runs to the arc's centre, the angle is the one between those lines, which are
    known far better than the place of a tip on a short arc.
    """
    touch_px = TOUCH_MM / mm_per_px
    openings = []
    for arc in strokes.arcs:
        if arc.role not in (Role.DIMENSION, Role.EXTENSION, Role.LEADER) or arc.sweep_deg > 300:
            continue
        tips = [(a, way) for a in strokes.arrowheads if (way := _way_along(a, arc, touch_px))]
        if sorted(way for _, way in tips) != [-1, 1]:
            continue
        openings.append(_opening(arc, tips[0][0].tip, tips[1][0].tip, strokes, mm_per_px))
    return tuple(openings)


def _opening(arc: Arc, one: Point, other: Point, strokes: Strokes, mm_per_px: float) -> Opening:
    """The angle between two tips on an arc."""
    tips = sorted((one, other), key=lambda tip: (_bearing_deg(tip, arc) - arc.start_deg + 20) % 360)
    first, second = (_bearing_deg(tip, arc) for tip in tips)
    size_deg = (second - first) % 360
    std_deg = math.degrees(math.hypot(TIP_ON_ARC_MM / mm_per_px, arc.centre_std_px) / arc.radius_px)
    legs = [_leg(tip, arc, strokes, TOUCH_MM / mm_per_px) for tip in tips]
    if legs[0] is not None and legs[1] is not None:
        between_deg = (line_angle_deg(legs[1]) - line_angle_deg(legs[0])) % 180
        between_deg += 180 * round((size_deg - between_deg) / 180)
        if abs(between_deg - size_deg) < LEGS_DEG:
            size_deg, std_deg = between_deg, math.hypot(_direction_std_deg(legs[0]), _direction_std_deg(legs[1]))
    middle = unit(first + size_deg / 2)
    at = arc.centre[0] + arc.radius_px * middle[0], arc.centre[1] + arc.radius_px * middle[1]
    return Opening(arc.centre, arc.radius_px, tips[0], tips[1], size_deg, std_deg, at)


def _bearing_deg(point: Point, arc: Arc) -> float:
    """Direction of a point from an arc's centre."""
    return math.degrees(math.atan2(arc.centre[1] - point[1], point[0] - arc.centre[0]))


def _leg(tip: Point, arc: Arc, strokes: Strokes, touch_px: float) -> Line | None:
    """The longest line at a tip that runs towards the arc's centre."""
    radius = (tip[0] - arc.centre[0]) / arc.radius_px, (tip[1] - arc.centre[1]) / arc.radius_px
    axis = -radius[1], radius[0]
    lines = (line for line in strokes.lines if _crossing(tip, axis, line, touch_px) is not None)
    radial = [line for line in lines if abs(fold_deg(line_angle_deg(line) - _bearing_deg(tip, arc))) < LEGS_DEG]
    return max(radial, key=lambda line: math.dist(line.start, line.end), default=None)


def _direction_std_deg(line: Line) -> float:
    """Standard error of a line's direction: its offset is known to std_px all along, its ends sqrt(12) times worse."""
    length = math.dist(line.start, line.end)
    return math.degrees(max(line.std_px, LEAST_STD_PX) * math.sqrt(12.0) / length)


def _way_along(arrow: Arrowhead, arc: Arc, touch_px: float) -> int:
    """Whether an arrow on an arc points counter-clockwise along it (1), clockwise (-1), or is not along it (0)."""
    if abs(math.dist(arrow.tip, arc.centre) - arc.radius_px) > touch_px or not on_sweep(arc, arrow.tip, 12.0):
        return 0
    turn_deg = fold_deg(arrow.direction_deg - _bearing_deg(arrow.tip, arc), 360.0)
    return 0 if abs(abs(turn_deg) - 90) >= 25 else int(math.copysign(1, turn_deg))
