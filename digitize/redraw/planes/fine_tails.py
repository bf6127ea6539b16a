"""Edges that were traced as one stroke with the fine line that goes on from their corner, and strokes that are no edges
but the end of a dimension line or a leader.

Glossary
--------
tail
    What a stroke has beyond the last other edge that it meets. An edge of the part has none.
fine tail
    One that a dimension line ends at, near the tail's own end, as at an extension line; or along which an extension or
    a dimension line lies that goes on from it. No section line ends at one.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from digitize.redraw.planes.levels import axis_of
from digitize.redraw.planes.meetings import meeting_points, reaches
from digitize.redraw.planes.plane_strokes import GAP_MM, Pen, Straight, Stroke, crossing, ends_of, is_on
from digitize.strokes.primitives import Point

OVERRUN_MM = 4.0  # of paper: an extension line ends about 3 beyond its dimension line (ASME Y14.5, from memory)


def without_fine_tails(
    straights: Sequence[Straight],
    others: Sequence[Stroke],
    dimensions: Sequence[Straight],
    extensions: Sequence[Straight],
    hatches: Sequence[Straight],
    leaders: Sequence[Straight],
    pen: Pen,
) -> list[Straight]:
    """Straight edges from their first corner to their last, where a fine line goes on from it; without those that are
    a dimension line's or a leader's.

    Parameters
    ----------
    straights : sequence of Straight
        Visible strokes of one view, in part mm.
    others : sequence of Stroke
        Its other visible strokes.
    dimensions, extensions, hatches, leaders : sequence of Straight
        Its fine lines.
    pen : Pen
    """
    gap = GAP_MM * pen.paper_mm
    seen = _Seen(
        tuple(each for each in dimensions if each.length),
        tuple(each for each in (*dimensions, *extensions) if each.length),
        tuple(each for each in (*leaders, *extensions) if each.length and axis_of(each, pen.paper_mm) is None),
        tuple(end for each in hatches for end in (each.start, each.end)),
        tuple(end for each in (*straights, *others) for end in ends_of(each)),
        gap,
        OVERRUN_MM * pen.paper_mm,
    )
    kept = []
    for number, edge in enumerate(straights):
        met = list(_met(edge, [*straights[:number], *straights[number + 1 :], *others], gap))
        first, last = min(met, default=0.0), max(met, default=edge.length)
        if last - first > gap:
            tails = Straight(_at(edge, first), edge.start), Straight(_at(edge, last), edge.end)
            cut = [each.length > gap and seen.fine_tail(each) for each in tails]
            start, end = (each.start if fine else each.end for each, fine in zip(tails, cut, strict=True))
            kept.append(Straight(start, end) if any(cut) else edge)
        elif not any(seen.no_edge(each) for each in (edge, Straight(edge.end, edge.start))):
            kept.append(edge)
    return kept


@dataclass(frozen=True)
class _Seen:
    """The dimension lines of a view, these with its extension lines, what leads aslant, where its section lines and its
    edges end; how far apart what meets may be, and how far beyond a dimension line an extension line goes, in mm of
    part."""

    dimensions: tuple[Straight, ...]
    fine: tuple[Straight, ...]
    leading: tuple[Straight, ...]
    hatch_ends: tuple[Point, ...]
    edge_ends: tuple[Point, ...]
    gap: float
    overrun: float

    def fine_tail(self, tail: Straight) -> bool:
        """Whether a tail, which begins at its corner, is an extension or a dimension line."""
        if self._hatched(tail):
            return False
        across = (line for line in self.dimensions if crossing(tail, line))
        ended = [tail.along(end) for line in across for end in (line.start, line.end) if is_on(tail, end, self.gap)]
        beyond = max(ended, default=0.0)
        return self.gap < beyond >= tail.length - self.overrun or self._goes_on(tail, self.fine)

    def no_edge(self, stroke: Straight) -> bool:
        """Whether a stroke that lies between no two edges is of a dimension line, or of a leader with its head."""
        return self._goes_on(stroke, (*self.dimensions, *self.leading)) and not self._hatched(stroke)

    def _hatched(self, tail: Straight) -> bool:
        return any(is_on(tail, end, self.gap) and tail.along(end) > self.gap for end in self.hatch_ends)

    def _goes_on(self, tail: Straight, lines: Sequence[Straight]) -> bool:
        """Whether one of some lines lies along a tail at its end and goes on from it, past no end of an edge."""
        for line in lines:
            reach = max(map(tail.along, (line.start, line.end)))
            if not crossing(tail, line) and is_on(line, tail.end, self.gap) and reach > tail.length + self.gap:
                ends = (end for end in self.edge_ends if is_on(line, end, self.gap))
                return all(tail.along(end) <= tail.length + self.gap for end in ends)
        return False


def _met(edge: Straight, around: Sequence[Stroke], gap: float) -> Iterator[float]:
    """Where along an edge it meets others."""
    for other in around:
        for at, _ in meeting_points(edge, other, gap, gap):
            if reaches(edge, at, gap) and reaches(other, at, gap):
                yield min(max(edge.along(at), 0.0), edge.length)


def _at(line: Straight, along: float) -> Point:
    (dx, dy), (x, y) = line.direction, line.start
    return x + along * dx, y + along * dy
