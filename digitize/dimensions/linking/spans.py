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
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from digitize.dimensions.linking.directions import across, along, fold_deg, unit
from digitize.dimensions.linking.head_axes import AXIS_OFFSET_MM, along_its_shaft, axes, stations
from digitize.dimensions.linking.span import (
    ANY_LINE,
    BOUNDS,
    SHORTEST_SPAN_MM,
    Span,
    breaks_mm,
    is_crossed,
    shared_tails,
)
from digitize.dimensions.linking.touching import FREE_END_STD_MM, stop_at, tail_of
from digitize.dimensions.linking.unseen_heads import BREAK_MM, ENDS_AT_MM, UNSEEN, stops_of, turns_into
from digitize.strokes.primitives import Arrowhead, Point, Role, Strokes

SCRAP_SHARE = 0.35
"""A head shorter than this share of the sheet's usual one is a piece of a head, or of something else."""
OFF_AXIS_MM = 0.5
"""A head without a shaft further off the axis of its fellow, in mm of paper, may be a piece of something else."""


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
    seen = [along_its_shaft(head, strokes) for head in strokes.arrowheads]
    found = _neighbours(seen, strokes, mm_per_px)
    sure = [pair for pair in found if pair.span.certain]
    paired = {seen.index(head) for pair in sure for head in pair.heads}
    free = [head for i, head in enumerate(seen) if i not in paired]
    stops = stops_of(strokes, paired, mm_per_px)
    found += [pair for pair in _neighbours([*seen, *stops], strokes, mm_per_px) if _is_half_seen(pair, free, stops)]
    found += [pair for head in free for pair in _one_after_another(head, seen, strokes, mm_per_px)]
    used = [head for pair in found if pair.span.certain for head in pair.heads]
    spans = [pair.span for pair in found]
    spans += [span for head in free if head not in used and (span := _half_drawn(head, strokes, mm_per_px)) is not None]
    twice = [any(_end_alike(span, other, mm_per_px) for other in spans if other is not span) for span in spans]
    return tuple(
        replace(
            span,
            size_std=math.hypot(span.size_std, strokes.strain_std * span.size),
            loose=span.loose or both or is_crossed(span, strokes, mm_per_px, ANY_LINE if span.outside else BOUNDS),
            shared=shared_tails(span, strokes, mm_per_px),
        )
        for span, both in zip(spans, twice, strict=True)
    )


@dataclass(frozen=True)
class _Pair:
    """A span and the two heads that end it."""

    span: Span
    heads: tuple[Arrowhead, Arrowhead]


def _neighbours(heads: Sequence[Arrowhead], strokes: Strokes, mm_per_px: float) -> list[_Pair]:
    """Spans between heads that stand next to each other on one axis."""
    found = []
    for axis, group in axes(heads, AXIS_OFFSET_MM / mm_per_px):
        for left, right in pairwise(stations(group, axis, SHORTEST_SPAN_MM / mm_per_px)):
            pair = _between(left, right, axis, strokes, mm_per_px)
            if pair is not None:
                found.append(pair)
    return found


def _is_half_seen(pair: _Pair, free: Sequence[Arrowhead], stops: Sequence[Arrowhead]) -> bool:
    """Is one end, or both of an inside pair, a stop, and the other a head that ends nothing else?"""
    unseen = sum(head in stops for head in pair.heads)
    return 0 < unseen <= 2 - pair.span.outside and all(head in stops or head in free for head in pair.heads)


