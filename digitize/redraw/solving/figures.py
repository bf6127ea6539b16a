"""Figures of the print as relations between the unknowns of a view."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

import numpy as np

from calibrate.sheet import FloatArray
from digitize.dimensions.linking.entries import half_place_mm
from digitize.dimensions.table import Dimension
from digitize.lettering.text import Kind, Unit
from digitize.redraw.dxf import MM_PER_INCH
from digitize.redraw.planes.plane_strokes import Axis
from digitize.redraw.solving.marks import MARK_MM, Feet, nearest
from digitize.redraw.solving.solve import Relation, Values, linear
from digitize.redraw.solving.unknowns import Unknowns
from digitize.strokes.primitives import Point

STRAY_MM = 1.2  # of paper: a drawn length further from its figure is not what the figure speaks of ...
STRAY = 0.03  # ... unless it is within this share of it: half a wrong scale would still pass no more
ALONG_AXIS = math.cos(math.radians(2.0))  # a dimension line nearer to an axis than this runs along it

LIMITS = "limits"  # style of a size that is written by its largest and its smallest
LENGTHS = (Kind.LINEAR, Kind.DIAMETER, Kind.RADIUS, Kind.CHAMFER, Kind.THREAD)


@dataclass(frozen=True)
class Figure:
    """A figure of a view, value in mm or degrees, that need not be tied to anything drawn.

    ``slack`` is by how much the part may differ from it, in mm or degrees: its rounding and tolerance.
    """

    dimension: Dimension
    value: float
    slack: float = field(default=0.0, kw_only=True)

    @property
    def corrects(self) -> float:
        """How far a person's word takes it from what is drawn, in mm or degrees; 0 for what nobody vouches for."""
        return 0.0

    def strays(self, drawn: float, paper_mm: float) -> bool:
        """Whether a drawn length is too far from it for it to speak of that; a person's word speaks however far."""
        return not self.corrects and strays(drawn, self.value, paper_mm)


@dataclass(frozen=True)
class PlacedFigure(Figure):
    """A figure in the frame of its view, ends in part mm.

    ``alike`` are the circles, by index into `Strokes.arcs`, of which its callout says how many there are: all have its
    size. ``feet`` is where the extension lines to its ends start.
    """

    first: Point
    second: Point
    alike: tuple[int, ...] = ()
    feet: Feet = (None, None)

    @property
    def corrects(self) -> float:
        if not self.dimension.confirmed_by:
            return 0.0
        if self.dimension.kind is Kind.ANGLE:
            return abs((self.dimension.measured or self.value) - self.value)
        return abs(math.dist(self.first, self.second) - self.value)


def surest_first(dimension: Dimension) -> tuple[bool, float, str]:
    """Rank of a figure: what a person has confirmed goes before all that was only read and measured."""
    return dimension.confirmed_by is None, -dimension.confidence, dimension.id


@dataclass(frozen=True)
class Ends:
    """The two ends of a figure's dimension line, and the feet of the extension lines that lead to them."""

    first: Point
    second: Point
    first_foot: Point
    second_foot: Point


@dataclass(frozen=True)
class Demand:
    """A relation, where the figure's ends lie once it holds, and further relations that the same figure demands."""

    relation: Relation
    ends: Callable[[FloatArray], Ends]
    beside: tuple[Relation, ...] = ()

    def loosened(self, slack: float) -> "Demand":
        """The same with relations that may be off by what the figure is rounded and tolerated by."""
        return replace(
            self,
            relation=replace(self.relation, slack=slack),
            beside=tuple(replace(each, slack=slack) for each in self.beside),
        )


def length_mm(dimension: Dimension, sheet_unit: Unit) -> float | None:
    """A length as it is to be drawn, in mm, or None where it is no length: what is written, of limits the middle.

    A maker who cuts to either of two limits has half of his error too much; no nominal size stands between them.
    """
    if dimension.value is None or dimension.kind not in LENGTHS:
        return None
    value = dimension.value
    if dimension.style == LIMITS:
        value += ((dimension.upper or 0) + (dimension.lower or 0)) / Fraction(2)
    unit = sheet_unit if dimension.unit is Unit.UNMARKED else dimension.unit
    if unit is Unit.INCH:
        return float(value * MM_PER_INCH)
    return float(value) if unit is Unit.MM else None


def angle_deg(dimension: Dimension) -> float | None:
    """An angle's written value in degrees, or None where it is no angle between 0 and 180."""
    if dimension.kind is not Kind.ANGLE or dimension.value is None or not 0 < dimension.value < 180:
        return None
    return float(dimension.value)


def slack_mm(dimension: Dimension, sheet_unit: Unit) -> float:
    """By how much a part may differ from `length_mm`: half of its last decimal place, and its tolerance."""
    unit = sheet_unit if dimension.unit is Unit.UNMARKED else dimension.unit
    upper, lower = dimension.upper or Fraction(0), dimension.lower or Fraction(0)
    tolerance = (upper - lower) / 2 if dimension.style == LIMITS else max(abs(upper), abs(lower))
    rounding = half_place_mm(dimension.typed, sheet_unit) if dimension.typed is not None else Fraction(0)
    return float(tolerance) * (MM_PER_INCH if unit is Unit.INCH else 1.0) + float(rounding)


