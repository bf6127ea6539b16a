"""Chamfers that a leader shows: the slanted edge from corner to corner, its leg and its angle."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from digitize.dimensions.linking.directions import across, along, bearing_deg, fold_deg, line_angle_deg, middle_of, unit
from digitize.dimensions.linking.leaders import Leader
from digitize.dimensions.table import Measured
from digitize.lettering.text import Kind
from digitize.strokes.primitives import Line, Point, Role

CHAMFER_DEG = 45.0
CHAMFER_SLACK_DEG = 10.0
"""An edge this near to the half square is a chamfer's: its legs are then equal, and either may be written."""
LONGEST_CHAMFER_MM = 12.0
"""A chamfer's edge is no longer, in mm of paper."""
AHEAD_MM = 2.5
"""A leader that an extension line cuts short points at a chamfer no further on than this, in mm of paper: half the leg
of a usual one, along a steep leader."""
MIDDLE_SHARE = 0.35
"""... and passes its middle within this share of its length: a draughtsman leads to the middle of a short edge."""
COVERED_MM = 3.0
"""An arrowhead covers no longer edge, in mm of paper (the usual length of a head)."""
LOST_PART_MM = 2.0
"""The trace loses no more of a short edge than this at either end, in mm of paper."""
LONGEST_LEG_MM = 2.2
"""... nor a longer leg of a half square than this."""
SHORTEST_FACE_MM = 4.0
"""The end face of a turned part is no shorter, in mm of paper."""
CORNER_STD_MM = 0.12
"""Standard error of the place of a drawn corner along an edge, in mm of paper (common practice, no source)."""
SAME_CORNER_MM = 0.5
"""Edges meet in a corner when their ends are this close, in mm of paper."""
UPRIGHT_DEG = 2.0
"""An edge that a chamfer cuts runs along an axis of the sheet to this."""


@dataclass(frozen=True)
class _Edge:
    """A chamfer's edge from corner to corner, and the lines that show it."""

    start: Point
    end: Point
    lines: tuple[int, ...]


def measure_chamfer(leader: Leader, kind: Kind, at: Point, lines: Sequence[Line], mm_per_px: float) -> Measured | None:
    """The leg or the angle of the chamfer that a leader shows.

    Parameters
    ----------
    leader : Leader
    kind : Kind
        ``CHAMFER`` for its leg, ``ANGLE`` for its angle.
    at : Point
        Middle of the figure.
    lines : sequence of Line
        All lines of the sheet.
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    Measured or None
        None where no whole slanted edge lies at the tip or right ahead of it, and no turned end shows its leg.
    """
    edge = _chamfer_edge(leader, lines, mm_per_px)
    if edge is None:
        return _turned_leg(leader, at, lines, mm_per_px) if kind is Kind.CHAMFER else None
    return (_leg if kind is Kind.CHAMFER else _lean)(edge, at, mm_per_px)


def _chamfer_edge(leader: Leader, lines: Sequence[Line], mm_per_px: float) -> _Edge | None:
    """The slanted edge that a leader touches, or the one that it points at a little further on.

    An extension line that runs to a chamfered corner crosses the leader short of its tip, and the trace may
    end it there.
    """
    slanted = [i for i, line in enumerate(lines) if _is_chamfer(line, mm_per_px)]
    touched = [i for i in slanted if i in leader.edges]
    ahead = [i for i in slanted if lines[i].role is Role.VISIBLE and _points_at(leader, lines[i], mm_per_px)]
    for found in (touched, ahead):
        whole = [edge for i in found if (edge := _whole(i, lines, mm_per_px)) is not None]
        if whole:
            return min(whole, key=lambda edge: math.dist(middle_of(lines[edge.lines[0]]), leader.tip))
    return None if touched or ahead else _covered_edge(leader, lines, mm_per_px)


def _whole(index: int, lines: Sequence[Line], mm_per_px: float) -> _Edge | None:
    """A slanted edge from corner to corner; None where one end of it stands free: then the trace lost a part of it."""
    start, end = lines[index].start, lines[index].end
    first, second = (_corner(end, start, index, lines, mm_per_px), _corner(start, end, index, lines, mm_per_px))
    return None if first is None or second is None else _Edge(first, second, (index,))


