"""A length between two arrow tips, and what the sheet shows against its being one length."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from digitize.dimensions.linking.directions import across, along
from digitize.dimensions.linking.touching import TOUCH_MM
from digitize.dimensions.linking.unseen_heads import BREAK_MM, MAY_CARRY, lies_on
from digitize.strokes.primitives import Line, Point, Role, Strokes

SHORTEST_SPAN_MM = 1.2
"""Two tips closer than this, in mm of paper, meet on one extension line: no dimension lies between them."""
BOUNDS = (Role.EXTENSION, Role.CENTRE)
ANY_LINE = (Role.EXTENSION, Role.CENTRE, Role.VISIBLE, Role.HIDDEN)
CLEAR_MM, PAST_MM, FROM_MM = 2.0, 4.0, 5.0
"""An extension line that ends on a span crosses it this far from its tips, ends this near to it and begins so far away,
in mm of paper: the nearest dimension lines stand 6 mm or more off the outline (1/4 in in books; memory)."""


@dataclass(frozen=True)
class Span:
    """A length between two tips, in level pixels.

    ``first`` and ``second`` are the ends after both have been carried onto the lines that they touch.
    ``tails`` are the far ends of the arrow shafts (where a figure may stand outside). ``size_std`` is the standard
    error of the length. ``lines`` are indices of the lines that bound it; ``certain`` is False where an end had to
    be assumed, or where the dimension line is broken twice and some line ends on it: arrowheads were missed between.
    ``loose`` is True where a head was not seen or is a scrap of one, where a tip touches nothing, where an extension
    line ends on the span between its tips, where its line is broken for longer than a figure is, or where another span
    has the same ends: its figure may be that of a part of it, or its heads may end two other lengths. ``shared`` is
    True for a tail on which an extension line or a leader ends: what stands past it may be of another length, or be
    led elsewhere.
    """

    first: Point
    second: Point
    size_std: float
    outside: bool
    tails: tuple[Point, Point]
    lines: tuple[int, ...] = ()
    certain: bool = True
    loose: bool = False
    shared: tuple[bool, bool] = (False, False)

    @property
    def size(self) -> float:
        """Length in level pixels."""
        return math.dist(self.first, self.second)

    @property
    def direction(self) -> Point:
        """Unit vector from first to second."""
        length = self.size
        return (self.second[0] - self.first[0]) / length, (self.second[1] - self.first[1]) / length

    def is_loose_for(self, place: Point) -> bool:
        """May a figure at a place be of another length, or be led elsewhere?"""
        at = along(place, self.first, self.direction)
        past = at < 0.0, at > self.size
        return self.loose or any(own and out for own, out in zip(self.shared, past, strict=True))


def shared_tails(span: Span, strokes: Strokes, mm_per_px: float) -> tuple[bool, bool]:
    """On which of the two tails of an outside pair does something else end?"""
    first, second = (
        span.outside and tip != tail and _is_shared(replace(span, first=tip, second=tail), strokes, mm_per_px)
        for tip, tail in zip((span.first, span.second), span.tails, strict=True)
    )
    return first, second


def _is_shared(tail: Span, strokes: Strokes, mm_per_px: float) -> bool:
    """Does an extension line cross a tail and end there, or a leader begin on it?"""
    touch = TOUCH_MM / mm_per_px
    leaders = (line for i, line in enumerate(strokes.lines) if line.role is Role.LEADER and i not in tail.lines)
    ends = (end for line in leaders for end in (line.start, line.end))
    led = any(
        abs(across(end, tail.first, tail.direction)) < touch
        and touch < along(end, tail.first, tail.direction) < tail.size - touch
        for end in ends
    )
    return led or is_crossed(tail, strokes, mm_per_px)


def is_crossed(span: Span, strokes: Strokes, mm_per_px: float, roles: Sequence[Role] = BOUNDS) -> bool:
    """Does an extension or centre line run a little past the span between its tips, and end there?"""
    clear, past, away = (each / mm_per_px for each in (CLEAR_MM, PAST_MM, FROM_MM))
    for index, line in enumerate(strokes.lines):
        if line.role not in roles or index in span.lines:
            continue
        sides = [across(end, span.first, span.direction) for end in (line.start, line.end)]
        if sides[0] * sides[1] >= 0 or min(map(abs, sides)) > past or max(map(abs, sides)) < away:
            continue
        share = sides[0] / (sides[0] - sides[1])
        at = (
            line.start[0] + share * (line.end[0] - line.start[0]),
            line.start[1] + share * (line.end[1] - line.start[1]),
        )
        if clear < along((at[0], at[1]), span.first, span.direction) < span.size - clear:
            return True
    return False


def breaks_mm(span: Span, strokes: Strokes, mm_per_px: float) -> tuple[float, ...]:
    """Where the line between two tips is broken, in mm of paper: once for its figure, or oftener."""
    first, size, direction = span.first, span.size, span.direction
    axis = Line(first, span.second, 1.0)
    inked = [(0.0, 0.0), (size, size)]
    for line in strokes.lines:
        ends = sorted(along(end, first, direction) for end in (line.start, line.end))
        if line.role in MAY_CARRY and ends[1] > 0 and ends[0] < size and lies_on(line, axis, mm_per_px):
            inked.append((ends[0], ends[1]))
    reached, breaks_mm = 0.0, []
    for start, end in sorted(inked):
        breaks_mm.append((start - reached) * mm_per_px)
        reached = max(reached, end)
    return tuple(wide for wide in breaks_mm if wide >= BREAK_MM[0])
