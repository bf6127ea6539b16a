"""Plates: a face of one thickness, which a side view that stands level with it gives, or a person."""

from collections.abc import Sequence

from shapely import Polygon

from digitize.redraw.solid_shape import THROUGH, Missing, Prism, SolidPlan
from digitize.redraw.solved import SolvedView
from digitize.redraw.view_outlines import (
    SAME,
    among,
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

LEVEL_SHARE = 0.02  # of their length: level views' middles lie no further apart, whatever the frames' own scales do


def plate(views: Sequence[SolvedView], thickness_mm: float | None) -> SolidPlan | Missing:
    """A plate whose face is the view with the most outlines; or what is missing."""
    face = max(
        views,
        key=lambda each: (len(each.profile.rings), not rectangular(each), polygon_of(each, outer_ring(each)).area),
    )
    if (edges := unclosed_edges(face)) is not None:
        return Missing(edges)
    inner = [ring for ring in face.profile.rings if ring.within is not None]
    if nested(face, inner):
        return Missing(f"view {face.view.name} has outlines within outlines: bosses or counterbores of unknown depth")
    height = _thickness(face, [each for each in views if each is not face], thickness_mm, "the plate")
    if isinstance(height, Missing):
        return height
    notes = (*loose_notes([face]), *hidden_notes(views), *((THROUGH,) if inner else ()))
    holes = tuple(ring_corners(face.profile, ring) for ring in inner)
    return SolidPlan("plate", Prism(ring_corners(face.profile, outer_ring(face)), height), holes=holes, notes=notes)


def _thickness(face: SolvedView, others: Sequence[SolvedView], given_mm: float | None, of: str) -> float | Missing:
    """Thickness by a side view that stands level with the face, or as given; Missing where neither settles it."""
    sides = [
        (each, found) for each in others if (found := _depth(polygon_of(face, outer_ring(face)), each)) is not None
    ]
    stepped = [each for each, _ in sides if not rectangular(each)]
    if stepped:
        return Missing(f"view {stepped[0].view.name} shows that {of} has not one thickness")
    hollow = [each for each, depth in sides if not _cut_through(each, depth)]
    if hollow:
        return Missing(f"the section in view {hollow[0].view.name} shows pockets or steps within {of}")
    told = [depth for each, depth in sides if settled(each)]
    if not told:
        return given_mm if given_mm is not None else Missing(f"no agreed figure gives the thickness of {of}", True)
    if max(told) - min(told) > SAME * max(told):
        return Missing(f"two views give {of} different thicknesses")
    if given_mm is not None and abs(given_mm - told[0]) > SAME * told[0]:
        return Missing(f"the thickness given, {given_mm:.3f} mm, is not that of the print, {told[0]:.3f} mm")
    return told[0]


def _depth(face: Polygon, side: SolvedView) -> float | None:
    """How deep a side view shows a face that is as wide or as high and stands level with it."""
    left, low, right, high = face.bounds
    other = polygon_of(side, outer_ring(side)).bounds
    if _same_span((low, high), (other[1], other[3])):
        return float(other[2] - other[0])
    return float(other[3] - other[1]) if _same_span((left, right), (other[0], other[2])) else None


def _cut_through(side: SolvedView, depth: float) -> bool:
    """Whether all faces that a section cuts go through the whole thickness, as holes right through leave them."""
    for ring in side.profile.cuts:
        shape = polygon_of(side, ring)
        left, low, right, high = shape.bounds
        plain = abs((right - left) * (high - low) - shape.area) <= SAME * shape.area
        if not plain or not (among(right - left, [depth]) or among(high - low, [depth])):
            return False
    return True


def _same_span(one: tuple[float, float], other: tuple[float, float]) -> bool:
    length, other_length = one[1] - one[0], other[1] - other[0]
    apart = abs(sum(one) - sum(other)) / 2
    return abs(length - other_length) <= SAME * length and apart <= LEVEL_SHARE * length
