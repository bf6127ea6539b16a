"""Turned parts: a side view that is symmetric about its centre line, each step of which something says is round."""

import math
from collections.abc import Sequence

from shapely import Point as Spot

from digitize.dimensions.table import Reconciled
from digitize.redraw.planes import outline
from digitize.redraw.planes.plane_strokes import Axis
from digitize.redraw.solids.section_halves import round_hole, turned_faces
from digitize.redraw.solids.shaft_keyseat import keyseat_slot
from digitize.redraw.solids.solid_shape import THROUGH, Corners, Missing, Slot, SolidPlan, Turned, flat
from digitize.redraw.solids.spindle import (
    Spindle,
    called_radii,
    given_radii,
    hidden_bore,
    radii_of,
    round_radii,
    spindle_of,
)
from digitize.redraw.solids.view_outlines import (
    PAIR_MM,
    SAME,
    about,
    among,
    area_off_mm2,
    hidden_notes,
    loose_note,
    lost_chamfer,
    nested,
    outer_ring,
    polygon_of,
    ring_corners,
    settled,
    unclosed_edges,
)
from digitize.redraw.solving.solved import SolvedView


def turned_part(views: Sequence[SolvedView], reconciled: Reconciled) -> SolidPlan | Missing | None:
    """None where no view looks turned at all."""
    sides = [(each, found) for each in views if not outer_ring(each).circle and (found := spindle_of(each)) is not None]
    doubts = []
    for side, spindle in sorted(sides, key=lambda one: -len(one[0].profile.cuts)):
        others = [each for each in views if each is not side]
        known = round_radii(spindle, others, reconciled)
        called = called_radii(spindle, reconciled)
        slack = PAIR_MM * side.view.frame.paper_mm
        unproven = [r for r in spindle.radii() if not among(r, known) and all(abs(r - each) > slack for each in called)]
        if not unproven and spindle.radii():
            return _turned(spindle, others, reconciled)
        if any(among(r, known) for r in spindle.radii()):
            doubts.append(
                f"nothing says that the step {2 * unproven[0]:.3f} mm across in view {side.view.name} is round"
            )
    return Missing(doubts[0]) if doubts else None


def _turned(spindle: Spindle, others: Sequence[SolvedView], reconciled: Reconciled) -> SolidPlan | Missing:
    face = next((each for each in others if outer_ring(each).circle), None)
    holes = () if face is None else _face_holes(face)
    if isinstance(holes, Missing):
        return holes
    faces = _turned_faces(spindle, holes, face is not None and _has_keyseat(face))
    if isinstance(faces, Missing):
        return faces
    name = spindle.view.view.name
    if (lost := lost_chamfer(spindle.view, reconciled)) is not None:
        return Missing(lost)
    if not spindle.view.profile.cuts and (begun := unclosed_edges(spindle.view, across=Axis(spindle.axis))) is not None:
        return Missing(begun)
    slots = () if spindle.view.profile.cuts else _slots(spindle, others, reconciled)
    if isinstance(slots, Missing):
        return slots
    if not spindle.view.profile.cuts and (bore := hidden_bore(spindle)) is not None:
        across = 2 * bore
        return Missing(f"view {name} has a bore about {across:.1f} mm wide in hidden edges: how deep it is is not told")
    if face is not None and (step := _unexplained_step(face, radii_of(faces))) is not None:
        return Missing(f"how deep the circle {2 * step:.3f} mm across in view {face.view.name} goes is not told")
    told = [*given_radii(spindle, reconciled), *_told_circles(others)]
    scaled = [] if _all_told(spindle, faces, told) else [spindle.view]
    scaled += [] if face is None or _holes_told(face) else [face]
    notes = (*map(loose_note, scaled), *hidden_notes([spindle.view]), *((THROUGH,) if holes else ()))
    off = _off(spindle, faces, scaled)
    return SolidPlan("turned part", turned=Turned(faces), holes=holes, notes=notes, slots=slots, off_mm3=off)


def _off(spindle: Spindle, faces: Sequence[Corners], scaled: Sequence[SolvedView]) -> float:
    """How far the volume may be off at most for what is scaled in the spindle's view, and in that of its face."""
    zs, radii = zip(*(point for each in faces for point in flat(each)), strict=True)
    turn, length = math.pi * max(radii), max(zs) - min(zs)
    return math.hypot(*(area_off_mm2(each) * (turn if each is spindle.view else length) for each in scaled))


