"""What a leader shows by the edge that it touches: a turned diameter, a chamfer, the width and depth of a keyseat.

Everything is found from the drawing alone; where the drawn edges do not close the shape, nothing is measured.

Glossary
--------
floor
    The edge of a keyseat in the face of its hub that lies farthest from the bore.
wall
    An edge square to the floor that meets an end of it.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from digitize.dimensions.linking.chamfers import measure_chamfer
from digitize.dimensions.linking.directions import across, along, fold_deg, line_angle_deg, middle_of
from digitize.dimensions.linking.leaders import Leader
from digitize.dimensions.linking.turned_ends import SAME_CORNER_MM
from digitize.dimensions.table import Measured
from digitize.lettering.text import Kind, TextBlock, TypedValue
from digitize.strokes.primitives import Arc, Line, Point, Role, Strokes

MIRROR_ANGLE_DEG = 2.0
"""Two edges of a turned part are parallel to this."""
WALL_ANGLE_DEG = 5.0
"""The walls of a keyseat are square to its floor to this: by hand .2 mm off over two or three mm of paper."""
MIRROR_SLACK, MIRROR_SLACK_MM = 0.06, 1.0
"""An edge's mirror lies this close to its place, as a share of the radius, and in mm of paper: three lines by hand."""
ROUND_SHARE = 0.1
"""The end of an oblong slot is an arc of half its width, to this share."""
OFF_MIDDLE = 0.4
"""A keyseat's middle stands over the middle of its bore, within this share of half its width."""


def measure_led(
    leader: Leader, value: TypedValue, block: TextBlock, strokes: Strokes, mm_per_px: float
) -> Measured | None:
    """What the edge at a leader's tip shows of one value of its callout; None where it shows nothing of the kind."""
    at = block.centre
    if value.kind is Kind.CHAMFER or value.kind is Kind.ANGLE:
        return measure_chamfer(leader, value.kind, at, strokes.lines, mm_per_px)
    if value.kind in (Kind.DIAMETER, Kind.THREAD):
        return _turned(leader, at, strokes, mm_per_px, lambda edge, other: True)
    if value.name in ("key_width", "width"):
        return _seat_width(leader, at, strokes, mm_per_px) or _slot_width(leader, at, strokes, mm_per_px)
    return _seat_depth(leader, at, strokes, mm_per_px) if value.name == "key_depth" else None


def _turned(
    leader: Leader, at: Point, strokes: Strokes, mm_per_px: float, fits: Callable[[Point, Point], bool]
) -> Measured | None:
    """A length across a centre line: from the edge that a leader touches to its mirror, where the two ends fit."""
    for index in leader.edges:
        edge = strokes.lines[index]
        for axis in strokes.lines:
            if axis.role is not Role.CENTRE or not _parallel(edge, axis):
                continue
            found = _mirror(leader.tip, edge, axis, strokes, mm_per_px)
            if found is not None and fits(found.first, found.second):
                size = math.dist(found.first, found.second)
                lines = (index, found.other)
                return Measured(Kind.DIAMETER, found.first, found.second, size, found.std_px, at, lines=lines)
    return None


def _parallel(one: Line, other: Line) -> bool:
    return abs(fold_deg(line_angle_deg(one) - line_angle_deg(other))) < MIRROR_ANGLE_DEG


def _foot(point: Point, line: Line) -> tuple[Point, bool]:
    """Foot of a point on a line, and whether the line's own length (and a tenth more) holds it."""
    length = math.dist(line.start, line.end)
    direction = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length
    t = along(point, line.start, direction)
    inside = -0.1 * length <= t <= 1.1 * length
    return (line.start[0] + t * direction[0], line.start[1] + t * direction[1]), inside


@dataclass(frozen=True)
class _Mirrored:
    """A place on an edge, its place on the edge's mirror, their standard error, and the mirror's index."""

    first: Point
    second: Point
    std_px: float
    other: int


def _mirror(tip: Point, edge: Line, axis: Line, strokes: Strokes, mm_per_px: float) -> _Mirrored | None:
    """The visible line that mirrors ``edge`` about ``axis`` where the leader touches it."""
    first, _ = _foot(tip, edge)
    middle, on_axis = _foot(first, axis)
    reach = math.dist(first, middle)
    if not on_axis or reach < 1.0:
        return None
    slack = MIRROR_SLACK * reach + MIRROR_SLACK_MM / mm_per_px
    there = 2 * middle[0] - first[0], 2 * middle[1] - first[1]
    best: tuple[float, _Mirrored] | None = None
    for index, line in enumerate(strokes.lines):
        if line.role is not Role.VISIBLE or not _parallel(line, edge):
            continue
        second, inside = _foot(there, line)
        off = math.dist(second, there)
        if inside and off < slack and (best is None or off < best[0]):
            best = off, _Mirrored(first, second, math.hypot(line.std_px, edge.std_px), index)
    return None if best is None else best[1]


