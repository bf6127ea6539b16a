"""Chamfers that a leader shows: the slanted edge from corner to corner, its leg and its angle."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from digitize.dimensions.linking.directions import across, along, bearing_deg, fold_deg, line_angle_deg, middle_of, unit
from digitize.dimensions.linking.leaders import Leader
from digitize.dimensions.linking.turned_ends import (
    AHEAD_MM,
    CORNER_STD_MM,
    LOST_PART_MM,
    SAME_CORNER_MM,
    TurnedEnd,
    is_upright,
    turned_end,
)
from digitize.dimensions.table import Measured
from digitize.lettering.text import Kind
from digitize.strokes.primitives import Line, Point, Role

CHAMFER_DEG = 45.0
CHAMFER_SLACK_DEG = 10.0
"""An edge this near to the half square is a chamfer's: its legs are then equal, and either may be written."""
LONGEST_CHAMFER_MM = 12.0
"""A chamfer's edge is no longer, in mm of paper."""
MIDDLE_SHARE = 0.35
"""... and passes its middle within this share of its length: a draughtsman leads to the middle of a short edge."""
COVERED_MM = 3.0
"""An arrowhead covers no longer edge, in mm of paper (the usual length of a head)."""


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
        turned = turned_end(leader, lines, mm_per_px)
        if turned is None:
            return None
        if kind is Kind.CHAMFER:
            return _turned_leg(turned, at, lines)
        edge = _at_other_end(turned, lines, mm_per_px)
        return None if edge is None else _lean(edge, at, mm_per_px)
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
        if i != index and line.role is Role.VISIBLE and is_upright(line)
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
        if line.role is Role.VISIBLE and is_upright(line)
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


def _is_same_edge(one: _Edge, other: _Edge, same_px: float) -> bool:
    return any(
        math.dist(one.start, a) < same_px and math.dist(one.end, b) < same_px
        for a, b in ((other.start, other.end), (other.end, other.start))
    )


def _turned_leg(end: TurnedEnd, at: Point, lines: Sequence[Line]) -> Measured:
    """The leg of a turned chamfer, from the end face to the rim: far better known than by its corners."""
    std_px = math.hypot(lines[end.rim].std_px, lines[end.face].std_px)
    return Measured(Kind.LINEAR, end.first, end.second, end.leg_px, std_px, at, lines=(end.rim, end.face))


def _at_other_end(end: TurnedEnd, lines: Sequence[Line], mm_per_px: float) -> _Edge | None:
    """The slanted edge of the same chamfer at the other end of its face: a turned part shows it twice."""
    far = [max((lines[i].start, lines[i].end), key=lambda p: math.dist(p, end.first)) for i in (end.rim, end.face)]
    slanted = (i for i, line in enumerate(lines) if line.role is Role.VISIBLE and _is_chamfer(line, mm_per_px))
    whole = (edge for i in slanted if (edge := _whole(i, lines, mm_per_px)) is not None)
    same = _Edge(far[0], far[1], ())
    return next((edge for edge in whole if _is_same_edge(edge, same, SAME_CORNER_MM / mm_per_px)), None)


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