def _slots(spindle: Spindle, others: Sequence[SolvedView], reconciled: Reconciled) -> tuple[Slot, ...] | Missing:
    """The keyseat that a turned side shows, if any."""
    view = spindle.view
    inner = [ring for ring in view.profile.rings if ring.within is not None]
    if len(inner) > 1:
        return Missing(f"view {view.view.name} shows more than one outline on the turned side, as of keyseats")
    outer = spindle.laid(ring_corners(view.profile, outer_ring(view)))
    laid = [spindle.laid(ring_corners(view.profile, ring)) for ring in inner]
    found = [keyseat_slot(view, outer, each, others, reconciled) for each in laid]
    missing = [each for each in found if isinstance(each, Missing)]
    return missing[0] if missing else tuple(each for each in found if isinstance(each, Slot))


def _all_told(spindle: Spindle, faces: Sequence[Corners], told: Sequence[float]) -> bool:
    """Whether figures settle all that is turned: the whole view, or its outline and every radius, with no shoulder but
    at the outline's own."""
    if all(spindle.view.profile.determined):
        return True
    outer = spindle.laid(ring_corners(spindle.view.profile, outer_ring(spindle.view)))
    if not spindle.view.profile.cuts and any(ring.within is not None for ring in spindle.view.profile.rings):
        return False  # where its keyseat stands is not told
    ends = [z for z, _, _ in outer]
    on_outline = all(any(abs(z - each) <= SAME for each in ends) for face in faces for z, _, _ in face)
    return settled(spindle.view) and on_outline and all(among(r, told) for r in radii_of(faces))


def _told_circles(others: Sequence[SolvedView]) -> list[float]:
    """Radii of circular outlines that figures settle."""
    return [
        outline.ring_circle(view.profile.plane, ring).radius
        for view in others
        for ring, told in zip(view.profile.rings, view.profile.determined, strict=False)
        if told and ring.circle
    ]


def _holes_told(face: SolvedView) -> bool:
    """Whether figures settle each outline of a face that is cut from the turned part."""
    shape = face.profile
    inner = [(ring, told) for ring, told in zip(shape.rings, shape.determined, strict=False) if ring.within is not None]
    return all(told for ring, told in inner if _about_centre(face, ring) is None)


def _has_keyseat(face: SolvedView) -> bool:
    """Whether a round face has an outline about its centre that is no circle; it is cut from the solid by itself."""
    centre = outline.ring_circle(face.profile.plane, outer_ring(face)).centre
    inner = [ring for ring in face.profile.rings if ring.within is not None and not ring.circle]
    return any(polygon_of(face, ring).contains(Spot(centre)) for ring in inner)


def _turned_faces(spindle: Spindle, holes: Sequence[Corners], keyseat: bool) -> tuple[Corners, ...] | Missing:
    """Faces to turn: those that a section cuts, else all within the outline."""
    shape, view = spindle.view.profile, spindle.view.view
    outer = spindle.laid(ring_corners(shape, outer_ring(spindle.view)))
    if not shape.cuts:
        return (outer,)
    cuts = [spindle.laid(ring_corners(shape, ring)) for ring in shape.cuts]
    beside = [found for each in holes if (found := round_hole(each)) is not None]
    return turned_faces(outer, cuts, beside, keyseat, PAIR_MM * view.frame.paper_mm, str(view.name))


def _about_centre(face: SolvedView, ring: outline.Ring) -> float | None:
    """Radius of a circle about the face's centre; None of any other ring."""
    centre = outline.ring_circle(face.profile.plane, outer_ring(face)).centre
    circle = outline.ring_circle(face.profile.plane, ring) if ring.circle else None
    return circle.radius if circle is not None and math.dist(circle.centre, centre) <= SAME else None


def _unexplained_step(face: SolvedView, radii: Sequence[float]) -> float | None:
    """Radius of a circle about a face's centre that the turned profile has not, give or take the pen's error where no
    figure gives it."""
    slack = PAIR_MM * face.view.frame.paper_mm
    for ring, told in zip(face.profile.rings, face.profile.determined, strict=False):
        radius = _about_centre(face, ring) if ring.within is not None else None
        if radius is not None and not among(radius, radii) and (told or all(abs(radius - r) > slack for r in radii)):
            return radius
    return None


def _face_holes(face: SolvedView) -> tuple[Corners, ...] | Missing:
    """Outlines within a round face but circles about its centre, which are steps; moved to the centre."""
    centre = outline.ring_circle(face.profile.plane, outer_ring(face)).centre
    rings = face.profile.rings
    holes = [ring for ring in rings if ring.within is not None and _about_centre(face, ring) is None]
    if nested(face, holes):
        return Missing(f"view {face.view.name} has holes within holes: how deep each goes is not told")
    return tuple(about(ring_corners(face.profile, ring), centre) for ring in holes)
