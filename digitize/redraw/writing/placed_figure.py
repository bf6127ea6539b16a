"""A figure as it is to stand in `part.dxf`: what it measures, which way it is read, and the room that it takes."""

import math
from dataclasses import dataclass, replace

from digitize.dimensions.table import Dimension
from digitize.lettering.text import Kind
from digitize.redraw.dxf import scaled
from digitize.redraw.solving.figures import Ends
from digitize.redraw.writing import layers
from digitize.redraw.writing.figure_room import Room, width_of
from digitize.redraw.writing.figure_words import Words
from digitize.strokes.primitives import Point

HALF_TURN_DEG, RIGHT_ANGLE_DEG = 180.0, 90.0
UPRIGHT_SLACK_DEG = 1.0
"""A dimension line drawn upright is never quite so; its figure is read from the right all the same."""
IN_LINE, OFF_LINE = 0.75, 2.5
"""Text heights from a dimension line at which a figure still stands in it, and beyond which a leader leads to it."""


@dataclass(frozen=True)
class Placed:
    """A figure ready to be drawn: its ends and where its text stands, and the layer that says its standing.

    ``text_height`` is in the unit of the points.
    """

    dimension: Dimension
    layer: str
    ends: Ends
    text_at: Point
    text_height: float

    def scaled(self, factor: float) -> "Placed":
        """With all lengths times a factor."""
        points = (self.ends.first, self.ends.second, self.ends.first_foot, self.ends.second_foot)
        ends = Ends(*(scaled(each, factor) for each in points))
        return replace(self, ends=ends, text_at=scaled(self.text_at, factor), text_height=self.text_height * factor)

    @property
    def size(self) -> float:
        """What the entity measures: a length, or the degrees of an angle, the value where it holds, else as drawn."""
        geometry, value = self.dimension.geometry, self.dimension.value
        assert geometry is not None
        if geometry.kind is not Kind.ANGLE:
            return math.dist(self.ends.first, self.ends.second)
        return float(value) if self.layer == layers.APPLIED and value is not None else geometry.size

    @property
    def middle(self) -> Point:
        """Half way between its ends."""
        (x0, y0), (x1, y1) = self.ends.first, self.ends.second
        return (x0 + x1) / 2, (y0 + y1) / 2

    @property
    def off_line(self) -> float:
        """How far its text stands from its dimension line, to one side or the other."""
        (x0, y0), (x1, y1) = self.ends.first, self.ends.second
        across = (self.text_at[0] - x0) * (y1 - y0) - (self.text_at[1] - y0) * (x1 - x0)
        return across / math.dist(self.ends.first, self.ends.second)

    @property
    def called_out(self) -> bool:
        """Whether it is a length whose figure stands away from it, at the end of a leader."""
        geometry = self.dimension.geometry
        assert geometry is not None
        straight = geometry.kind is not Kind.ANGLE and not geometry.arcs
        return straight and abs(self.off_line) > OFF_LINE * self.text_height

    @property
    def tip(self) -> Point:
        """The end of what a callout measures that is nearer to its words on the print."""
        return min(self.ends.first, self.ends.second, key=lambda end: math.dist(end, self.text_at))

    @property
    def line_angle_deg(self) -> float:
        """Of its dimension line, the way that its figure is read."""
        return reading_angle_deg(angle_deg(self.ends.first, self.ends.second))


def room_of(placed: Placed, words: Words) -> Room:
    """Room that a figure takes where the print has it."""
    ends, at, height = placed.ends, placed.text_at, placed.text_height
    width, geometry = width_of(words.shown, height), placed.dimension.geometry
    assert geometry is not None
    if geometry.kind is Kind.ANGLE:
        return Room(at, width, height, 0.0, ((ends.first, ends.second),))
    if geometry.arcs or placed.called_out:
        return Room(at, width, height, 0.0, (), led_from=placed.middle if geometry.arcs else placed.tip)
    turn_deg = placed.line_angle_deg
    in_line = abs(placed.off_line) <= IN_LINE * height
    lines = (ends.first, ends.second), (ends.first_foot, ends.first), (ends.second_foot, ends.second)
    return Room(_laid_on(ends, at) if in_line else at, width, height, turn_deg, lines, in_line)


def _laid_on(ends: Ends, at: Point) -> Point:
    """The foot of a point on a dimension line."""
    (x0, y0), (x1, y1) = ends.first, ends.second
    share = ((at[0] - x0) * (x1 - x0) + (at[1] - y0) * (y1 - y0)) / math.dist(ends.first, ends.second) ** 2
    return x0 + share * (x1 - x0), y0 + share * (y1 - y0)


def reading_angle_deg(angle_deg: float) -> float:
    """The one of a line's two directions in which its figure is read: from the foot of the sheet or from its right.

    Examples
    --------
    >>> [round(reading_angle_deg(angle), 3) for angle in (-0.002, 180.0, 90.3, -90.0, 135.0, 179.998)]
    [-0.002, 0.0, 90.3, 90.0, -45.0, -0.002]
    """
    folded = angle_deg % HALF_TURN_DEG
    return folded - HALF_TURN_DEG if folded > RIGHT_ANGLE_DEG + UPRIGHT_SLACK_DEG else folded


def angle_deg(centre: Point, point: Point) -> float:
    """Direction from one point to another."""
    return math.degrees(math.atan2(point[1] - centre[1], point[0] - centre[0]))
