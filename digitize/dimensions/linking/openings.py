"""Angles: two arrow tips on one drawn arc, and the lines that bound them."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from digitize.dimensions.linking.arc_legs import LEGS_DEG, leg_at
from digitize.dimensions.linking.bare_arcs import bare_arcs
from digitize.dimensions.linking.directions import (
    bearing_deg,
    fold_deg,
    line_angle_deg,
    on_sweep,
    unit,
)
from digitize.dimensions.linking.touching import LEAST_STD_PX, TOUCH_MM, crossing
from digitize.dimensions.table import Legs
from digitize.strokes.primitives import Arc, Arrowhead, Line, Point, Role, Strokes

MAY_MEASURE = (Role.DIMENSION, Role.EXTENSION, Role.LEADER, Role.VISIBLE, Role.HIDDEN)
"""Roles that the trace gives to arcs with heads or, where those were missed or the figure breaks the arc, without."""
EDGES = (Role.VISIBLE, Role.HIDDEN, Role.EXTENSION, Role.CENTRE)
TIP_ON_ARC_MM = 0.15
"""Standard error of the place of an arrow's tip on its arc, in mm of paper."""
LEAST_RADIUS_MM = 4.0
"""An arc is no dimension line where its radius is less, in mm of paper: no figure has room within."""


@dataclass(frozen=True)
class Opening:
    """An angle between two arrow tips on a drawn arc, in degrees.

    ``loose`` is True where two heads at lines that meet in its centre were found and no arc, or an arc and no
    heads. ``legs`` is None where the tips alone say how large it is.
    """

    centre: Point
    radius_px: float
    first: Point
    second: Point
    size_deg: float
    size_std_deg: float
    middle: Point
    loose: bool = False
    legs: Legs | None = None


def find_openings(strokes: Strokes, mm_per_px: float) -> tuple[Opening, ...]:
    """Angles: two arrow tips on one thin arc, along it and pointing opposite ways.

    Where each tip touches a line that runs to the arc's centre, the angle is the one between those lines, which are
    known far better than the place of a tip on a short arc. Where a head was missed, or both were, such lines say where
    they belong.
    """
    openings = []
    touch_px = TOUCH_MM / mm_per_px
    for arc in strokes.arcs:
        # With a head missed an arc is not known to be a dimension line: it stays visible.
        if arc.role not in MAY_MEASURE or arc.sweep_deg > 300:
            continue
        tips = [(head.tip, way) for head in strokes.arrowheads if (way := _way_along(head, arc, touch_px))]
        ends = _headed(tips, mm_per_px) if len(tips) > 1 else None
        if ends is not None:
            openings.append(_opening(arc, *ends, strokes, mm_per_px))
    arcs = _unseen_arcs(strokes, openings, mm_per_px)
    openings += [replace(_opening(*arc, strokes, mm_per_px), loose=True) for arc in arcs]
    for arc, first, second in bare_arcs(strokes, LEAST_RADIUS_MM, mm_per_px):
        bare = replace(_opening(arc, first, second, strokes, mm_per_px), loose=True)
        if bare.legs is not None and not any(_is_same(bare, opening, touch_px) for opening in openings):
            openings.append(bare)
    return tuple(openings)


def _is_same(one: Opening, other: Opening, touch_px: float) -> bool:
    """Do two angles lie between the same places?"""
    ends = zip((one.first, one.second), (other.first, other.second), strict=True)
    return all(math.dist(first, second) < 2 * touch_px for first, second in ends)


def _unseen_arcs(strokes: Strokes, seen: Sequence[Opening], mm_per_px: float) -> Iterator[tuple[Arc, Point, Point]]:
    """Arcs between two heads at edges that meet in their centre, where a dashed dimension line was traced in pieces."""
    touch_px = TOUCH_MM / mm_per_px
    known = [tip for opening in seen for tip in (opening.first, opening.second)]
    free = [
        (head, leg)
        for head in strokes.arrowheads
        if head.line is None
        and all(math.dist(head.tip, tip) > touch_px for tip in known)
        and (leg := _edge_at(head, strokes, touch_px)) is not None
    ]
    for (one, its), (other, others) in combinations(free, 2):
        centre = _meeting(its, others)
        if centre is None:
            continue
        radius_px = (math.dist(one.tip, centre) + math.dist(other.tip, centre)) / 2
        start, end = bearing_deg(one.tip, centre), bearing_deg(other.tip, centre)
        sweep = fold_deg(end - start, 360.0)
        arc = Arc(centre, radius_px, start if sweep > 0 else end, abs(sweep), 0.0, touch_px, touch_px)
        ways = _way_along(one, arc, touch_px / 2) * _way_along(other, arc, touch_px / 2)
        if ways < 0 and radius_px * mm_per_px >= LEAST_RADIUS_MM:
            yield arc, one.tip, other.tip


