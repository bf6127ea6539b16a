"""Arrowheads that stand on one axis: the ends of the lengths of one dimension line."""

import math
from collections.abc import Sequence
from dataclasses import replace

from digitize.dimensions.linking.directions import along, bearing_deg, fold_deg, line_angle_deg, unit
from digitize.strokes.primitives import Arrowhead, Point, Strokes

AXIS_ANGLE_DEG = 4.0
"""Two arrowheads lie on one axis when they are parallel to this."""
AXIS_OFFSET_MM = 0.7
"""... and their tips are no further off it than this, in mm of paper: a dimension line's two halves."""


def along_its_shaft(head: Arrowhead, strokes: Strokes) -> Arrowhead:
    """The head, its direction that of its shaft where both are nearly one: a line is straighter than a head is even."""
    if head.line is None:
        return head
    lean_deg = fold_deg(line_angle_deg(strokes.lines[head.line]) - head.direction_deg)
    return replace(head, direction_deg=head.direction_deg + lean_deg) if abs(lean_deg) < AXIS_ANGLE_DEG else head


def axes(arrowheads: Sequence[Arrowhead], offset_px: float) -> list[tuple[Point, list[Arrowhead]]]:
    """Gather arrowheads that lie on a common axis.

    Returns
    -------
    list of tuple of Point and list of Arrowhead
        The direction of each axis, and its heads sorted along it. Of the two senses of an axis either may be given.
    """
    rest = sorted(arrowheads, key=lambda a: (fold_deg(a.direction_deg) % 180.0, a.tip))
    groups: list[list[Arrowhead]] = []
    for arrow in rest:
        for group in groups:
            if any(_same_axis(arrow, other, offset_px) for other in group):
                group.append(arrow)
                break
        else:
            groups.append([arrow])
    return [_sorted_along(unit(fold_deg(group[0].direction_deg)), group) for group in groups]


def _sorted_along(axis: Point, group: Sequence[Arrowhead]) -> tuple[Point, list[Arrowhead]]:
    return axis, sorted(group, key=lambda a: along(a.tip, (0.0, 0.0), axis))


def _same_axis(one: Arrowhead, other: Arrowhead, offset_px: float) -> bool:
    if abs(fold_deg(one.direction_deg - other.direction_deg)) > AXIS_ANGLE_DEG:
        return False
    gap = math.dist(one.tip, other.tip)
    if gap < offset_px:
        return True
    joining_deg = bearing_deg(other.tip, one.tip)
    lean = math.radians(abs(fold_deg(joining_deg - one.direction_deg)))
    return gap * math.sin(lean) < offset_px


def stations(group: Sequence[Arrowhead], axis: Point, reach_px: float) -> list[list[Arrowhead]]:
    """Gather the tips of one axis that meet on one extension line, in order along the axis."""
    found: list[list[Arrowhead]] = []
    for head in group:
        if found and along(head.tip, found[-1][0].tip, axis) < reach_px:
            found[-1].append(head)
        else:
            found.append([head])
    return found
