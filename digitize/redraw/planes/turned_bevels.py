"""Bevels of what is turned: the one edge that a chamfer cuts shows as two corners, and both are cut alike.

On a coarse print the pen fills a small bevel on one side and leaves it on the other. Only what a figure calls round is
asked: of a plate one corner alone may be cut.

Glossary
--------
bevel
    A short slanted edge that cuts a corner.
sharp corner
    Where a level and an upright edge, and no other, meet or all but meet, and the other side of the axis has a bevel.
tangle
    Two small strokes or more, arcs among them, where a bevel has its image: ink that ran, or an arrowhead on the bevel.
"""

import math
from collections.abc import Sequence

from digitize.redraw.planes.levels import axis_of
from digitize.redraw.planes.lost_bevels import BEVEL_MM
from digitize.redraw.planes.plane_strokes import GAP_MM, Axis, Pen, Round, Straight, crossing, ends_of, is_on
from digitize.redraw.planes.stroke_ends import image
from digitize.strokes.primitives import Point

TANGLE_MM = 1.5  # of paper: strokes of a tangle reach no further from the bevel that they hide: three pens' widths
TANGLED_MM = 4.0  # of paper: an arrowhead is no longer than this, and hides no longer bevel
FEWEST_OF_TANGLE = 2  # one arc by itself may be a rounding
LEAST_LEG_MM = 0.4  # of paper: a slant with a shorter leg is a crumb of the corner itself


def without_tangles(
    straights: Sequence[Straight], rounds: Sequence[Round], middles: Sequence[tuple[Axis, float]], pen: Pen
) -> tuple[list[Straight], list[Round]]:
    """The edges of a view with the image of a bevel in place of each tangle.

    Parameters
    ----------
    straights : sequence of Straight
        In part mm.
    rounds : sequence of Round
    middles : sequence of (Axis, float)
        Of its centre lines: the axis across and where on it each stands.
    pen : Pen
    """
    edges, arcs = list(straights), list(rounds)
    for bevel in [each for each in straights if _is_bevel(each, pen, TANGLED_MM)]:
        for axis, middle in middles:
            ends = image(bevel.start, axis, middle), image(bevel.end, axis, middle)
            slants = [each for each in edges if axis_of(each, pen.paper_mm) is None and _lies_at(each, ends, pen)]
            bows = [each for each in arcs if not each.curve.full and _lies_at(each, ends, pen)]
            if not bows or len(slants) + len(bows) < FEWEST_OF_TANGLE:
                continue
            own = [each for each in slants if _same_ends(each, ends, pen)]
            bare = [each for each in edges if each not in slants]
            cut = [*bare, *own] if own else _cut(bare, ends, pen, TANGLE_MM * pen.paper_mm)
            if len(cut) > len(bare):
                edges, arcs = cut, [each for each in arcs if each not in bows]
    return edges, arcs


def _lies_at(stroke: Straight | Round, ends: tuple[Point, Point], pen: Pen) -> bool:
    """Whether all of a stroke lies about a bevel's image."""
    middle = (ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2
    reach = math.dist(*ends) / 2 + TANGLE_MM * pen.paper_mm
    points = [*ends_of(stroke)]
    if isinstance(stroke, Round):
        points.append(stroke.curve.at(stroke.curve.start_deg + stroke.curve.sweep_deg / 2))
    return bool(stroke.length) and all(math.dist(middle, at) <= reach for at in points)


def _same_ends(edge: Straight, ends: tuple[Point, Point], pen: Pen) -> bool:
    gap = GAP_MM * pen.paper_mm
    return any(math.dist(edge.start, a) <= gap and math.dist(edge.end, b) <= gap for a, b in (ends, ends[::-1]))


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


def _is_bevel(edge: Straight, pen: Pen, most: float = BEVEL_MM) -> bool:
    legs = [abs(b - a) / pen.paper_mm for a, b in zip(edge.start, edge.end, strict=True)]
    return min(legs) >= LEAST_LEG_MM and max(legs) <= most and axis_of(edge, pen.paper_mm) is None


def _slanted_near(ends: tuple[Point, Point], edges: Sequence[Straight], pen: Pen) -> bool:
    """Whether anything slanted lies about a bevel's image."""
    middle = (ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2
    reach = math.dist(*ends)
    slanted = (each for each in edges if each.length and axis_of(each, pen.paper_mm) is None)
    return any(math.dist(middle, at) <= reach for each in slanted for at in (each.start, each.end))


def _cut(edges: list[Straight], ends: tuple[Point, Point], pen: Pen, short: float = 0.0) -> list[Straight]:
    """The edges with the sharp corner at a bevel's image cut; as they are, where there is none. They may stop ``short``
    of the bevel's ends."""
    gap = GAP_MM * pen.paper_mm
    for level, upright in (ends, ends[::-1]):
        corner = upright[0], level[1]
        first, second = (
            _ending(edges, corner, at, axis, GAP_MM / 2 * pen.paper_mm + short, pen)
            for at, axis in ((level, Axis.Y), (upright, Axis.X))
        )
        if first is None or second is None:
            continue
        met = crossing(edges[first], edges[second])
        others = (each for number, each in enumerate(edges) if number not in (first, second) and each.length)
        if met and math.dist(met[0], corner) <= gap and not any(is_on(each, corner, gap / 2) for each in others):
            cut = {first: _ended(edges[first], level, corner), second: _ended(edges[second], upright, corner)}
            kept = [cut.get(number, each) for number, each in enumerate(edges)]
            start, end = (_end_near(cut[number], corner) for number in (first, second))
            return [*kept, Straight(start, end)]
    return edges


def _ending(edges: Sequence[Straight], corner: Point, at: Point, axis: Axis, gap: float, pen: Pen) -> int | None:
    """The edge on a place of an axis that ends at a corner, or short of it but not of its bevel, and goes on behind
    that."""
    for number, each in enumerate(edges):
        if each.length and axis_of(each, pen.paper_mm) is axis:
            near = _end_near(each, corner)
            far = each.start if near is each.end else each.end
            if math.dist(near, corner) <= math.dist(at, corner) + gap < math.dist(far, corner):
                return number
    return None


def _end_near(edge: Straight, at: Point) -> Point:
    return min((edge.start, edge.end), key=lambda end: math.dist(end, at))


def _ended(edge: Straight, at: Point, corner: Point) -> Straight:
    """An edge that ends beside a point instead of at the corner."""
    (dx, dy), (x, y), along = edge.direction, edge.start, edge.along(at)
    foot = x + along * dx, y + along * dy
    return Straight(edge.start, foot) if _end_near(edge, corner) is edge.end else Straight(foot, edge.end)