def _corner(other: Point, end: Point, index: int, lines: Sequence[Line], mm_per_px: float) -> Point | None:
    """Where an edge that runs from ``other`` to ``end`` meets the end of another: there, or a little further on."""
    towards = unit(bearing_deg(end, other))
    beyond = [
        along(corner, end, towards)
        for i, line in enumerate(lines)
        if i != index and line.role is Role.VISIBLE and _is_upright(line)
        for corner in (line.start, line.end)
        if abs(across(corner, end, towards)) * mm_per_px < SAME_CORNER_MM
    ]
    near = [t for t in beyond if -SAME_CORNER_MM < t * mm_per_px < LOST_PART_MM]
    if not near:
        return None
    on = min(near, key=abs)
    return end if abs(on) * mm_per_px < SAME_CORNER_MM else (end[0] + on * towards[0], end[1] + on * towards[1])


def _is_chamfer(line: Line, mm_per_px: float) -> bool:
    """Is it slanted and short as the edge of a chamfer is?"""
    off_deg = abs(fold_deg(line_angle_deg(line))) % 90.0 - CHAMFER_DEG
    return abs(off_deg) < CHAMFER_SLACK_DEG and math.dist(line.start, line.end) * mm_per_px < LONGEST_CHAMFER_MM


def _points_at(leader: Leader, line: Line, mm_per_px: float) -> bool:
    """Does a leader, carried on a little, run through the middle part of a line?"""
    towards = unit(leader.direction_deg)
    sides = [across(end, leader.tip, towards) for end in (line.start, line.end)]
    middle = middle_of(line)
    ahead_mm = along(middle, leader.tip, towards) * mm_per_px
    off_px = abs(across(middle, leader.tip, towards))
    return sides[0] * sides[1] < 0 < ahead_mm < AHEAD_MM and off_px < MIDDLE_SHARE * math.dist(line.start, line.end)


def _covered_edge(leader: Leader, lines: Sequence[Line], mm_per_px: float) -> _Edge | None:
    """A chamfer's edge that the leader's head covers: from the end of one edge to that of another, if one pair fits."""
    near = [
        (end, i)
        for i, line in enumerate(lines)
        if line.role is Role.VISIBLE and _is_upright(line)
        for end in (line.start, line.end)
        if math.dist(end, leader.tip) * mm_per_px < AHEAD_MM
    ]
    found: list[_Edge] = []
    for k, (first, one) in enumerate(near):
        for second, other in near[k + 1 :]:
            edge = Line(first, second, 1.0)
            if one == other or not 1.0 < math.dist(first, second) < COVERED_MM / mm_per_px:
                continue
            if _is_chamfer(edge, mm_per_px) and _points_at(leader, edge, mm_per_px):
                found.append(_Edge(first, second, (one, other)))
    same_px = SAME_CORNER_MM / mm_per_px
    if not found or any(not _is_same_edge(found[0], other, same_px) for other in found[1:]):
        return None
    return found[0]


def _is_upright(line: Line) -> bool:
    """Does it run along an axis of the sheet?"""
    return abs(fold_deg(line_angle_deg(line), 90.0)) < UPRIGHT_DEG


def _is_same_edge(one: _Edge, other: _Edge, same_px: float) -> bool:
    return any(
        math.dist(one.start, a) < same_px and math.dist(one.end, b) < same_px
        for a, b in ((other.start, other.end), (other.end, other.start))
    )


