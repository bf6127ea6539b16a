"""Strokes of one view in part mm: straight ones, ones along a circle and bent ones, and where they lie.

Glossary
--------
level
    A place that level or upright straight strokes share: one y for level strokes, one x for upright ones.
straight, round
    A stroke of the graph: a straight one, on a level or slanted, or one along a circle.

Coordinates are y up. Tolerances are in mm of paper, since it is the pen that errs.
"""

import math
from dataclasses import dataclass
from enum import Enum

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.curve import FULL_TURN_DEG, Circular
from digitize.strokes.primitives import Point

PENS = 5.0  # what was meant to be one place may be drawn so many of the pen's standard errors apart
GAP_MM = 0.8  # corners are left open or overshot by no more
PARALLEL_SINE = math.sin(math.radians(2.0))  # lines nearer to parallel than this do not make a corner


@dataclass(frozen=True)
class Pen:
    """The drafter's accuracy: part mm in one mm of paper, and the pen's standard error in mm of paper."""

    paper_mm: float
    error_mm: float = 0.0

    def slack(self, limits: tuple[float, float]) -> float:
        """Part mm that what is meant to be one place may be apart: `PENS` errors, within limits in mm of paper."""
        return min(max(PENS * self.error_mm, limits[0]), limits[1]) * self.paper_mm


class Axis(Enum):
    """Along which coordinate a level has its place."""

    X = 0
    Y = 1

    def laid(self, point: Point, position: float) -> Point:
        """A point moved along the axis to a place on it."""
        return (position, point[1]) if self is Axis.X else (point[0], position)


@dataclass(frozen=True)
class Level:
    """A shared place on one axis; ``weight`` is the length of its strokes, ``spread`` how far apart they were drawn."""

    axis: Axis
    position: float
    weight: float
    spread: float = 0.0


@dataclass(frozen=True)
class Straight:
    """A straight stroke; ``level`` is an index into the levels, None where it is slanted."""

    start: Point
    end: Point
    level: int | None = None

    @property
    def length(self) -> float:
        """Length in mm."""
        return math.dist(self.start, self.end)

    @property
    def direction(self) -> Point:
        """Unit vector from start to end."""
        length = self.length
        return (self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length

    def along(self, point: Point) -> float:
        """Distance of a point from the start, along the stroke."""
        (dx, dy), (x, y) = self.direction, self.start
        return (point[0] - x) * dx + (point[1] - y) * dy


@dataclass(frozen=True)
class Round:
    """A stroke along a circle; ``arc`` is its index in `Strokes.arcs`, ``also`` are those of others traced of it."""

    curve: Circular
    arc: int
    also: tuple[int, ...] = ()

    @property
    def length(self) -> float:
        """Length in mm."""
        return math.radians(self.curve.sweep_deg) * self.curve.radius

    def along(self, point: Point) -> float:
        """Distance of a point from the start, along the arc; a point just before the start is below 0."""
        turn = self.turn_deg(point)
        spare = FULL_TURN_DEG - self.curve.sweep_deg
        if not self.curve.full and turn > self.curve.sweep_deg + spare / 2:
            turn -= FULL_TURN_DEG
        return math.radians(turn) * self.curve.radius

    def turn_deg(self, point: Point) -> float:
        """Angle of a point about the centre, from the arc's start, 0 to 360."""
        (x, y), curve = point, self.curve
        angle = math.degrees(math.atan2(y - curve.centre[1], x - curve.centre[0]))
        return (angle - curve.start_deg) % FULL_TURN_DEG


Stroke = Straight | Round | Bent


def ends_of(stroke: Stroke) -> tuple[Point, Point]:
    """First and last point of a stroke."""
    if isinstance(stroke, Bent):
        return stroke.points[0], stroke.points[-1]
    if isinstance(stroke, Round):
        return stroke.curve.start, stroke.curve.end
    return stroke.start, stroke.end


def is_on(stroke: Stroke, at: Point, slack: float) -> bool:
    """Whether a point lies on a stroke, or within ``slack`` of it."""
    if isinstance(stroke, Bent):
        return stroke.miss(at) <= slack
    if not -slack <= stroke.along(at) <= stroke.length + slack:
        return False
    if isinstance(stroke, Round):
        return abs(math.dist(at, stroke.curve.centre) - stroke.curve.radius) <= slack
    (dx, dy), (x, y) = stroke.direction, stroke.start
    return abs((at[0] - x) * dy - (at[1] - y) * dx) <= slack


def foot_on(stroke: Stroke, at: Point) -> Point:
    """The place nearest to a point on a stroke: of a straight or round one made longer, of another bent one its end."""
    if isinstance(stroke, Round):
        (x, y), r = stroke.curve.centre, stroke.curve.radius
        away = math.dist(stroke.curve.centre, at) or 1.0
        return x + (at[0] - x) * r / away, y + (at[1] - y) * r / away
    if isinstance(stroke, Straight):
        (dx, dy), (x, y), along = stroke.direction, stroke.start, stroke.along(at)
        return x + along * dx, y + along * dy
    return min(ends_of(stroke), key=lambda end: math.dist(end, at))


def crossing(one: Straight, other: Straight) -> list[Point]:
    """The point where two straight strokes, extended, cross; none where they are nearly parallel."""
    (ax, ay), (bx, by) = one.direction, other.direction
    sine = ax * by - ay * bx
    if abs(sine) < PARALLEL_SINE:
        return []
    dx, dy = other.start[0] - one.start[0], other.start[1] - one.start[1]
    reach = (dx * by - dy * bx) / sine
    return [(one.start[0] + reach * ax, one.start[1] + reach * ay)]
