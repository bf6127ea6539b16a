"""Turned ends at which a leader's head covers the chamfer: the rim and the end face beside it still show its leg."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from digitize.dimensions.linking.directions import across, along, bearing_deg, fold_deg, line_angle_deg, unit
from digitize.dimensions.linking.leaders import Leader
from digitize.strokes.primitives import Line, Point, Role

AHEAD_MM = 2.5
"""A leader that an extension line cuts short points at a chamfer no further on than this, in mm of paper: half the leg
of a usual one, along a steep leader."""
LOST_PART_MM = 2.0
"""The trace loses no more of a short edge than this at either end, in mm of paper."""
LONGEST_LEG_MM = 2.2
"""A chamfer that a head covers has no longer leg, in mm of paper: a head is some 3 mm long."""
CORNER_STD_MM = 0.12
"""Standard error of the place of a drawn corner along an edge, in mm of paper (common practice, no source)."""
SAME_CORNER_MM = 0.5
"""Edges meet in a corner when their ends are this close, in mm of paper."""
UPRIGHT_DEG = 2.0
"""An edge that a chamfer cuts runs along an axis of the sheet to this."""


@dataclass(frozen=True)
class TurnedEnd:
    """A turned end whose chamfer a head covers: its rim, where the turning begins, and its end face.

    Both are drawn across the part, parallel and far longer than the chamfer. ``first`` is where the rim ends,
    ``second`` the place beside it on the face.
    """

    rim: int
    face: int
    first: Point
    second: Point

    @property
    def leg_px(self) -> float:
        """The chamfer's leg along the part."""
        return math.dist(self.first, self.second)


def turned_end(leader: Leader, lines: Sequence[Line], mm_per_px: float) -> TurnedEnd | None:
    """The turned end that a leader's tip stands at; None where there are several."""
    found = [
        TurnedEnd(rim, face, *foot)
        for rim, out in _outward_ends(leader.tip, lines, mm_per_px)
        for face in range(len(lines))
        if (foot := _across_chamfer(rim, face, out, leader.tip, lines, mm_per_px)) is not None
    ]
    legs = [each.leg_px for each in found]
    if not found or max(legs) - min(legs) > CORNER_STD_MM / mm_per_px:
        return None
    return min(found, key=lambda each: each.leg_px)


def _outward_ends(tip: Point, lines: Sequence[Line], mm_per_px: float) -> list[tuple[int, Point]]:
    """Edges that end near a tip, each with the way that it runs there."""
    return [
        (i, unit(bearing_deg(end, other)))
        for i, line in enumerate(lines)
        if line.role is Role.VISIBLE
        for end, other in ((line.start, line.end), (line.end, line.start))
        if math.dist(end, tip) * mm_per_px < AHEAD_MM
    ]


def _across_chamfer(
    rim: int, face: int, out: Point, tip: Point, lines: Sequence[Line], mm_per_px: float
) -> tuple[Point, Point] | None:
    """From the end of a rim to the end face beside it, if an edge runs on from there and the tip is between them."""
    one, other = lines[rim], lines[face]
    end = max(one.start, one.end, key=lambda point: along(point, one.start, out))
    off = across(other.start, end, out)
    leg_px, same_px = abs(off), SAME_CORNER_MM / mm_per_px
    parallel = abs(fold_deg(line_angle_deg(one) - line_angle_deg(other))) < UPRIGHT_DEG
    if other.role is not Role.VISIBLE or not parallel or not SAME_CORNER_MM < leg_px * mm_per_px < LONGEST_LEG_MM:
        return None
    reach = max(along(point, end, out) for point in (other.start, other.end))
    beside = -same_px < across(tip, end, out) * math.copysign(1.0, off) < leg_px + same_px
    if not beside or not -leg_px - LOST_PART_MM / mm_per_px < reach < same_px:
        return None
    side = math.copysign(1.0, off)
    edges = (line for line in lines if line.role is Role.VISIBLE and is_upright(line))
    runs_on = any(_runs_on(line, end, out, side, mm_per_px) for line in edges)
    normal = -side * out[1], side * out[0]
    return (end, (end[0] + leg_px * normal[0], end[1] + leg_px * normal[1])) if runs_on else None


def _runs_on(line: Line, end: Point, out: Point, side: float, mm_per_px: float) -> bool:
    """Does an edge square to a rim lead away from its end, on the side that the end face is not?"""
    same_px = SAME_CORNER_MM / mm_per_px
    level = [abs(along(point, end, out)) for point in (line.start, line.end)]
    away = [-side * across(point, end, out) for point in (line.start, line.end)]
    return max(level) < same_px and min(away) < same_px and max(away) * mm_per_px > LONGEST_LEG_MM


def is_upright(line: Line) -> bool:
    """Does it run along an axis of the sheet?"""
    return abs(fold_deg(line_angle_deg(line), 90.0)) < UPRIGHT_DEG
