"""Where the visible strokes of a view end, and which of these ends nothing comes near.

Glossary
--------
loose end
    The end of a visible stroke that no other visible stroke comes near.
corner
    The end of a visible stroke that another one ends at too.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from digitize.redraw.planes.levels import axis_of
from digitize.redraw.planes.plane_strokes import GAP_MM, Axis, Pen, Round, Straight, Stroke, crossing, ends_of, is_on
from digitize.strokes.primitives import Point

STUB_MM = 2.0  # of paper: a shorter stroke may be a crumb, and what ends at a crumb is loose


@dataclass(frozen=True)
class End:
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
class Drawn:
    """Visible strokes and their ends; of those the loose ones, and the ones that are no corners; upright and level
    centre lines with the coordinate that each stands for."""

    strokes: tuple[Stroke, ...]
    ends: tuple[End, ...]
    loose: tuple[End, ...]
    broken: tuple[End, ...]
    middles: tuple[tuple[Axis, float], ...]

    def mirrored(self, at: Point, slack: float) -> bool:
        """Whether an edge is drawn where a centre line throws a point's image."""
        images = (image(at, *middle) for middle in self.middles)
        return any(
            math.dist(each, at) > slack and is_on(stroke, each, slack / 2) for each in images for stroke in self.strokes
        )

    def alike_across(self, at: Point, line: Straight, slack: float) -> bool:
        """Whether all edges that come to a point across a line have images: they are of a hole or a step of both sides,
        not of a recess of one."""
        across = [e for e in self.strokes if isinstance(e, Straight) and crossing(line, e) and is_on(e, at, slack)]
        middles = [((e.start[0] + e.end[0]) / 2, (e.start[1] + e.end[1]) / 2) for e in across]
        return bool(middles) and all(self.mirrored(middle, slack) for middle in middles)


def image(at: Point, axis: Axis, middle: float) -> Point:
    """Where a centre line that stands at a place on an axis throws a point."""
    return axis.laid(at, 2 * middle - at[axis.value])


def drawn(every: Sequence[Stroke], middles: tuple[tuple[Axis, float], ...], pen: Pen) -> Drawn:
    """The strokes of a view that are no crumbs, with their ends."""
    strokes = tuple(each for each in every if each.length >= STUB_MM * pen.paper_mm)
    gap = GAP_MM * pen.paper_mm
    open_ = [each for each in strokes if not (isinstance(each, Round) and each.curve.full)]
    ends = tuple(End(at, each) for each in open_ for at in ends_of(each))
    loose = tuple(each for each in ends if not _met(each, strokes, gap))
    broken = tuple(each for each in ends if each in loose or not _cornered(each, ends, gap))
    return Drawn(strokes, ends, loose, broken, middles)


def middles_of(centres: Sequence[Straight], pen: Pen) -> Iterator[tuple[Axis, float]]:
    """Axis and place of each level or upright centre line."""
    for each in centres:
        axis = axis_of(each, pen.paper_mm) if each.length else None
        if axis is not None:
            yield axis, (each.start[axis.value] + each.end[axis.value]) / 2


def _met(end: End, strokes: Sequence[Stroke], gap: float) -> bool:
    """Whether a stroke that is not parallel to an end's own comes to it."""
    return any(
        is_on(each, end.at, gap)
        for each in strokes
        if each is not end.of and not (isinstance(each, Straight) and end.along(each))
    )


def _cornered(end: End, ends: Sequence[End], gap: float) -> bool:
    """Whether another stroke, not along an end's own, ends where it does."""
    others = (each for each in ends if each.of is not end.of and math.dist(each.at, end.at) <= gap)
    return any(not (isinstance(each.of, Straight) and end.along(each.of)) for each in others)
