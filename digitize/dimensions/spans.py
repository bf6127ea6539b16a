"""Lengths that the draughtsman measured: pairs of arrow tips on one axis.

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
    Something that wants a figure: a `Span`, a `leaders.Leader` or an `openings.Opening`.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from digitize.dimensions.directions import across, along, fold_deg, unit
from digitize.dimensions.touching import FREE_END_STD_MM, stop_at, tail_of
from digitize.strokes.primitives import Arrowhead, Point, Role, Strokes

AXIS_ANGLE_DEG = 4.0
"""Two arrowheads lie on one axis when they are parallel to this."""
AXIS_OFFSET_MM = 0.7
"""... and their tips are no further off it than this, in mm of paper: a dimension line's two halves."""
SHORTEST_SPAN_MM = 1.2
"""Two tips closer than this, in mm of paper, meet on one extension line: no dimension lies between them."""
CLEAR_MM, PAST_MM = 2.0, 4.0
"""An extension line that ends on a span crosses it this far from its tips, and ends this near to it, in mm of paper."""
ENDS_AT_MM = 0.4
"""A dimension line whose arrowhead was not seen is sure to end at a line this close to its own end, in mm of paper."""


@dataclass(frozen=True)
class Span:
    """A length between two tips, in level pixels.

    ``first`` and ``second`` are the ends after both have been carried onto the lines that they touch.
    ``tails`` are the far ends of the arrow shafts (where a figure may stand outside). ``size_std`` is the standard
    error of the length. ``lines`` are indices of the lines that bound it; ``certain`` is False where an end had to
    be assumed. ``loose`` is True where a tip touches nothing, or where an extension line ends on the span between its
    tips: arrowheads may have been missed there, and its figure be that of a part of it.
    """

    first: Point
    second: Point
    size_std: float
    outside: bool
    tails: tuple[Point, Point]
    lines: tuple[int, ...] = ()
    certain: bool = True
    loose: bool = False

    @property
    def size(self) -> float:
        """Length in level pixels."""
        return math.dist(self.first, self.second)

    @property
    def direction(self) -> Point:
        """Unit vector from first to second."""
        length = self.size
        return (self.second[0] - self.first[0]) / length, (self.second[1] - self.first[1]) / length


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
    return tuple(
        replace(
            span,
            size_std=math.hypot(span.size_std, strokes.strain_std * span.size),
            loose=span.loose or _is_crossed(span, strokes, mm_per_px),
        )
        for span in spans
    )


def _is_crossed(span: Span, strokes: Strokes, mm_per_px: float) -> bool:
    """Does an extension or centre line run a little past the span between its tips, and end there?"""
    clear, past = CLEAR_MM / mm_per_px, PAST_MM / mm_per_px
    for index, line in enumerate(strokes.lines):
        if line.role not in (Role.EXTENSION, Role.CENTRE) or index in span.lines:
            continue
        sides = [across(end, span.first, span.direction) for end in (line.start, line.end)]
        if sides[0] * sides[1] >= 0 or min(map(abs, sides)) > past or max(map(abs, sides)) < 2 * past:
            continue
        share = sides[0] / (sides[0] - sides[1])
        at = (
            line.start[0] + share * (line.end[0] - line.start[0]),
            line.start[1] + share * (line.end[1] - line.start[1]),
        )
        if clear < along((at[0], at[1]), span.first, span.direction) < span.size - clear:
            return True
    return False


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
    first, first_std, first_line = stop_at(one.tip, axis, strokes, mm_per_px)
    second, second_std, second_line = stop_at(other.tip, axis, strokes, mm_per_px)
    second = _onto(second, first, axis)
    tails = tail_of(one, strokes), tail_of(other, strokes)
    lines = tuple(i for i in (one.line, other.line, first_line, second_line) if i is not None)
    if math.dist(first, second) * mm_per_px < SHORTEST_SPAN_MM:
        return None
    free = max(first_std, second_std) >= FREE_END_STD_MM / mm_per_px
    std = math.hypot(first_std, second_std)
    return Span(first, second, std, outside, tails, tuple(dict.fromkeys(lines)), loose=free)


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


def _half_drawn(head: Arrowhead, strokes: Strokes, mm_per_px: float) -> Span | None:
    """A dimension line whose second arrowhead was not seen, but which stops at a line that bounds it."""
    if head.line is None or strokes.lines[head.line].role is not Role.DIMENSION:
        return None
    tail = tail_of(head, strokes)
    axis = unit(head.direction_deg)
    first, first_std, first_line = stop_at(head.tip, axis, strokes, mm_per_px)
    second, second_std, second_line = stop_at(tail, axis, strokes, mm_per_px)
    if second_line is None or math.dist(first, second) * mm_per_px < 3 * SHORTEST_SPAN_MM:
        return None
    lines = tuple(i for i in (head.line, first_line, second_line) if i is not None)
    std = math.hypot(first_std, second_std)
    ends_there = math.dist(tail, second) * mm_per_px < ENDS_AT_MM
    return Span(first, _onto(second, first, axis), std, False, (tail, tail), lines, certain=ends_there)
