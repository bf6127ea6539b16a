"""Edges that the trace has lost between two loose ends, where the drawing tells where they run.

Glossary
--------
loose end
    The end of a visible stroke that no other visible stroke comes near.
corner
    The end of a visible stroke that another one ends at too.
bridge
    A stretch of a thin line from a loose end to another, or to where an edge along the line breaks off, no corner: an
    edge traced as one with it. From a corner too where the other side of a centre line shows that edge.
riser
    The short edge of a step: between the loose ends of two parallel strokes that end at one height, a little apart.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.levels import LEVEL_MM, axis_of
from digitize.redraw.planes.plane_strokes import GAP_MM, Axis, Pen, Round, Straight, Stroke, crossing, ends_of, is_on
from digitize.strokes.primitives import Point

STUB_MM = 2.0  # of paper: a shorter stroke may be a crumb, and what ends at a crumb is loose
RISER_MM = 2.0  # of paper: a longer edge is traced by itself
SIDES = 2  # of a centre line: what the first look gives back to one shows the second what the other lacks
CUT_SHORT_MM = 2.0  # of paper: where another line crosses it, an extension line may break off this much too soon


@dataclass(frozen=True)
class _End:
    """The end of a stroke, and the stroke."""

    at: Point
    of: Stroke

    def low(self, axis: Axis) -> bool:
        """Whether the stroke, which lies on a level of an axis, goes on to greater coordinates from here."""
        along = 1 - axis.value
        return sum(end[along] for end in ends_of(self.of)) > 2 * self.at[along]

    def along(self, line: Straight) -> bool:
        """Whether its stroke is straight and runs along a line."""
        return isinstance(self.of, Straight) and not crossing(line, self.of)


@dataclass(frozen=True)
class _Drawn:
    """Visible strokes and their ends; of those the loose ones, and the ones that are no corners; upright and level
    centre lines with the coordinate that each stands for."""

    strokes: tuple[Stroke, ...]
    ends: tuple[_End, ...]
    loose: tuple[_End, ...]
    broken: tuple[_End, ...]
    middles: tuple[tuple[Axis, float], ...]

    def mirrored(self, at: Point, slack: float) -> bool:
        """Whether an edge is drawn where a centre line throws a point's image."""
        images = (axis.laid(at, 2 * middle - at[axis.value]) for axis, middle in self.middles)
        return any(
            math.dist(image, at) > slack and is_on(each, image, slack / 2) for image in images for each in self.strokes
        )


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
    middles = tuple(_middles(centres, pen))
    bridges: list[Straight] = []
    for _ in range(SIDES):
        drawn = _drawn([*straights, *bridges, *curves], middles, pen)
        bridges += [bridge for line in thin if line.length for bridge in _bridges(line, drawn, pen)]
    risers = (_riser(one, other, pen) for one, other in combinations(drawn.loose, 2))
    return bridges + [riser for riser in risers if riser is not None]


def _drawn(every: Sequence[Stroke], middles: tuple[tuple[Axis, float], ...], pen: Pen) -> _Drawn:
    strokes = tuple(each for each in every if each.length >= STUB_MM * pen.paper_mm)
    gap = GAP_MM * pen.paper_mm
    open_ = [each for each in strokes if not (isinstance(each, Round) and each.curve.full)]
    ends = tuple(_End(at, each) for each in open_ for at in ends_of(each))
    loose = tuple(each for each in ends if not _met(each, strokes, gap))
    broken = tuple(each for each in ends if each in loose or not _cornered(each, ends, gap))
    return _Drawn(strokes, ends, loose, broken, middles)


def _middles(centres: Sequence[Straight], pen: Pen) -> Iterator[tuple[Axis, float]]:
    for each in centres:
        axis = axis_of(each, pen.paper_mm) if each.length else None
        if axis is not None:
            yield axis, (each.start[axis.value] + each.end[axis.value]) / 2


def _met(end: _End, strokes: Sequence[Stroke], gap: float) -> bool:
    """Whether a stroke that is not parallel to an end's own comes to it."""
    return any(
        is_on(each, end.at, gap)
        for each in strokes
        if each is not end.of and not (isinstance(each, Straight) and end.along(each))
    )


def _cornered(end: _End, ends: Sequence[_End], gap: float) -> bool:
    """Whether another stroke, not along an end's own, ends where it does."""
    others = (each for each in ends if each.of is not end.of and math.dist(each.at, end.at) <= gap)
    return any(not (isinstance(each.of, Straight) and end.along(each.of)) for each in others)


def _bridges(line: Straight, drawn: _Drawn, pen: Pen) -> Iterator[Straight]:
    """Stretches of a thin line on which nothing is drawn but itself, from a loose end to the next stop."""
    slack, reach = GAP_MM * pen.paper_mm, _longer(line, CUT_SHORT_MM * pen.paper_mm)
    near = [each for each in drawn.ends if is_on(reach, each.at, slack)]
    stops = [each for each in near if each in drawn.loose or each.along(line)]
    along = [each for each in drawn.strokes if not isinstance(each, Straight) or not crossing(line, each)]
    for one, other in pairwise(sorted(stops, key=lambda each: line.along(each.at))):
        middle = (one.at[0] + other.at[0]) / 2, (one.at[1] + other.at[1]) / 2
        length = line.along(other.at) - line.along(one.at)
        if length <= slack or not (one in drawn.loose or other in drawn.loose):
            continue
        told = (one in drawn.broken and other in drawn.broken) or drawn.mirrored(middle, slack)
        if told and not any(is_on(each, middle, min(slack, length / 4)) for each in along):
            yield Straight(one.at, other.at)


def _longer(line: Straight, by: float) -> Straight:
    """A line made longer at both ends."""
    (dx, dy), (x0, y0), (x1, y1) = line.direction, line.start, line.end
    return Straight((x0 - by * dx, y0 - by * dy), (x1 + by * dx, y1 + by * dy))


def _riser(one: _End, other: _End, pen: Pen) -> Straight | None:
    """The riser between two ends of strokes that run away from each other; None where they make no step."""
    if not (isinstance(one.of, Straight) and isinstance(other.of, Straight)):
        return None
    axis = axis_of(one.of, pen.paper_mm)
    if axis is None or axis_of(other.of, pen.paper_mm) is not axis or one.low(axis) is other.low(axis):
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
