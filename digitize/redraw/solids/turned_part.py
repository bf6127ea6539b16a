"""Turned parts: a side view that is symmetric about its centre line, each step of which something says is round."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import Point as Spot
from shapely.affinity import scale as stretched

from digitize.dimensions.table import Reconciled, State
from digitize.lettering.text import Kind
from digitize.redraw.dxf import Corner
from digitize.redraw.planes import outline
from digitize.redraw.solids.solid_shape import THROUGH, Corners, Missing, SolidPlan, Turned, flat, turned_volume
from digitize.redraw.solids.view_outlines import (
    SAME,
    about,
    among,
    hidden_notes,
    loose_notes,
    nested,
    outer_ring,
    polygon_of,
    ring_corners,
)
from digitize.redraw.solving.solved import SolvedView
from digitize.strokes.primitives import Role

PAIR_MM = 0.5  # of paper: a bore's two hidden edges lie as far from the axis, by a pen's errors
ROOT_SHARE = 0.7  # of the least radius: a thread's root lies further out (ISO 68-1 and ASME B1.1: 0.7 from M2.5 up)
ROUND = (Kind.DIAMETER, Kind.THREAD)  # figures of what is round: a thread's is its diameter over the crests


@dataclass(frozen=True)
class Spindle:
    """A side view that is symmetric about a level or upright centre line; ``axis`` is 0 where this runs along x."""

    view: SolvedView
    axis: int
    middle: float

    def laid(self, corners: Sequence[Corner]) -> Corners:
        """Corners in (z, radius), counter-clockwise."""
        if self.axis == 0:
            return tuple((x, y - self.middle, bulge) for x, y, bulge in corners)
        return tuple((y, self.middle - x, bulge) for x, y, bulge in corners)

    def radii(self) -> list[float]:
        """Distances from the centre line of the outline's edges along it."""
        return _radii([self.laid(ring_corners(self.view.profile, outer_ring(self.view)))])


