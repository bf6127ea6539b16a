"""Edges that were traced as one stroke with the fine line that goes on from their corner.

Glossary
--------
tail
    What a stroke has beyond the last other edge that it meets. An edge of the part has none.
fine tail
    One that a dimension line ends at, near the tail's own end, as at an extension line; or along which an extension or
    a dimension line lies that goes on from it. No section line ends at one.
"""

from collections.abc import Iterator, Sequence

from digitize.redraw.planes.meetings import meeting_points, reaches
from digitize.redraw.planes.plane_strokes import GAP_MM, Pen, Straight, Stroke, crossing, is_on
from digitize.strokes.primitives import Point

OVERRUN_MM = 4.0  # of paper: an extension line ends about 3 beyond its dimension line (ASME Y14.5, from memory)


def without_fine_tails(
    straights: Sequence[Straight],
    others: Sequence[Stroke],
    dimensions: Sequence[Straight],
    extensions: Sequence[Straight],
    hatches: Sequence[Straight],
    pen: Pen,
) -> list[Straight]:
    """Straight edges from their first corner to their last, where a fine line goes on from it; without those that are
    a dimension line's.

    Parameters
    ----------
    straights : sequence of Straight
        Visible strokes of one view, in part mm.
    others : sequence of Stroke
        Its other visible strokes.
    dimensions, extensions, hatches : sequence of Straight
        Its fine lines.
    pen : Pen
    """
    gap = GAP_MM * pen.paper_mm
    fine = [each for each in (*dimensions, *extensions) if each.length]

    def hatched(tail: Straight) -> bool:
        ends = (end for each in hatches for end in (each.start, each.end))
        return any(is_on(tail, end, gap) and gap < tail.along(end) for end in ends)

    kept = []
    for number, edge in enumerate(straights):
        met = list(_met(edge, [*straights[:number], *straights[number + 1 :], *others], gap))
        first, last = min(met, default=0.0), max(met, default=edge.length)
        if last - first > gap:
            tails = Straight(_at(edge, first), edge.start), Straight(_at(edge, last), edge.end)
            cut = [each.length > gap and _is_fine(each, dimensions, fine, pen) and not hatched(each) for each in tails]
            start, end = (each.start if fine_tail else each.end for each, fine_tail in zip(tails, cut, strict=True))
            kept.append(Straight(start, end) if any(cut) else edge)
        elif hatched(edge) or not any(_goes_on(each, dimensions, gap) for each in (edge, _turned(edge))):
            kept.append(edge)
    return kept


def _met(edge: Straight, around: Sequence[Stroke], gap: float) -> Iterator[float]:
    """Where along an edge it meets others."""
    for other in around:
        for at, _ in meeting_points(edge, other, gap, gap):
            if reaches(edge, at, gap) and reaches(other, at, gap):
                yield min(max(edge.along(at), 0.0), edge.length)


def _is_fine(tail: Straight, dimensions: Sequence[Straight], fine: Sequence[Straight], pen: Pen) -> bool:
    """Whether a tail, which begins at its corner, is an extension or a dimension line."""
    gap = GAP_MM * pen.paper_mm
    across = (line for line in dimensions if line.length and crossing(tail, line))
    ended = [tail.along(end) for line in across for end in (line.start, line.end) if is_on(tail, end, gap)]
    beyond = max(ended, default=0.0)
    return gap < beyond >= tail.length - OVERRUN_MM * pen.paper_mm or _goes_on(tail, fine, gap)


def _goes_on(tail: Straight, fine: Sequence[Straight], gap: float) -> bool:
    """Whether one of some lines lies along a tail at its end, and goes on from it."""
    along = (line for line in fine if line.length and not crossing(tail, line) and is_on(line, tail.end, gap))
    return any(max(map(tail.along, (line.start, line.end))) > tail.length + gap for line in along)


def _turned(line: Straight) -> Straight:
    return Straight(line.end, line.start)


def _at(line: Straight, along: float) -> Point:
    (dx, dy), (x, y) = line.direction, line.start
    return x + along * dx, y + along * dy
