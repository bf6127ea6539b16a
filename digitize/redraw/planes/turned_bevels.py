"""Bevels of what is turned: the one edge that a chamfer cuts shows as two corners, and both are cut alike.

On a coarse print the pen fills a small bevel on one side and leaves it on the other. Only what a figure calls round is
asked: of a plate one corner alone may be cut.

Glossary
--------
bevel
    A short slanted edge that cuts a corner.
sharp corner
    Where a level and an upright edge, and no other, meet or all but meet, and the other side of the axis has a bevel.
"""

import math
from collections.abc import Sequence

from digitize.redraw.planes.levels import axis_of
from digitize.redraw.planes.lost_bevels import BEVEL_MM
from digitize.redraw.planes.plane_strokes import GAP_MM, Axis, Pen, Straight, crossing, is_on
from digitize.redraw.planes.stroke_ends import image
from digitize.strokes.primitives import Point

LEAST_LEG_MM = 0.4  # of paper: a slant with a shorter leg is a crumb of the corner itself


def bevels_alike(straights: Sequence[Straight], axes: Sequence[tuple[Axis, float]], pen: Pen) -> list[Straight]:
    """The edges of a view with its sharp corners cut as their images are.

    Parameters
    ----------
    straights : sequence of Straight
        In part mm.
    axes : sequence of (Axis, float)
        Of what figures call round: the axis across and where on it the middle lies.
    pen : Pen
    """
    edges = list(straights)
    for bevel in [each for each in straights if _is_bevel(each, pen)]:
        for axis, middle in axes:
            ends = image(bevel.start, axis, middle), image(bevel.end, axis, middle)
            if not _slanted_near(ends, edges, pen):
                edges = _cut(edges, ends, pen)
    return edges


def _is_bevel(edge: Straight, pen: Pen) -> bool:
    legs = [abs(b - a) / pen.paper_mm for a, b in zip(edge.start, edge.end, strict=True)]
    return min(legs) >= LEAST_LEG_MM and max(legs) <= BEVEL_MM and axis_of(edge, pen.paper_mm) is None


def _slanted_near(ends: tuple[Point, Point], edges: Sequence[Straight], pen: Pen) -> bool:
    """Whether anything slanted lies about a bevel's image."""
    middle = (ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2
    reach = math.dist(*ends)
    slanted = (each for each in edges if each.length and axis_of(each, pen.paper_mm) is None)
    return any(math.dist(middle, at) <= reach for each in slanted for at in (each.start, each.end))


def _cut(edges: list[Straight], ends: tuple[Point, Point], pen: Pen) -> list[Straight]:
    """The edges with the sharp corner at a bevel's image cut; as they are, where there is none."""
    gap = GAP_MM * pen.paper_mm
    for level, upright in (ends, ends[::-1]):
        corner = upright[0], level[1]
        first, second = (_ending(edges, corner, at, axis, pen) for at, axis in ((level, Axis.Y), (upright, Axis.X)))
        if first is None or second is None:
            continue
        met = crossing(edges[first], edges[second])
        others = (each for number, each in enumerate(edges) if number not in (first, second) and each.length)
        if met and math.dist(met[0], corner) <= gap and not any(is_on(each, corner, gap / 2) for each in others):
            short = {first: _ended(edges[first], level, corner), second: _ended(edges[second], upright, corner)}
            kept = [short.get(number, each) for number, each in enumerate(edges)]
            start, end = (_end_near(short[number], corner) for number in (first, second))
            return [*kept, Straight(start, end)]
    return edges


def _ending(edges: Sequence[Straight], corner: Point, at: Point, axis: Axis, pen: Pen) -> int | None:
    """The edge on a place of an axis that ends at a corner, or short of it but not of its bevel, and goes on behind
    that."""
    gap = GAP_MM * pen.paper_mm
    for number, each in enumerate(edges):
        if each.length and axis_of(each, pen.paper_mm) is axis:
            near = _end_near(each, corner)
            far = each.start if near is each.end else each.end
            if math.dist(near, corner) <= math.dist(at, corner) + gap / 2 < math.dist(far, corner):
                return number
    return None


def _end_near(edge: Straight, at: Point) -> Point:
    return min((edge.start, edge.end), key=lambda end: math.dist(end, at))


def _ended(edge: Straight, at: Point, corner: Point) -> Straight:
    """An edge that ends beside a point instead of at the corner."""
    (dx, dy), (x, y), along = edge.direction, edge.start, edge.along(at)
    foot = x + along * dx, y + along * dy
    return Straight(edge.start, foot) if _end_near(edge, corner) is edge.end else Straight(foot, edge.end)
