"""The body of a spur gear: its true teeth as wide as a side view says, or within the turned body of one with a hub."""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from shapely import LineString, Polygon, box

from digitize.dimensions.table import Reconciled
from digitize.lettering.text import Unit
from digitize.redraw.report import OutlineKind
from digitize.redraw.solids.solid_shape import THROUGH, Corners, Missing, Prism, SolidPlan, Turned, flat
from digitize.redraw.solids.spindle import Spindle, round_radii, spindle_of
from digitize.redraw.solids.view_outlines import (
    PAIR_MM,
    SAME,
    about,
    among,
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
from digitize.redraw.solving.solved import Part, SolvedView
from digitize.redraw.writing.figure_words import MOST_LISTED, scaled_words
from digitize.strokes.primitives import Point

OUTSIDE = 0.02  # relative: a side view this near to the gear's outside is its side
RIM = 0.02  # of the root radius: rings nearer to it are the drawn root circle


def gear_body(
    part: Part, views: Sequence[SolvedView], reconciled: Reconciled, thickness_mm: float | None
) -> SolidPlan | Missing:
    """The gear with the body that its views show; or what is missing."""
    if not part.gear.proven:
        return Missing("the gear's teeth are unproven")
    teeth = next(each for each in part.curves if each.kind is OutlineKind.GEAR)
    face = next((each for each in views if each.view.name == part.gear.view), None)
    centre = teeth.middle
    corners = zip(teeth.outline.points.tolist(), teeth.outline.bulges.tolist(), strict=True)
    outer = about([(x, y, bulge) for (x, y), bulge in corners], centre)
    side = _gear_side(part, [each for each in views if each is not face])
    if face is None and side is None and views:
        return Missing("neither of the print's views is the gear's face or its side")
    stepped = side is not None and not rectangular(side.view)
    holes = _gear_holes(part, face, centre, stepped)
    if isinstance(holes, Missing):
        return holes
    used = [each for each in (face, None if side is None else side.view) if each is not None]
    if (edges := _unclosed(part, face, used)) is not None:
        return Missing(edges)
    notes = (*((THROUGH,) if holes else ()), *loose_notes(used), *hidden_notes(used))
    bored = 0.0 if face is None else area_off_mm2(face, inner=True)
    plan = SolidPlan("spur gear", holes=holes, notes=notes)
    if side is not None and (doubt := _side_doubt(part, side, used, reconciled)):
        return Missing(doubt)
    if side is not None and stepped:
        body = Turned((side.laid(ring_corners(side.view.profile, outer_ring(side.view))),))
        zs = [z for z, _ in flat(body.faces[0])]
        off = math.hypot(math.pi * max(side.radii()) * area_off_mm2(side.view), bored * (max(zs) - min(zs)))
        return replace(plan, prism=Prism(outer, None), turned=body, off_mm3=off)
    drawn = _face_width(side)
    if drawn is not None and thickness_mm is not None and abs(drawn - thickness_mm) > SAME * drawn:
        return Missing(f"the thickness given, {thickness_mm:.3f} mm, is not that of the print, {drawn:.3f} mm")
    height = drawn if drawn is not None else thickness_mm
    if height is None:
        return Missing("no agreed figure gives the width of the gear's face", True)
    return replace(plan, prism=Prism(outer, height), off_mm3=bored * height)


def _unclosed(part: Part, face: SolvedView | None, used: Sequence[SolvedView]) -> str | None:
    """Why the views don't show the whole body: an outline that does not close, in a face or round a side."""
    partial = [each for each in used if each.profile.partial]
    if partial:
        return f"the outer outline of view {partial[0].view.name} does not close"
    return None if face is None else unclosed_edges(face, part.gear)


def _side_doubt(part: Part, side: Spindle, used: Sequence[SolvedView], reconciled: Reconciled) -> str:
    """Why a gear's side view does not tell its body; empty where it does."""
    assert part.gear.spec is not None
    name = side.view.view.name
    if not rectangular(side.view):
        if not side.view.profile.area_std_mm2:
            return f"it is open whether the hub or web in view {name} is the gear's"
        if not settled(side.view) and not _thick_as_told(side):
            lengths = ", ".join(scaled_words(each, Unit.MM) for each in side.view.profile.scaled[:MOST_LISTED])
            told = f": {lengths}" if lengths else ""
            return f"the hub or web in view {name} has a thickness that no agreed figure gives{told}"
        known = [part.gear.spec.tip_radius_mm, *round_radii(side, used, reconciled)]
        slack = 0.0 if settled(side.view) else PAIR_MM * side.view.view.frame.paper_mm
        unproven = [r for r in side.radii() if not among(r, known) and all(abs(r - each) > slack for each in known)]
        if unproven:
            return f"nothing says that the step {2 * unproven[0]:.3f} mm across in view {name} is round"
    return "" if _full_section(side) else f"the section in view {name} shows a web or recesses; these are not made"


def _thick_as_told(side: Spindle) -> bool:
    """Whether figures give how thick hub and web are, though where the web stands along the axis is scaled."""
    along = "width" if side.axis == 0 else "height"
    free = [each for each in side.view.profile.scaled if each.what == along]
    if not free:
        return True
    ends = ((each.first, each.second) for each in side.view.profile.ends.values())
    told = [abs(b[side.axis] - a[side.axis]) for a, b in ends if abs(b[1 - side.axis] - a[1 - side.axis]) <= SAME]
    body = Polygon(flat(side.laid(ring_corners(side.view.profile, outer_ring(side.view)))))
    left, _, right, top = body.bounds
    steps = sorted({r for r in side.radii() if r < top})
    middles = [(low + high) / 2 for low, high in pairwise([*steps, top])]
    web = min((body.intersection(LineString([(left, r), (right, r)])).length for r in middles), default=right - left)
    return len(free) == 1 and among(web, told) and among(right - left, told)


def _full_section(side: Spindle) -> bool:
    """Whether the faces that a section cuts leave nothing out between bore and root; true where none is cut.

    The teeth are never hatched, so the cut faces end at the root; a keyseat leaves one half smaller.
    """
    shape = side.view.profile
    body = Polygon(flat(side.laid(ring_corners(shape, outer_ring(side.view)))))
    faces = [Polygon(flat(side.laid(ring_corners(shape, ring)))) for ring in shape.cuts]
    for sign in (1, -1):
        mine = [each for each in faces if sign * each.centroid.y > 0]
        if not mine:
            continue
        heights = [y for each in mine for y in (each.bounds[1], each.bounds[3])]
        left, _, right, _ = body.bounds
        band = body.intersection(box(left, min(heights), right, max(heights)))
        if abs(band.area - sum(each.area for each in mine)) <= SAME * band.area:
            return True
    return not faces


def _gear_side(part: Part, others: Sequence[SolvedView]) -> Spindle | None:
    """The side view or section that is as high as the gear's outside."""
    assert part.gear.spec is not None
    across = 2 * part.gear.spec.tip_radius_mm
    for each in others:
        spindle = spindle_of(each)
        if spindle is None:
            continue
        low, lower, high, upper = polygon_of(each, outer_ring(each)).bounds
        height = upper - lower if spindle.axis == 0 else high - low
        if abs(height - across) <= OUTSIDE * across:
            return spindle
    return None


def _face_width(side: Spindle | None) -> float | None:
    if side is None or not settled(side.view):
        return None
    bounds = polygon_of(side.view, outer_ring(side.view)).bounds
    return float(bounds[2 + side.axis] - bounds[side.axis])


def _gear_holes(part: Part, face: SolvedView | None, centre: Point, stepped: bool) -> tuple[Corners, ...] | Missing:
    """What lies within the gear's root: bore, keyseat, lightening holes."""
    if face is None:
        inner = [each.outline for each in part.curves if each.kind is OutlineKind.INNER]
        return tuple(
            about([(x, y, b) for (x, y), b in zip(o.points.tolist(), o.bulges.tolist(), strict=True)], centre)
            for o in inner
        )
    assert part.gear.spec is not None
    root = part.gear.spec.root_radius_mm
    rings = [
        ring
        for ring in face.profile.rings
        if max(math.dist(point, centre) for point in polygon_of(face, ring).exterior.coords) < root * (1 - RIM)
    ]
    while stepped and nested(face, rings):
        # The side view or section shows hub and web; of rings round one centre the innermost alone goes through.
        rings.remove(max(rings, key=lambda ring: polygon_of(face, ring).area))
    if nested(face, rings):
        return Missing(f"view {face.view.name} shows a hub or web whose thickness no view gives")
    return tuple(about(ring_corners(face.profile, ring), centre) for ring in rings)