def demand(figure: PlacedFigure, unknowns: Unknowns, paper_mm: float) -> Demand | str:
    """What a figure demands of the unknowns; where it can't be tied to anything drawn, why not."""
    geometry = figure.dimension.geometry
    assert geometry is not None
    if geometry.arcs and figure.dimension.kind in (Kind.DIAMETER, Kind.RADIUS):
        return _size(figure, geometry.arcs, unknowns, paper_mm)
    if figure.dimension.kind is Kind.RADIUS:
        return "no arc was found that it measures"
    return _span(figure, unknowns, paper_mm)


def _size(figure: PlacedFigure, arcs: Sequence[int], unknowns: Unknowns, paper_mm: float) -> Demand | str:
    diameter = figure.dimension.kind is Kind.DIAMETER
    factor = 2.0 if diameter else 1.0
    circles = [unknowns.circles[arc] for arc in arcs if arc in unknowns.circles]
    if not circles:
        return "the circle it measures is no edge of this view"
    circle = min(circles, key=lambda each: abs(factor * unknowns.drawn[each.radius] - figure.value))
    if figure.strays(factor * unknowns.drawn[circle.radius], paper_mm):
        return "the circle it was tied to is of another size"
    towards_x, towards_y = direction(figure.first, figure.second)

    def ends(values: FloatArray) -> Ends:
        x, y, radius = (float(values[u]) for u in (circle.x, circle.y, circle.radius))
        back = radius if diameter else 0.0
        start, end = (x - back * towards_x, y - back * towards_y), (x + radius * towards_x, y + radius * towards_y)
        return Ends(start, end, start, end)

    drawn = unknowns.drawn
    twins = (unknowns.circles[arc].radius for arc in figure.alike if arc in unknowns.circles)
    others = {each for each in twins if not figure.strays(factor * drawn[each], paper_mm)} - {circle.radius}
    beside = (linear({radius: factor}, figure.value, figure.dimension.id) for radius in sorted(others))
    return Demand(linear({circle.radius: factor}, figure.value, figure.dimension.id), ends, tuple(beside))


def direction(first: Point, second: Point) -> Point:
    """Unit vector from one point to another; null where they fall together."""
    length = math.dist(first, second) or 1.0
    return (second[0] - first[0]) / length, (second[1] - first[1]) / length


def strays(drawn: float, value: float, paper_mm: float) -> bool:
    """Whether a drawn length is too far from a figure's value for the figure to speak of it."""
    return abs(drawn - value) > max(STRAY_MM * paper_mm, STRAY * value)


def _span(figure: PlacedFigure, unknowns: Unknowns, paper_mm: float) -> Demand | str:
    drawn = math.dist(figure.first, figure.second)
    if drawn == 0:
        return "its two ends fall together"
    for axis in Axis:
        if abs(figure.second[axis.value] - figure.first[axis.value]) / drawn >= ALONG_AXIS:
            return _span_on_axis(figure, axis, unknowns, paper_mm)
    return _span_between_points(figure, unknowns, paper_mm)


def _span_on_axis(figure: PlacedFigure, axis: Axis, unknowns: Unknowns, paper_mm: float) -> Demand | str:
    ends_and_feet = zip((figure.first, figure.second), figure.feet, strict=True)
    marks = [nearest(end, foot, axis, unknowns, paper_mm) for end, foot in ends_and_feet]
    first, second = marks
    if first is None or second is None:
        return "one of its ends stands on no edge or centre that was found"
    low, high = sorted((first, second), key=lambda each: each.place)
    if figure.strays(high.place - low.place, paper_mm):
        return "the edges it was tied to lie at another distance"
    terms = dict(high.terms)
    for unknown, factor in low.terms.items():
        terms[unknown] = terms.get(unknown, 0.0) - factor
    if all(factor == 0 for factor in terms.values()):
        return "both its ends stand on one edge"

    def ends(values: FloatArray) -> Ends:
        line = (figure.first[1 - axis.value] + figure.second[1 - axis.value]) / 2
        feet = [mark.foot(values, line) for mark in (first, second)]
        points = [(place, line) for place, _ in feet] + feet
        return Ends(*(point if axis is Axis.X else point[::-1] for point in points))

    return Demand(linear(terms, figure.value, figure.dimension.id), ends)


def _span_between_points(figure: PlacedFigure, unknowns: Unknowns, paper_mm: float) -> Demand | str:
    points = [*unknowns.nodes, *((each.x, each.y) for each in unknowns.circles.values())]
    found = [_nearest_point(end, points, unknowns, paper_mm) for end in (figure.first, figure.second)]
    first, second = found
    if first is None or second is None or first == second:
        return "it is slanted, and its ends stand on no corners or centres"
    drawn = math.dist(*((unknowns.drawn[x], unknowns.drawn[y]) for x, y in (first, second)))
    if figure.strays(drawn, paper_mm):
        return "the points it was tied to lie at another distance"

    def residual(values: Values) -> complex:
        x0, y0, x1, y1 = values
        return complex(np.sqrt((x1 - x0) ** 2 + (y1 - y0) ** 2) - figure.value)

    def ends(values: FloatArray) -> Ends:
        start, end = ((float(values[x]), float(values[y])) for x, y in (first, second))
        return Ends(start, end, start, end)

    return Demand(Relation((*first, *second), residual, figure.dimension.id), ends)


def _nearest_point(
    at: Point, points: Sequence[tuple[int, int]], unknowns: Unknowns, paper_mm: float
) -> tuple[int, int] | None:
    def distance(point: tuple[int, int]) -> float:
        return math.dist(at, (unknowns.drawn[point[0]], unknowns.drawn[point[1]]))

    near = [point for point in points if distance(point) <= MARK_MM * paper_mm]
    return min(near, key=distance, default=None)