def _between(
    left: Sequence[Arrowhead], right: Sequence[Arrowhead], axis: Point, strokes: Strokes, mm_per_px: float
) -> _Pair | None:
    """The span between neighbouring stations: an inside pair where its shaft lies there, else an outside pair."""
    for outside in (False, True):
        for one in left:
            for other in right:
                if _faces(one, -axis[0], -axis[1]) != outside and _faces(other, *axis) != outside:
                    span = _pair(one, other, axis, outside, strokes, mm_per_px)
                    if span is not None:
                        return _Pair(span, (one, other))
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
    tails = _own_tail(one, strokes), _own_tail(other, strokes)
    lines = tuple(i for i in (one.line, other.line, first_line, second_line) if i is not None)
    if math.dist(first, second) * mm_per_px < SHORTEST_SPAN_MM:
        return None
    free = max(first_std, second_std) >= FREE_END_STD_MM / mm_per_px
    std = math.hypot(first_std, second_std)
    doubtful = any(head.form == UNSEEN or _is_scrap(head, strokes) for head in (one, other))
    off = abs(across(other.tip, one.tip, axis)) * mm_per_px
    doubtful = doubtful or (off > OFF_AXIS_MM and None in (one.line, other.line))
    span = Span(first, second, std, outside, tails, tuple(dict.fromkeys(lines)), loose=free or doubtful)
    breaks = () if outside else breaks_mm(span, strokes, mm_per_px)
    several = len(breaks) > 1 and is_crossed(span, strokes, mm_per_px, ANY_LINE)
    return replace(span, certain=not several, loose=span.loose or max(breaks, default=0.0) > BREAK_MM[1])


def _own_tail(head: Arrowhead, strokes: Strokes) -> Point:
    """The tail of a head, or the next tip behind it on the same shaft: what stands beyond that is another length's."""
    tail, direction = tail_of(head, strokes), unit(head.direction_deg)
    reach = along(tail, head.tip, direction)
    on_shaft = (other.tip for other in strokes.arrowheads if other.line == head.line is not None)
    placed = ((along(tip, head.tip, direction), tip) for tip in on_shaft)
    return max(((at, tip) for at, tip in placed if reach < at < -head.length_px), default=(reach, tail))[1]


def _is_scrap(head: Arrowhead, strokes: Strokes) -> bool:
    """Is it far shorter than the heads of its form?"""
    alike = [other.length_px for other in strokes.arrowheads if other.form == head.form]
    return bool(alike) and head.length_px < SCRAP_SHARE * median(alike)


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


def _one_after_another(
    head: Arrowhead, heads: Sequence[Arrowhead], strokes: Strokes, mm_per_px: float
) -> Iterator[_Pair]:
    """The lengths from a head to the next ones on its own line that point the same way.

    Where short lengths make a chain, the head that ends one from inside stands where another would point back at it;
    and of two heads tip to tip at one station the one that points on may be missed.
    """
    direction = unit(head.direction_deg)
    alike = [
        (along(other.tip, head.tip, direction), i)
        for i, other in enumerate(heads)
        if other.line == head.line is not None and abs(fold_deg(other.direction_deg - head.direction_deg, 360.0)) < 90.0
    ]
    for ahead, outside in ((1.0, True), (-1.0, False)):
        farther = [(ahead * distance, i) for distance, i in alike if ahead * distance * mm_per_px >= SHORTEST_SPAN_MM]
        if not farther or head.form in ("tick", "dot"):
            continue
        other = heads[min(farther)[1]]
        span = _pair(head, other, direction, outside, strokes, mm_per_px)
        if span is not None and not span.loose:
            tails = (span.tails[0], other.tip) if outside else span.tails
            yield _Pair(replace(span, tails=tails, loose=True), (head, other))


def _end_alike(one: Span, other: Span, mm_per_px: float) -> bool:
    """Do two spans end at the same places, either way round? Then of the figures of both one is another length's."""
    near = SHORTEST_SPAN_MM / mm_per_px
    return any(
        math.dist(one.first, first) < near and math.dist(one.second, second) < near
        for first, second in ((other.first, other.second), (other.second, other.first))
    )


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
    if turns_into(strokes.lines[second_line], tail, strokes.lines[head.line], mm_per_px):
        return None
    lines = tuple(i for i in (head.line, first_line, second_line) if i is not None)
    std = math.hypot(first_std, second_std)
    ends_there = math.dist(tail, second) * mm_per_px < ENDS_AT_MM
    return Span(first, _onto(second, first, axis), std, False, (tail, tail), lines, certain=ends_there)