def _edge_at(head: Arrowhead, strokes: Strokes, touch_px: float) -> Line | None:
    """The longest edge or extension line that a head's tip touches squarely."""
    touched = (line for line in strokes.lines if line.role in EDGES)
    return max(
        (line for line in touched if crossing(head.tip, unit(head.direction_deg), line, touch_px) is not None),
        key=lambda line: math.dist(line.start, line.end),
        default=None,
    )


def _meeting(one: Line, other: Line) -> Point | None:
    """Where two lines, carried on, meet; None where they are as good as parallel."""
    (ux, uy), (vx, vy) = unit(line_angle_deg(one)), unit(line_angle_deg(other))
    turn = ux * vy - uy * vx
    if abs(turn) < math.sin(math.radians(LEGS_DEG)):
        return None
    t = ((other.start[0] - one.start[0]) * vy - (other.start[1] - one.start[1]) * vx) / turn
    return one.start[0] + t * ux, one.start[1] + t * uy


def _headed(tips: Sequence[tuple[Point, int]], mm_per_px: float) -> tuple[Point, Point] | None:
    """The two places where all tips of an arc stand, where the heads of one may point against those of the other."""
    apart_px = 2 * TOUCH_MM / mm_per_px
    first = tips[0][0]
    here = {way for tip, way in tips if math.dist(tip, first) <= apart_px}
    there = [(tip, way) for tip, way in tips if math.dist(tip, first) > apart_px]
    if not there or any(math.dist(tip, there[0][0]) > apart_px for tip, _ in there):
        return None
    return (first, there[0][0]) if any(-way in here for _, way in there) else None


def _on_arc(bearing: float, arc: Arc) -> Point:
    way = unit(bearing)
    return arc.centre[0] + arc.radius_px * way[0], arc.centre[1] + arc.radius_px * way[1]


def _opening(arc: Arc, tip: Point, other_tip: Point, strokes: Strokes, mm_per_px: float) -> Opening:
    """The angle between two tips on an arc."""
    tips = sorted((tip, other_tip), key=lambda tip: (bearing_deg(tip, arc.centre) - arc.start_deg + 20) % 360)
    first, second = (bearing_deg(tip, arc.centre) for tip in tips)
    size_deg = (second - first) % 360
    std_deg = math.degrees(math.hypot(TIP_ON_ARC_MM / mm_per_px, arc.centre_std_px) / arc.radius_px)
    one, other = (leg_at(tip, arc, strokes.lines, TOUCH_MM / mm_per_px) for tip in tips)
    legs = None
    if one is not None and other is not None:
        between_deg = (line_angle_deg(other) - line_angle_deg(one)) % 180
        between_deg += 180 * round((size_deg - between_deg) / 180)
        if abs(between_deg - size_deg) < LEGS_DEG:
            size_deg, std_deg = between_deg, math.hypot(_direction_std_deg(one), _direction_std_deg(other))
            legs = _legs(one, other)
    middle = _on_arc(first + size_deg / 2, arc)
    return Opening(arc.centre, arc.radius_px, tips[0], tips[1], size_deg, std_deg, middle, legs=legs)


def _legs(one: Line, other: Line) -> Legs:
    """What the angle from one line to the other is subject to; a stretch s turns a line by -s sin(2 theta) / 2."""
    lengths = math.dist(one.start, one.end), math.dist(other.start, other.end)
    turns = (math.degrees(-math.sin(math.radians(2 * line_angle_deg(line))) / 2) for line in (one, other))
    first_deg, second_deg = turns
    return Legs(1 / math.hypot(1 / lengths[0], 1 / lengths[1]), second_deg - first_deg)


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
