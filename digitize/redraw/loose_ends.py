"""Edges that the trace has lost between two loose ends, where the drawing tells where they run.

Glossary
--------
loose end
    The end of a visible stroke that no other visible stroke comes near.
bridge
    A stretch of an extension line from a loose end to another, or to where an edge along the line breaks off: an edge
    traced as one with it.
riser
    The short edge of a step: between the loose ends of two parallel strokes that end at one height, a little apart.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from digitize.redraw.bent import Bent
from digitize.redraw.plane import GAP_MM, LEVEL_MM, Axis, Pen, Round, Straight, Stroke, axis_of, crossing, is_on
from digitize.strokes.primitives import Point

STUB_MM = 2.0  # of paper: a shorter stroke may be a crumb, and what ends at a crumb is loose
RISER_MM = 2.0  # of paper: a longer edge is traced by itself
CUT_SHORT_MM = 2.0  # of paper: where another line crosses it, an extension line may break off this much too soon


@dataclass(frozen=True)
class _End:
    """The end of a straight stroke, and the stroke."""

    at: Point
    of: Straight

    @property
    def outwards(self) -> Point:
        """The way in which the stroke goes on beyond this end."""
        dx, dy = self.of.direction
        return (dx, dy) if self.at == self.of.end else (-dx, -dy)


def edges_between(
    extensions: Sequence[Straight], straights: Sequence[Straight], curves: Sequence[Round | Bent], pen: Pen
) -> list[Straight]:
    """The bridges and risers of one view.

    Parameters
    ----------
    extensions : sequence of Straight
        Extension lines, in part mm.
    straights : sequence of Straight
    curves : sequence of Round or Bent
        Its other visible strokes.
    pen : Pen
    """
    drawn: list[Stroke] = [*straights, *curves]
    strokes = [each for each in drawn if each.length >= STUB_MM * pen.paper_mm]
    ends = [_End(at, each) for each in strokes if isinstance(each, Straight) for at in (each.start, each.end)]
    loose = [each for each in ends if not _met(each, strokes, GAP_MM * pen.paper_mm)]
    bridges = [bridge for line in extensions if line.length for bridge in _bridges(line, ends, loose, strokes, pen)]
    return bridges + [riser for one, other in combinations(loose, 2) if (riser := _riser(one, other, pen)) is not None]


def _met(end: _End, strokes: Sequence[Stroke], gap: float) -> bool:
    """Whether a stroke that is not parallel to an end's own comes to it."""
    return any(
        is_on(each, end.at, gap)
        for each in strokes
        if each is not end.of and (not isinstance(each, Straight) or crossing(each, end.of))
    )


def _bridges(
    line: Straight, ends: Sequence[_End], loose: Sequence[_End], strokes: Sequence[Stroke], pen: Pen
) -> Iterator[Straight]:
    """Stretches of an extension line on which nothing is drawn but itself, from a loose end to the next stop."""
    slack, reach = GAP_MM * pen.paper_mm, _longer(line, CUT_SHORT_MM * pen.paper_mm)
    stops = [each for each in ends if is_on(reach, each.at, slack) and (each in loose or not crossing(line, each.of))]
    stops.sort(key=lambda each: line.along(each.at))
    along = [each for each in strokes if not isinstance(each, Straight) or not crossing(line, each)]
    for one, other in pairwise(stops):
        middle = (one.at[0] + other.at[0]) / 2, (one.at[1] + other.at[1]) / 2
        length = line.along(other.at) - line.along(one.at)
        drawn = any(is_on(each, middle, min(slack, length / 4)) for each in along)
        if length > slack and (one in loose or other in loose) and not drawn:
            yield Straight(one.at, other.at)


def _longer(line: Straight, by: float) -> Straight:
    """A line made longer at both ends."""
    (dx, dy), (x0, y0), (x1, y1) = line.direction, line.start, line.end
    return Straight((x0 - by * dx, y0 - by * dy), (x1 + by * dx, y1 + by * dy))


def _riser(one: _End, other: _End, pen: Pen) -> Straight | None:
    """The riser between two ends of strokes that run away from each other; None where they make no step."""
    axis = axis_of(one.of, pen.paper_mm)
    (ax, ay), (bx, by) = one.outwards, other.outwards
    if axis is None or axis_of(other.of, pen.paper_mm) is not axis or ax * bx + ay * by > 0:
        return None
    along = 1 - axis.value
    step = abs(other.at[axis.value] - one.at[axis.value])
    if abs(other.at[along] - one.at[along]) > GAP_MM * pen.paper_mm:
        return None
    if not pen.slack(LEVEL_MM) < step <= RISER_MM * pen.paper_mm:
        return None
    height = (one.at[along] + other.at[along]) / 2
    start, end = ((each.at[0], height) if axis is Axis.X else (height, each.at[1]) for each in (one, other))
    return Straight(start, end)
