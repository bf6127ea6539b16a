"""Edges that the trace has lost between two loose ends, where the drawing tells where they run.

Glossary
--------
loose end, corner
    As of `stroke_ends`.
bridge
    A stretch of a thin line from a loose end to another, or to where an edge along the line breaks off, no corner: an
    edge traced as one with it. From a corner too where the other side of a centre line shows that edge, and from one
    corner to another where it shows the edges across them as well.
riser
    The short edge of a step: between the loose ends of two parallel strokes that end at one height, a little apart; or
    of a keyseat, from its floor to where the bore breaks off.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.levels import LEVEL_MM, axis_of
from digitize.redraw.planes.plane_strokes import GAP_MM, Axis, Pen, Round, Straight, crossing, is_on
from digitize.redraw.planes.stroke_ends import Drawn, End, drawn, middles_of

RISER_MM = 2.0  # of paper: a longer edge is traced by itself
SIDES = 2  # of a centre line: what the first look gives back to one shows the second what the other lacks
CUT_SHORT_MM = 2.0  # of paper: where another line crosses it, an extension line may break off this much too soon


def edges_between(
    thin: Sequence[Straight],
    straights: Sequence[Straight],
    curves: Sequence[Round | Bent],
    centres: Sequence[Straight],
    pen: Pen,
) -> list[Straight]:
    """The bridges and risers of one view.

    Parameters
    ----------
    thin : sequence of Straight
        Lines that an edge may have been traced as one with, in part mm.
    straights : sequence of Straight
    curves : sequence of Round or Bent
        Its other visible strokes.
    centres : sequence of Straight
        Its centre lines.
    pen : Pen
    """
    middles = tuple(middles_of(centres, pen))
    bridges: list[Straight] = []
    for _ in range(SIDES):
        seen = drawn([*straights, *bridges, *curves], middles, pen)
        bridges += [bridge for line in thin if line.length for bridge in _bridges(line, seen, pen)]
    risers = (riser(one, other, pen, pen.slack(LEVEL_MM)) for one, other in combinations(seen.loose, 2))
    return bridges + [riser for riser in risers if riser is not None]


def _bridges(line: Straight, seen: Drawn, pen: Pen) -> Iterator[Straight]:
    """Stretches of a thin line on which nothing is drawn but itself, from a loose end to the next stop."""
    slack, reach = GAP_MM * pen.paper_mm, _longer(line, CUT_SHORT_MM * pen.paper_mm)
    near = [each for each in seen.ends if is_on(reach, each.at, slack)]
    stops = [each for each in near if each in seen.loose or each.along(line)]
    along = [each for each in seen.strokes if not isinstance(each, Straight) or not crossing(line, each)]
    for one, other in pairwise(sorted(stops, key=lambda each: line.along(each.at))):
        middle = (one.at[0] + other.at[0]) / 2, (one.at[1] + other.at[1]) / 2
        length = line.along(other.at) - line.along(one.at)
        if length <= slack:
            continue
        ends_loose = [each in seen.loose for each in (one, other)]
        both_broken = any(ends_loose) and one in seen.broken and other in seen.broken
        told = both_broken or (
            seen.mirrored(middle, slack)
            and (any(ends_loose) or all(seen.alike_across(each.at, line, slack) for each in (one, other)))
        )
        if told and not any(is_on(each, middle, min(slack, length / 4)) for each in along):
            yield Straight(one.at, other.at)


def _longer(line: Straight, by: float) -> Straight:
    """A line made longer at both ends."""
    (dx, dy), (x0, y0), (x1, y1) = line.direction, line.start, line.end
    return Straight((x0 - by * dx, y0 - by * dy), (x1 + by * dx, y1 + by * dy))


def riser(one: End, other: End, pen: Pen, least: float) -> Straight | None:
    """The riser, higher than ``least``, between two ends of strokes that run away from each other; None where they make
    no step."""
    floor, beyond = (one, other) if isinstance(one.of, Straight) else (other, one)
    axis = axis_of(floor.of, pen.paper_mm) if isinstance(floor.of, Straight) else None
    if axis is None or not _may_face(beyond, floor.low(axis), axis, pen):
        return None
    along = 1 - axis.value
    step = abs(other.at[axis.value] - one.at[axis.value])
    if abs(other.at[along] - one.at[along]) > GAP_MM * pen.paper_mm:
        return None
    if not least < step <= RISER_MM * pen.paper_mm:
        return None
    height = (one.at[along] + other.at[along]) / 2
    start, end = ((each.at[0], height) if axis is Axis.X else (height, each.at[1]) for each in (one, other))
    return Straight(start, end)


def _may_face(end: End, low: bool, axis: Axis, pen: Pen) -> bool:
    """Whether a stroke is a bore's, or runs away from one on another level of an axis."""
    if not isinstance(end.of, Straight):
        return True
    return axis_of(end.of, pen.paper_mm) is axis and end.low(axis) is not low
