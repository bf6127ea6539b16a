"""Angles: two arrow tips on one drawn arc, and the lines that bound them."""

import math
from dataclasses import dataclass

from digitize.dimensions.directions import bearing_deg, fold_deg, line_angle_deg, on_sweep, unit
from digitize.dimensions.touching import LEAST_STD_PX, TOUCH_MM, crossing
from digitize.strokes.primitives import Arc, Arrowhead, Line, Point, Role, Strokes

TIP_ON_ARC_MM = 0.15
"""Standard error of the place of an arrow's tip on its arc, in mm of paper."""
LEGS_DEG = 8.0
"""The lines that bound an angle run to the centre of its arc, and enclose what its tips do, to this."""


@dataclass(frozen=True)
class Opening:
    """An angle between two arrow tips on a drawn arc, in degrees."""

    centre: Point
    radius_px: float
    first: Point
    second: Point
    size_deg: float
    size_std_deg: float
    middle: Point


def find_openings(strokes: Strokes, mm_per_px: float) -> tuple[Opening, ...]:
    """Angles: two arrow tips on one thin arc, along it and pointing opposite ways.

    Where each tip touches a line that runs to the arc's centre, the angle is the one between those lines, which are
    known far better than the place of a tip on a short arc.
    """
    touch_px = TOUCH_MM / mm_per_px
    openings = []
    for arc in strokes.arcs:
        # With a head missed an arc is not known to be a dimension line: it stays visible.
        if arc.role not in (Role.DIMENSION, Role.EXTENSION, Role.LEADER, Role.VISIBLE) or arc.sweep_deg > 300:
            continue
        tips = [(a.tip, way) for a in strokes.arrowheads if (way := _way_along(a, arc, touch_px))]
        if len(tips) == 1 and (other := _unheaded(tips[0][0], arc, strokes, touch_px)) is not None:
            openings.append(_opening(arc, tips[0][0], other, strokes, mm_per_px))
        elif sorted(way for _, way in tips) == [-1, 1]:
            openings.append(_opening(arc, tips[0][0], tips[1][0], strokes, mm_per_px))
    return tuple(openings)


def _unheaded(tip: Point, arc: Arc, strokes: Strokes, touch_px: float) -> Point | None:
    """Where the only other leg meets an arc one of whose arrowheads was not seen; None where no leg, or several, do."""
    if _leg(tip, arc, strokes, touch_px) is None:
        return None
    found: list[Point] = []
    for line in strokes.lines:
        middle = (line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2
        way = unit(bearing_deg(middle, arc.centre))
        at = arc.centre[0] + arc.radius_px * way[0], arc.centre[1] + arc.radius_px * way[1]
        new = all(math.dist(at, other) > 2 * touch_px for other in (tip, *found))
        if new and on_sweep(arc, at, LEGS_DEG) and _leg(at, arc, strokes, touch_px) is line:
            found.append(at)
    return found[0] if len(found) == 1 else None


def _opening(arc: Arc, one: Point, other: Point, strokes: Strokes, mm_per_px: float) -> Opening:
    """The angle between two tips on an arc."""
    tips = sorted((one, other), key=lambda tip: (bearing_deg(tip, arc.centre) - arc.start_deg + 20) % 360)
    first, second = (bearing_deg(tip, arc.centre) for tip in tips)
    size_deg = (second - first) % 360
    std_deg = math.degrees(math.hypot(TIP_ON_ARC_MM / mm_per_px, arc.centre_std_px) / arc.radius_px)
    legs = [_leg(tip, arc, strokes, TOUCH_MM / mm_per_px) for tip in tips]
    if legs[0] is not None and legs[1] is not None:
        between_deg = (line_angle_deg(legs[1]) - line_angle_deg(legs[0])) % 180
        between_deg += 180 * round((size_deg - between_deg) / 180)
        if abs(between_deg - size_deg) < LEGS_DEG:
            size_deg, std_deg = between_deg, math.hypot(_direction_std_deg(legs[0]), _direction_std_deg(legs[1]))
    middle = unit(first + size_deg / 2)
    at = arc.centre[0] + arc.radius_px * middle[0], arc.centre[1] + arc.radius_px * middle[1]
    return Opening(arc.centre, arc.radius_px, tips[0], tips[1], size_deg, std_deg, at)


def _leg(tip: Point, arc: Arc, strokes: Strokes, touch_px: float) -> Line | None:
    """The longest line at a tip that runs towards the arc's centre."""
    radius = (tip[0] - arc.centre[0]) / arc.radius_px, (tip[1] - arc.centre[1]) / arc.radius_px
    axis = -radius[1], radius[0]
    lines = (line for line in strokes.lines if crossing(tip, axis, line, touch_px) is not None)
    radial = [line for line in lines if abs(fold_deg(line_angle_deg(line) - bearing_deg(tip, arc.centre))) < LEGS_DEG]
    return max(radial, key=lambda line: math.dist(line.start, line.end), default=None)


def _direction_std_deg(line: Line) -> float:
    """Standard error of a line's direction: its offset is known to std_px all along, its ends sqrt(12) times worse."""
    length = math.dist(line.start, line.end)
    return math.degrees(max(line.std_px, LEAST_STD_PX) * math.sqrt(12.0) / length)


def _way_along(arrow: Arrowhead, arc: Arc, touch_px: float) -> int:
    """Whether an arrow on an arc points counter-clockwise along it (1), clockwise (-1), or is not along it (0)."""
    if abs(math.dist(arrow.tip, arc.centre) - arc.radius_px) > touch_px or not on_sweep(arc, arrow.tip, 12.0):
        return 0
    turn_deg = fold_deg(arrow.direction_deg - bearing_deg(arrow.tip, arc.centre), 360.0)
    return 0 if abs(abs(turn_deg) - 90) >= 25 else int(math.copysign(1, turn_deg))