def _slot_width(leader: Leader, at: Point, strokes: Strokes, mm_per_px: float) -> Measured | None:
    """The width of an oblong slot in a shaft: between its long edges, which an arc of half the width joins."""

    def rounded(first: Point, second: Point) -> bool:
        half = math.dist(first, second) / 2
        return any(
            arc.role is Role.VISIBLE
            and abs(arc.radius_px - half) < ROUND_SHARE * half
            and abs(math.dist(arc.centre, first) - math.dist(arc.centre, second)) < ROUND_SHARE * half
            for arc in strokes.arcs
        )

    found = _turned(leader, at, strokes, mm_per_px, rounded)
    if found is None:
        return None
    return Measured(Kind.LINEAR, found.first, found.second, found.size, found.size_std, at, lines=found.lines)


@dataclass(frozen=True)
class _Seat:
    """A keyseat in the face of a hub: its floor and its two walls, as indices of lines."""

    floor: int
    walls: tuple[int, int]


def _seat(leader: Leader, strokes: Strokes, mm_per_px: float) -> _Seat | None:
    """The keyseat one of whose corners a leader touches: an edge with a wall at each end, both on the same side."""
    reach_px = SAME_CORNER_MM / mm_per_px
    near = [i for i, line in enumerate(strokes.lines) if _ends_near(line, leader.tip, 2 * reach_px)]
    for index in sorted({*leader.edges, *near}):
        floor = strokes.lines[index]
        if floor.role is not Role.VISIBLE:
            continue
        walls = [_walls(floor, end, strokes.lines, reach_px) for end in (floor.start, floor.end)]
        for one in walls[0]:
            for other in walls[1]:
                if _same_side(floor, strokes.lines[one], strokes.lines[other]):
                    return _Seat(index, (one, other))
    return None


def _ends_near(line: Line, point: Point, reach_px: float) -> bool:
    return min(math.dist(line.start, point), math.dist(line.end, point)) < reach_px


def _walls(floor: Line, end: Point, lines: Sequence[Line], reach_px: float) -> list[int]:
    """Short visible lines square to the floor that end where it does."""
    longest = math.dist(floor.start, floor.end)
    return [
        i
        for i, line in enumerate(lines)
        if line.role is Role.VISIBLE
        and abs(abs(fold_deg(line_angle_deg(line) - line_angle_deg(floor))) - 90.0) < WALL_ANGLE_DEG
        and _ends_near(line, end, reach_px)
        and math.dist(line.start, line.end) < longest
    ]


def _same_side(floor: Line, one: Line, other: Line) -> bool:
    length = math.dist(floor.start, floor.end)
    direction = (floor.end[0] - floor.start[0]) / length, (floor.end[1] - floor.start[1]) / length
    return across(middle_of(one), floor.start, direction) * across(middle_of(other), floor.start, direction) > 0


def _seat_width(leader: Leader, at: Point, strokes: Strokes, mm_per_px: float) -> Measured | None:
    seat = _seat(leader, strokes, mm_per_px)
    if seat is None:
        return None
    one, other = (strokes.lines[i] for i in seat.walls)
    first = middle_of(one)
    second, _ = _foot(first, other)
    std_px = math.hypot(one.std_px, other.std_px)
    return Measured(Kind.LINEAR, first, second, math.dist(first, second), std_px, at, lines=seat.walls)


def _seat_depth(leader: Leader, at: Point, strokes: Strokes, mm_per_px: float) -> Measured | None:
    """From the top of the bore to the floor, where that is less than the width.

    Some offices gave the depth at the wall, less by the rise of the bore: half of that is a part of the error.
    """
    seat = _seat(leader, strokes, mm_per_px)
    if seat is None:
        return None
    floor = strokes.lines[seat.floor]
    bore = _bore(floor, strokes.arcs)
    if bore is None:
        return None
    foot, _ = _foot(bore.centre, floor)
    away = math.dist(foot, bore.centre)
    top = tuple(c + (f - c) * bore.radius_px / away for c, f in zip(bore.centre, foot, strict=True))
    half_width = math.dist(floor.start, floor.end) / 2
    rise = bore.radius_px - math.sqrt(bore.radius_px**2 - half_width**2)
    std_px = math.hypot(bore.radius_std_px, floor.std_px, rise / 2)
    return Measured(Kind.LINEAR, (top[0], top[1]), foot, away - bore.radius_px, std_px, at, lines=(seat.floor,))


def _bore(floor: Line, arcs: Sequence[Arc]) -> Arc | None:
    """The largest circle that a floor lies outside of by less than its width, its centre square to the middle."""
    half = math.dist(floor.start, floor.end) / 2
    fitting = []
    for arc in arcs:
        foot, _ = _foot(arc.centre, floor)
        outside = half < arc.radius_px < math.dist(foot, arc.centre) <= arc.radius_px + 2 * half
        if arc.role is Role.VISIBLE and outside and math.dist(foot, middle_of(floor)) < OFF_MIDDLE * half:
            fitting.append(arc)
    return max(fitting, key=lambda arc: arc.radius_px, default=None)
