"""Halves of a turned part's section: what the section plane cuts, made whole where it passes through a hole.

Glossary
--------
half
    What lies on one side of the axis, in (z, radius), the radius counted upwards.
gap
    What a half's outline holds, the section plane does not cut, and no bore reaches from the axis.
"""

import math
from collections.abc import Sequence

from shapely import LineString, Polygon, box, unary_union
from shapely.geometry.polygon import orient

from digitize.redraw.solids.solid_shape import Corners, Missing, flat, turned_volume
from digitize.redraw.solids.view_outlines import SAME

Round = tuple[float, float]
"""A hole of the face: how far its centre lies from the axis, and its radius."""


def round_hole(corners: Corners) -> Round | None:
    """A hole as a circle beside the axis, which is the origin; None where it is no circle."""
    if len(corners) != 2 or any(bulge != 1.0 for _, _, bulge in corners):
        return None
    (x0, y0, _), (x1, y1, _) = corners
    return math.hypot(x0 + x1, y0 + y1) / 2, math.dist((x0, y0), (x1, y1)) / 2


def whole_half(
    outer: Corners, cuts: Sequence[Corners], holes: Sequence[Round], slack_mm: float, name: str
) -> tuple[Corners, ...] | Missing:
    """The cut faces of the half above the axis, and across each hole that the section runs through what stands beside
    it round the axis.

    Parameters
    ----------
    outer : Corners
        Outline of the section about its axis.
    cuts : sequence of Corners
        Faces that it cuts, those of this half.
    holes : sequence of Round
        Holes of the face that stand beside the axis.
    slack_mm : float
        How far the edges of a hole may lie from where the face has them, in mm of part.
    name : str
        Of the view.
    """
    outline = Polygon(flat(outer))
    left, _, right, top = outline.bounds
    half = outline.intersection(box(left, 0.0, right, top))
    void = half.difference(unary_union([Polygon(flat(each)) for each in cuts]))
    pieces = getattr(void, "geoms", (void,))
    gaps = [each for each in pieces if each.area > SAME * half.area and each.bounds[1] > SAME * top]
    for gap in gaps:
        first, low, last, high = gap.bounds
        middle, radius = (low + high) / 2, (high - low) / 2
        if not any(abs(middle - at) <= slack_mm and abs(radius - size) <= slack_mm for at, size in holes):
            return Missing(
                f"the section in view {name} leaves out what lies {2 * low:.3f} to {2 * high:.3f} mm across, and no "
                "hole of a face explains it"
            )
        through = half.intersection(LineString([(left, middle), (right, middle)])).length
        whole = (last - first) * (high - low)
        if abs(whole - gap.area) > SAME * whole or abs(last - first - through) > SAME * through:
            return Missing(f"the section in view {name} shows a hole that does not go straight through: it is not made")
    return _joined((*cuts, *(_corners(box(*each.bounds)) for each in gaps))) if gaps else tuple(cuts)


def _joined(faces: tuple[Corners, ...]) -> tuple[Corners, ...]:
    """Faces that touch as one, where they are of straight edges."""
    whole = unary_union([Polygon(flat(each)) for each in faces])
    arcs = any(bulge for each in faces for _, _, bulge in each)
    return faces if arcs or not isinstance(whole, Polygon) or whole.interiors else (_corners(whole),)


def _corners(shape: Polygon) -> Corners:
    return tuple((z, r, 0.0) for z, r in orient(shape).exterior.coords[:-1])


def turned_faces(
    outer: Corners, cuts: Sequence[Corners], holes: Sequence[Round], keyseat: bool, slack_mm: float, name: str
) -> tuple[Corners, ...] | Missing:
    """Faces to turn: of two halves that are alike the upper one; beside a keyseat, which one half lacks, the fuller."""
    halves: list[tuple[Corners, ...]] = []
    for outline, faces in ((outer, cuts), (flipped(outer), [flipped(each) for each in cuts])):
        mine = [each for each in faces if max(r for _, r in flat(each)) > SAME]
        if mine:
            half = whole_half(outline, mine, holes, slack_mm, name)
            if isinstance(half, Missing):
                return half
            halves.append(half)
    volumes = [sum(map(turned_volume, each)) for each in halves]
    if not keyseat and max(volumes) - min(volumes) > SAME * max(volumes):
        return Missing(f"the two halves of the section in view {name} differ")
    return halves[volumes.index(max(volumes))]


def flipped(face: Corners) -> Corners:
    """The face on the other side of the axis, still counter-clockwise."""
    following = [*face[1:], face[0]]
    back = [(z, -r, face[index][2]) for index, (z, r, _) in enumerate(following)]
    return tuple(reversed(back))