def _radii(faces: Sequence[Corners]) -> list[float]:
    """Distances from the axis of the faces' edges along it, above it."""
    found: list[float] = []
    for corners in faces:
        for (z, r, bulge), (next_z, next_r, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
            if not bulge and abs(next_r - r) <= SAME * abs(r) and abs(next_z - z) > SAME and r > SAME:
                found.append(r)
    return found


def spindle_of(view: SolvedView) -> Spindle | None:
    """The view about the centre line in which its outline is symmetric; None without one."""
    shape = polygon_of(view, outer_ring(view))
    for start, end in view.profile.centre_lines:
        axis = 0 if abs(end[0] - start[0]) > abs(end[1] - start[1]) else 1
        middle = start[1 - axis]
        mirrored = stretched(shape, -1 if axis else 1, 1 if axis else -1, origin=(middle, middle))
        if shape.symmetric_difference(mirrored).area <= SAME * shape.area:
            return Spindle(view, axis, middle)
    return None


def turned_part(views: Sequence[SolvedView], reconciled: Reconciled) -> SolidPlan | Missing | None:
    """None where no view looks turned at all."""
    sides = [(each, found) for each in views if not outer_ring(each).circle and (found := spindle_of(each)) is not None]
    doubts = []
    for side, spindle in sorted(sides, key=lambda one: -len(one[0].profile.cuts)):
        others = [each for each in views if each is not side]
        known = round_radii(spindle, others, reconciled)
        unproven = [r for r in spindle.radii() if not among(r, known)]
        if not unproven and spindle.radii():
            return _turned(spindle, others)
        if any(among(r, known) for r in spindle.radii()):
            doubts.append(
                f"nothing says that the step {2 * unproven[0]:.3f} mm across in view {side.view.name} is round"
            )
    return Missing(doubts[0]) if doubts else None


def round_radii(spindle: Spindle, others: Sequence[SolvedView], reconciled: Reconciled) -> list[float]:
    """Radii that a diameter across the side view, or a circle of another view, says are round."""
    ends = spindle.view.profile.ends
    across = 1 - spindle.axis
    found = []
    for each in reconciled.dimensions:
        if each.kind in ROUND and each.state is State.AGREED and each.id in ends:
            first, second = ends[each.id].first, ends[each.id].second
            if abs((first[across] + second[across]) / 2 - spindle.middle) <= SAME * math.dist(first, second):
                found.append(math.dist(first, second) / 2)
    for view in others:
        visible = {index for index, arc in view.view.arcs if arc.role is Role.VISIBLE}
        found += [circle.radius for index, circle in view.profile.circles.items() if index in visible and circle.full]
    return found


def _turned(spindle: Spindle, others: Sequence[SolvedView]) -> SolidPlan | Missing:
    round_views = [each for each in others if outer_ring(each).circle]
    faces = _turned_faces(spindle, any(_has_keyseat(each) for each in round_views[:1]))
    if isinstance(faces, Missing):
        return faces
    name = spindle.view.view.name
    if not spindle.view.profile.cuts and any(ring.within is not None for ring in spindle.view.profile.rings):
        return Missing(f"view {name} shows an outline on the turned side, as of a keyseat: that is not made")
    if not spindle.view.profile.cuts and (bore := _hidden_bore(spindle)) is not None:
        across = 2 * bore
        return Missing(f"view {name} has a bore about {across:.1f} mm wide in hidden edges: how deep it is is not told")
    holes = _face_holes(round_views[0], _radii(faces)) if round_views else ()
    if isinstance(holes, Missing):
        return holes
    if holes and len(faces) > 1:
        # The section may run through a hole: what it parts there is whole elsewhere round the axis.
        return Missing(
            f"the section in view {name} is in parts, and holes stand round the axis: it may run through one"
        )
    used = [spindle.view, *round_views[:1]]
    notes = (*loose_notes(used), *(hidden_notes([spindle.view])), *((THROUGH,) if holes else ()))
    return SolidPlan("turned part", turned=Turned(faces), holes=holes, notes=notes)


def _hidden_bore(spindle: Spindle) -> float | None:
    """How far from the axis hidden edges run along it on both its sides, which is a bore; None without them.

    Those near the outside are a thread's root.
    """
    point, slack = spindle.view.view.frame.point, PAIR_MM * spindle.view.view.frame.paper_mm
    heights = []
    for line in spindle.view.view.lines:
        if line.role is Role.HIDDEN:
            (z0, r0, _), (z1, r1, _) = spindle.laid([(*point(end), 0.0) for end in (line.start, line.end)])
            if abs(r1 - r0) <= slack < abs(z1 - z0):
                heights.append((r0 + r1) / 2)
    most = ROOT_SHARE * min(spindle.radii(), default=0.0)
    return next((a for a in heights for b in heights if abs(a + b) <= slack < a < most), None)


def _has_keyseat(face: SolvedView) -> bool:
    """Whether a round face has an outline about its centre that is no circle; it is cut from the solid by itself."""
    centre = outline.ring_circle(face.profile.plane, outer_ring(face)).centre
    inner = [ring for ring in face.profile.rings if ring.within is not None and not ring.circle]
    return any(polygon_of(face, ring).contains(Spot(centre)) for ring in inner)


def _turned_faces(spindle: Spindle, keyseat: bool) -> tuple[Corners, ...] | Missing:
    """Faces to turn: those that a section cuts, else all within the outline; beside a keyseat, the fuller half."""
    shape = spindle.view.profile
    if not shape.cuts:
        return (spindle.laid(ring_corners(shape, outer_ring(spindle.view))),)
    laid = [spindle.laid(ring_corners(shape, ring)) for ring in shape.cuts]
    above = [each for each in laid if max(r for _, r in flat(each)) > SAME]
    below = [each for each in laid if min(r for _, r in flat(each)) < -SAME]
    up, down = sum(map(turned_volume, above)), sum(turned_volume(_flipped(each)) for each in below)
    if not keyseat and up and down and abs(up - down) > SAME * up:
        return Missing(f"the two halves of the section in view {spindle.view.view.name} differ")
    return tuple(above) if up >= down else tuple(map(_flipped, below))


def _flipped(face: Corners) -> Corners:
    """The face on the other side of the axis, still counter-clockwise."""
    following = [*face[1:], face[0]]
    back = [(z, -r, face[index][2]) for index, (z, r, _) in enumerate(following)]
    return tuple(reversed(back))


def _face_holes(face: SolvedView, radii: Sequence[float]) -> tuple[Corners, ...] | Missing:
    """Outlines of a round face that the turned profile has not: all but circles about its centre; moved to it."""
    shape = face.profile
    centre = outline.ring_circle(shape.plane, outer_ring(face)).centre
    holes: list[outline.Ring] = []
    for ring in shape.rings:
        circle = outline.ring_circle(shape.plane, ring) if ring.circle else None
        if ring.within is None:
            continue
        if circle is None or math.dist(circle.centre, centre) > SAME:
            holes.append(ring)
        elif not among(circle.radius, radii):
            across = 2 * circle.radius
            return Missing(f"how deep the circle {across:.3f} mm across in view {face.view.name} goes is not told")
    if nested(face, holes):
        return Missing(f"view {face.view.name} has holes within holes: how deep each goes is not told")
    return tuple(about(ring_corners(shape, ring), centre) for ring in holes)
