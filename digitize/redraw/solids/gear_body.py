"""The body of a spur gear: its true teeth as wide as a side view says, or within the turned body of one with a hub."""

import math
from collections.abc import Sequence
from dataclasses import replace

from digitize.dimensions.table import Reconciled
from digitize.redraw.planes.outline import Ring
from digitize.redraw.report import OutlineKind
from digitize.redraw.solids.gear_bands import banded
from digitize.redraw.solids.gear_side import face_width, gear_side, side_doubt, untold
from digitize.redraw.solids.solid_shape import THROUGH, Asked, Corners, Missing, Prism, SolidPlan, Turned, flat
from digitize.redraw.solids.view_outlines import (
    about,
    area_off_mm2,
    hidden_notes,
    loose_notes,
    nested,
    outer_ring,
    polygon_of,
    rectangular,
    ring_corners,
    unclosed_edges,
)
from digitize.redraw.solving.body_sizes import BodySizes
from digitize.redraw.solving.solved import Part, SolvedView
from digitize.strokes.primitives import Point

RIM = 0.02  # of the root radius: rings nearer to it are the drawn root circle


def gear_body(part: Part, views: Sequence[SolvedView], reconciled: Reconciled, sizes: BodySizes) -> SolidPlan | Missing:
    """The gear with the body that its views show; or what is missing."""
    if not part.gear.proven:
        return Missing("the gear's teeth are unproven")
    teeth = next(each for each in part.curves if each.kind is OutlineKind.GEAR)
    face = next((each for each in views if each.view.name == part.gear.view), None)
    centre = teeth.middle
    corners = zip(teeth.outline.points.tolist(), teeth.outline.bulges.tolist(), strict=True)
    outer = about([(x, y, bulge) for (x, y), bulge in corners], centre)
    side = gear_side(part, [each for each in views if each is not face])
    if face is None and side is None and views:
        return Missing("neither of the print's views is the gear's face or its side")
    stepped = side is not None and not rectangular(side.view)
    rings, steps = ((), ()) if face is None else _within_teeth(part, face, centre)
    holes = _bore(part, centre) if face is None else tuple(about(ring_corners(face.profile, r), centre) for r in rings)
    used = [each for each in (face, None if side is None else side.view) if each is not None]
    if (edges := _unclosed(part, face, used)) is not None:
        return Missing(edges)
    notes = (*((THROUGH,) if holes else ()), *loose_notes(used), *hidden_notes(used))
    bored = 0.0 if face is None else area_off_mm2(face, rings)
    plan = SolidPlan("spur gear", holes=holes, notes=notes)
    if side is not None and (doubt := side_doubt(part, side, used, reconciled, sizes)) is not None:
        return doubt
    if side is not None and stepped:
        body = Turned((side.laid(ring_corners(side.view.profile, outer_ring(side.view))),))
        zs = [z for z, _ in flat(body.faces[0])]
        body_off = area_off_mm2(side.view, [outer_ring(side.view)])
        off = math.hypot(math.pi * max(side.radii()) * body_off, bored * (max(zs) - min(zs)))
        return replace(plan, prism=Prism(outer, None), turned=body, off_mm3=off, asked=untold(side, sizes))
    if face is not None and steps and side is not None:
        return Missing(f"view {face.view.name} shows a hub or web whose thickness no view gives")
    if face is not None and steps:
        assert part.gear.spec is not None
        begun = replace(plan, prism=Prism(outer, None), off_mm3=bored * (sizes.hub or 0.0))
        return banded(begun, face, steps, centre, part.gear.spec, sizes)
    height = sizes.thickness or face_width(side)
    if height is None:
        return Missing("no agreed figure gives the width of the gear's face", (Asked.THICKNESS,))
    return replace(plan, prism=Prism(outer, height), off_mm3=bored * height)


def _unclosed(part: Part, face: SolvedView | None, used: Sequence[SolvedView]) -> str | None:
    """Why the views don't show the whole body: an outline that does not close, in a face or round a side."""
    partial = [each for each in used if each.profile.partial]
    if partial:
        return f"the outer outline of view {partial[0].view.name} does not close"
    return None if face is None else unclosed_edges(face, part.gear)


def _bore(part: Part, centre: Point) -> tuple[Corners, ...]:
    """The bore of a gear whose face is not drawn."""
    inner = [each.outline for each in part.curves if each.kind is OutlineKind.INNER]
    return tuple(
        about([(x, y, b) for (x, y), b in zip(o.points.tolist(), o.bulges.tolist(), strict=True)], centre)
        for o in inner
    )


def _within_teeth(part: Part, face: SolvedView, centre: Point) -> tuple[list[Ring], list[Ring]]:
    """What goes through the gear within its root, bore, keyseat and lightening holes; and the steps of hub and web
    round it, the widest first."""
    assert part.gear.spec is not None
    root = part.gear.spec.root_radius_mm
    rings = [
        ring
        for ring in face.profile.rings
        if max(math.dist(point, centre) for point in polygon_of(face, ring).exterior.coords) < root * (1 - RIM)
    ]
    steps = []
    while nested(face, rings):
        steps.append(max(rings, key=lambda ring: polygon_of(face, ring).area))
        rings.remove(steps[-1])
    return rings, steps
