"""Plates: a face of one thickness, which a side view that stands level with it gives, or a person; its holes go right
through but where a section shows otherwise."""

from collections.abc import Sequence

from shapely import Polygon

from digitize.redraw.planes.outline import Ring
from digitize.redraw.solids.pockets import depths_of
from digitize.redraw.solids.solid_shape import THROUGH, Asked, Missing, Prism, SolidPlan, unlike
from digitize.redraw.solids.view_outlines import (
    SAME,
    area_off_mm2,
    hidden_notes,
    loose_notes,
    nested,
    outer_ring,
    polygon_of,
    rectangular,
    ring_corners,
    settled,
    unclosed_edges,
)
from digitize.redraw.solving.solved import SolvedView
from digitize.strokes.primitives import Role

THROUGH_SHARE = 0.8  # of the thickness: a hidden edge drawn through it loses no more to its first and last gap
LEVEL_SHARE = 0.02  # of their length: level views' middles lie no further apart, whatever the frames' own scales do


def plate(views: Sequence[SolvedView], thickness_mm: float | None) -> SolidPlan | Missing:
    """A plate whose face is the view with the most outlines; or what is missing."""
    face = max(
        views,
        key=lambda each: (len(each.profile.rings), not rectangular(each), polygon_of(each, outer_ring(each)).area),
    )
    if (edges := unclosed_edges(face)) is not None:
        return Missing(edges)
    sides = [
        (each, found)
        for each in views
        if each is not face and (found := _depth_axis(polygon_of(face, outer_ring(face)), each)) is not None
    ]
    height = _thickness(sides, thickness_mm)
    if isinstance(height, Missing):
        return height
    inner = [ring for ring in face.profile.rings if ring.within is not None]
    depths = _depths(face, inner, sides)
    if isinstance(depths, Missing):
        return depths
    corners = [ring_corners(face.profile, ring) for ring in inner]
    holes = tuple(each for each, depth in zip(corners, depths, strict=True) if depth is None)
    pockets = tuple((each, depth) for each, depth in zip(corners, depths, strict=True) if depth is not None)
    used = [face, *(each for each, _ in sides if pockets)]
    notes = (*loose_notes(used), *hidden_notes(views), *((THROUGH,) if holes else ()))
    prism = Prism(ring_corners(face.profile, outer_ring(face)), height)
    off = area_off_mm2(face) * height
    return SolidPlan("plate", prism, holes=holes, notes=notes, pockets=pockets, off_mm3=off)


def _thickness(sides: Sequence[tuple[SolvedView, int]], given_mm: float | None) -> float | Missing:
    """Thickness by a side view that stands level with the face, or as given; Missing where neither settles it."""
    stepped = [each for each, _ in sides if not rectangular(each)]
    if stepped:
        return Missing(f"view {stepped[0].view.name} shows that the plate has not one thickness")
    told = [_extent(each, axis) for each, axis in sides if settled(each)]
    if not told:
        missing = Missing("no agreed figure gives the thickness of the plate", (Asked.THICKNESS,))
        return given_mm if given_mm is not None else missing
    if max(told) - min(told) > SAME * max(told):
        return Missing("two views give the plate different thicknesses")
    if given_mm is not None and abs(given_mm - told[0]) > SAME * told[0]:
        return unlike("thickness", given_mm, told[0])
    return told[0]


def _depths(
    face: SolvedView, inner: Sequence[Ring], sides: Sequence[tuple[SolvedView, int]]
) -> Sequence[float | None] | Missing:
    """How deep each inner outline of the face goes, None right through, by a section or for want of one."""
    for side, axis in sides:
        if side.profile.cuts:
            return depths_of(face, inner, side, 1 - axis)
        if _stops_short(side, axis):
            return Missing(f"hidden edges in view {side.view.name} stop within the plate: how deep they go is not told")
    if nested(face, inner):
        return Missing(f"view {face.view.name} has outlines within outlines: bosses or counterbores of unknown depth")
    return [None] * len(inner)


def _extent(side: SolvedView, axis: int) -> float:
    bounds = polygon_of(side, outer_ring(side)).bounds
    return float(bounds[2 + axis] - bounds[axis])


def _stops_short(side: SolvedView, axis: int) -> bool:
    """Whether a hidden edge of a side view runs into the plate from one of its faces and not through it."""
    point, depth = side.view.frame.point, _extent(side, axis)
    for line in side.view.lines:
        if line.role is Role.HIDDEN:
            along, off = (abs(a - b) for a, b in zip(*(point(end) for end in (line.start, line.end)), strict=True))
            run, rise = (along, off) if axis == 0 else (off, along)
            if rise < run < THROUGH_SHARE * depth:
                return True
    return False


def _depth_axis(face: Polygon, side: SolvedView) -> int | None:
    """The axis along which a side view shows the depth of a face that is as wide or as high and level with it."""
    left, low, right, high = face.bounds
    other = polygon_of(side, outer_ring(side)).bounds
    if _same_span((low, high), (other[1], other[3])):
        return 0
    return 1 if _same_span((left, right), (other[0], other[2])) else None


def _same_span(one: tuple[float, float], other: tuple[float, float]) -> bool:
    length, other_length = one[1] - one[0], other[1] - other[0]
    apart = abs(sum(one) - sum(other)) / 2
    return abs(length - other_length) <= SAME * length and apart <= LEVEL_SHARE * length
