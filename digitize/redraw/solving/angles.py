"""Angle figures as relations: the two sides that an angle's arrows point at."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product

import numpy as np

from digitize.redraw.planes.plane import Plane
from digitize.redraw.planes.plane_strokes import Straight
from digitize.redraw.solving.figures import Demand, Ends, PlacedFigure
from digitize.redraw.solving.marks import MARK_MM
from digitize.redraw.solving.solve import Relation, Values
from digitize.redraw.solving.unknowns import Unknowns
from digitize.strokes.primitives import Point

STRAY_DEG = 2.0  # sides drawn at an angle further from the figure are not the ones it speaks of
_HALF_TURN_DEG = 180.0


@dataclass(frozen=True)
class _Side:
    """A straight stroke as an angle's side.

    ``nodes`` are the unknowns of its two ends, empty where it is level or upright and can't turn; ``direction`` is
    as drawn, ``distance`` from the arrow's tip to the line through it.
    """

    nodes: tuple[int, ...]
    direction: Point
    distance: float


def angle_demand(figure: PlacedFigure, plane: Plane, unknowns: Unknowns, paper_mm: float) -> Demand | str:
    """What an angle demands of the sides that its arrows point at; where it can't be tied to two, why not.

    Notes
    -----
    With d and e along the sides, so turned that the angle between them is the one dimensioned, the relation is
    sin(angle - value) = (cos(value) d x e - sin(value) d . e) / (|d| |e|) = 0.
    """
    sides = [_sides(tip, plane, unknowns, MARK_MM * paper_mm) for tip in (figure.first, figure.second)]
    pairs = [(a, b) for a, b in product(*sides) if (a.nodes or b.nodes) and a.nodes != b.nodes]
    fitting = [(a, b) for a, b in pairs if figure.corrects or abs(_turned(a, b, figure.value)[1]) <= STRAY_DEG]
    if not fitting:
        return "no two drawn sides stand at about this angle where its arrows point"
    first, second = min(fitting, key=lambda pair: pair[0].distance + pair[1].distance)
    flip, _ = _turned(first, second, figure.value)
    unknown = (*first.nodes, *second.nodes)
    relation = Relation(unknown, _residual(first, second, flip, figure.value), figure.dimension.id)
    return Demand(relation, lambda _values: Ends(figure.first, figure.second, figure.first, figure.second))


def _sides(tip: Point, plane: Plane, unknowns: Unknowns, most: float) -> list[_Side]:
    sides = []
    for index, stroke in enumerate(plane.strokes):
        if not isinstance(stroke, Straight):
            continue
        (dx, dy), (x, y) = stroke.direction, stroke.start
        distance = abs((tip[0] - x) * dy - (tip[1] - y) * dx)
        if distance > most:
            continue
        nodes = () if stroke.level is not None else _end_unknowns(index, stroke, plane, unknowns)
        if nodes or stroke.level is not None:
            sides.append(_Side(nodes, _drawn_direction(stroke, nodes, unknowns), distance))
    return sides


def _end_unknowns(index: int, stroke: Straight, plane: Plane, unknowns: Unknowns) -> tuple[int, ...]:
    mine = [number for number, node in enumerate(plane.nodes) if index in node.strokes]
    mine.sort(key=lambda number: (stroke.along(plane.nodes[number].at), number))
    ends = (*unknowns.nodes[mine[0]], *unknowns.nodes[mine[-1]])
    return ends if ends[:2] != ends[2:] else ()


def _drawn_direction(stroke: Straight, nodes: tuple[int, ...], unknowns: Unknowns) -> Point:
    if not nodes:
        (dx, dy) = stroke.direction
        return (round(dx), round(dy))
    x0, y0, x1, y1 = (unknowns.drawn[unknown] for unknown in nodes)
    return x1 - x0, y1 - y0


def _turned(first: _Side, second: _Side, value_deg: float) -> tuple[tuple[float, float], float]:
    """Signs that turn the sides into the angle dimensioned: of the second side's direction, and of the turn; and by
    how many degrees the drawn angle then misses the value."""
    (ax, ay), (bx, by) = first.direction, second.direction
    cross, dot = ax * by - ay * bx, ax * bx + ay * by
    drawn = math.degrees(math.atan2(abs(cross), dot))
    turn = math.copysign(1.0, cross)
    if abs(drawn - value_deg) <= abs(_HALF_TURN_DEG - drawn - value_deg):
        return (1.0, turn), drawn - value_deg
    return (-1.0, -turn), _HALF_TURN_DEG - drawn - value_deg


def _residual(first: _Side, second: _Side, flip: tuple[float, float], value_deg: float) -> Callable[[Values], complex]:
    cos, sin = math.cos(math.radians(value_deg)), math.sin(math.radians(value_deg))
    back, turn = flip

    def residual(values: Values) -> complex:
        split = len(first.nodes)
        ax, ay = _along(first, values[:split])
        bx, by = _along(second, values[split:])
        cross, dot = turn * back * (ax * by - ay * bx), back * (ax * bx + ay * by)
        lengths = np.sqrt(ax**2 + ay**2) * np.sqrt(bx**2 + by**2)
        return complex((cos * cross - sin * dot) / lengths)

    return residual


def _along(side: _Side, values: Values) -> tuple[complex, complex]:
    if not side.nodes:
        return complex(side.direction[0]), complex(side.direction[1])
    x0, y0, x1, y1 = values
    return x1 - x0, y1 - y0