def _turned_leg(leader: Leader, at: Point, lines: Sequence[Line], mm_per_px: float) -> Measured | None:
    """The leg of a turned chamfer whose edge the head covers: from the end face to the circle where the turning begins.

    Both are drawn across the part, parallel and far longer than the chamfer; the angle between them is not seen.
    """
    found = [
        (math.dist(*foot), foot, (rim, face))
        for rim, out in _outward_ends(leader.tip, lines, mm_per_px)
        for face in range(len(lines))
        if (foot := _across_chamfer(rim, face, out, leader.tip, lines, mm_per_px)) is not None
    ]
    if not found or max(leg for leg, _, _ in found) - min(leg for leg, _, _ in found) > CORNER_STD_MM / mm_per_px:
        return None
    leg, (first, second), pair = min(found)
    std_px = math.hypot(*(lines[i].std_px for i in pair))
    return Measured(Kind.LINEAR, first, second, leg, std_px, at, lines=pair)


def _outward_ends(tip: Point, lines: Sequence[Line], mm_per_px: float) -> list[tuple[int, Point]]:
    """Long upright edges that end near a tip, each with the way that it runs there."""
    return [
        (i, unit(bearing_deg(end, other)))
        for i, line in enumerate(lines)
        if _is_face(line, mm_per_px)
        for end, other in ((line.start, line.end), (line.end, line.start))
        if math.dist(end, tip) * mm_per_px < AHEAD_MM
    ]


def _is_face(line: Line, mm_per_px: float) -> bool:
    long = math.dist(line.start, line.end) * mm_per_px > SHORTEST_FACE_MM
    return line.role is Role.VISIBLE and _is_upright(line) and long


def _across_chamfer(
    rim: int, face: int, out: Point, tip: Point, lines: Sequence[Line], mm_per_px: float
) -> tuple[Point, Point] | None:
    """From the end of a rim to the end face beside it, if an edge runs on from there and the tip is between them."""
    one, other = lines[rim], lines[face]
    end = max(one.start, one.end, key=lambda point: along(point, one.start, out))
    off = across(other.start, end, out)
    leg_px, same_px = abs(off), SAME_CORNER_MM / mm_per_px
    parallel = abs(fold_deg(line_angle_deg(one) - line_angle_deg(other))) < UPRIGHT_DEG
    if not _is_face(other, mm_per_px) or not parallel or not SAME_CORNER_MM < leg_px * mm_per_px < LONGEST_LEG_MM:
        return None
    reach = max(along(point, end, out) for point in (other.start, other.end))
    beside = -same_px < across(tip, end, out) * math.copysign(1.0, off) < leg_px + same_px
    if not beside or not -leg_px - LOST_PART_MM / mm_per_px < reach < same_px:
        return None
    side = math.copysign(1.0, off)
    runs_on = any(
        line.role is Role.VISIBLE and _is_upright(line) and _runs_on(line, end, out, side, same_px) for line in lines
    )
    normal = -side * out[1], side * out[0]
    return (end, (end[0] + leg_px * normal[0], end[1] + leg_px * normal[1])) if runs_on else None


def _runs_on(line: Line, end: Point, out: Point, side: float, same_px: float) -> bool:
    """Does an edge square to a rim lead away from its end, on the side that the end face is not?"""
    level = [abs(along(point, end, out)) for point in (line.start, line.end)]
    away = [-side * across(point, end, out) for point in (line.start, line.end)]
    return max(level) < same_px and min(away) < same_px and max(away) > LONGEST_LEG_MM / SAME_CORNER_MM * same_px


def _leg(edge: _Edge, at: Point, mm_per_px: float) -> Measured:
    """The leg of a chamfer: its edge is sqrt(2) times as long, and has two corners."""
    size = math.dist(edge.start, edge.end) / math.sqrt(2.0)
    return Measured(Kind.LINEAR, edge.start, edge.end, size, CORNER_STD_MM / mm_per_px, at, lines=edge.lines)


def _lean(edge: _Edge, at: Point, mm_per_px: float) -> Measured:
    """The angle of a chamfer with the nearer axis of the sheet."""
    length = math.dist(edge.start, edge.end)
    std_deg = math.degrees(CORNER_STD_MM / mm_per_px * math.sqrt(2.0) / length)
    size_deg = abs(fold_deg(line_angle_deg(Line(edge.start, edge.end, 1.0)), 90.0))
    return Measured(Kind.ANGLE, edge.start, edge.end, size_deg, std_deg, at, lines=edge.lines)
