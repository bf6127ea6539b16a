"""What solid the redrawn views tell: a plate, a turned part or a spur gear; or which size is missing.

Nothing is made up: a thickness that no view settles is asked for, a step is turned only where a diameter or a circle
says that it is round, and rings within rings, which may be bosses or counterbores, are refused.

Glossary
--------
corner
    x, y and the bulge of the arc that leaves it, as in a DXF polyline.
prism
    An outline carried along z, with holes right through.
turned
    A profile in (z, radius) turned about the z axis.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shapely import Point as Spot
from shapely import Polygon, box
from shapely.affinity import scale as stretched

from digitize.dimensions.table import Reconciled, State
from digitize.lettering.text import Kind
from digitize.redraw import outline
from digitize.redraw.dxf import Corner, without_wide_arcs
from digitize.redraw.profile import Profile
from digitize.redraw.report import OutlineKind
from digitize.redraw.solved import Part, SolvedView
from digitize.strokes.primitives import Point, Role

SAME = 1e-6  # relative: lengths that the solution made one agree far better, others far worse
FINE_DEG = 0.1  # chord angle of arcs in the volume that the solid is checked against: wrong by 3e-7 of the arc's part

Corners = tuple[Corner, ...]


@dataclass(frozen=True)
class Prism:
    """An outline carried from z = 0 to ``height``; None, where it is as high as what it is cut from."""

    outer: Corners
    height: float | None


@dataclass(frozen=True)
class Turned:
    """Faces in (z, radius) to be turned about the z axis; what lies below radius 0 is left away."""

    faces: tuple[Corners, ...]


@dataclass(frozen=True)
class SolidPlan:
    """A solid: what ``prism`` and ``turned`` have in common, less ``holes`` right through along z.

    Attributes
    ----------
    what : str
        "plate", "turned part" or "spur gear".
    prism : Prism or None
    turned : Turned or None
    holes : tuple of Corners
    notes : tuple of str
        What a person must know before believing it.
    """

    what: str
    prism: Prism | None = None
    turned: Turned | None = None
    holes: tuple[Corners, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Missing:
    """Why there is no solid, as a sentence; ``thickness`` is True where that length would settle it."""

    why: str
    thickness: bool = False


THROUGH = "outlines within the face are taken as holes right through"


def plan_solid(part: Part, reconciled: Reconciled, thickness_mm: float | None) -> SolidPlan | Missing:
    """Decide what solid the views tell.

    Parameters
    ----------
    part : Part
    reconciled : Reconciled
    thickness_mm : float or None
        Of the plate or of the gear's face, as a person gave it.
    """
    views = [each for each in part.views if each.profile.rings]
    if part.gear.spec is not None and part.curves:
        return _gear(part, views, reconciled, thickness_mm)
    if not views:
        return Missing("no view has a closed outline")
    crowded = [each for each in views if sum(ring.within is None for ring in each.profile.rings) > 1]
    if crowded:
        return Missing(f"view {crowded[0].view.name} has more than one outer outline")
    partial = [each for each in views if each.profile.partial]
    if partial:
        return Missing(f"the outer outline of view {partial[0].view.name} does not close")
    turned = _turned_part(views, reconciled)
    return turned if turned is not None else _plate(views, thickness_mm)


def ring_corners(shape: Profile, ring: outline.Ring) -> Corners:
    """A ring as corners, counter-clockwise."""
    if ring.circle:
        circle = outline.ring_circle(shape.plane, ring)
        (x, y), radius = circle.centre, circle.radius
        return (x - radius, y, 1.0), (x + radius, y, 1.0)
    steps = ring.steps
    if outline.signed_area(shape.plane, steps) < 0:
        steps = tuple(outline.Step(step.piece, not step.forward) for step in reversed(steps))
    return tuple(without_wide_arcs(outline.bulged(shape.plane, steps)))


def flat(corners: Sequence[Corner], step_deg: float = FINE_DEG) -> list[Point]:
    """Corners as a polygon's points, arcs cut into chords.

    Examples
    --------
    >>> flat([(0.0, 0.0, 1.0), (2.0, 0.0, 0.0)], 90.0)
    [(0.0, 0.0), (1.0, -1.0), (2.0, 0.0)]
    """
    points: list[Point] = []
    for (x, y, bulge), (next_x, next_y, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
        start, end = complex(x, y), complex(next_x, next_y)
        sweep = 4 * math.atan(bulge)
        count = max(1, math.ceil(math.degrees(abs(sweep)) / step_deg)) if bulge else 1
        centre = (start + end) / 2 + 1j * (end - start) * (1 - bulge**2) / (4 * bulge) if bulge else start
        for k in range(count):
            turn = complex(math.cos(sweep * k / count), math.sin(sweep * k / count))
            at = centre + (start - centre) * turn if k else start
            points.append((round(at.real, 12), round(at.imag, 12)))
    return points


def volume_mm3(plan: SolidPlan) -> float | None:
    """Volume by area times height, or by Pappus; None where both shape the solid or a turned one has holes."""
    if plan.turned is not None:
        return None if plan.holes or plan.prism is not None else sum(map(_turned_volume, plan.turned.faces))
    assert plan.prism is not None
    assert plan.prism.height is not None
    area = Polygon(flat(plan.prism.outer)).area - sum(Polygon(flat(each)).area for each in plan.holes)
    return float(area) * plan.prism.height


def _turned_volume(face: Corners) -> float:
    """2 pi times the moment of the face's upper half about the axis."""
    shape = Polygon(flat(face))
    low, _, high, top = shape.bounds
    upper = shape.intersection(Polygon([(low, 0), (high, 0), (high, top), (low, top)]))
    return float(2 * math.pi * upper.area * upper.centroid.y) if upper.area else 0.0


def _outer(view: SolvedView) -> outline.Ring:
    return next(ring for ring in view.profile.rings if ring.within is None)


def _polygon(view: SolvedView, ring: outline.Ring) -> Polygon:
    return outline.ring_polygon(view.profile.plane, ring)


def _settled(view: SolvedView) -> bool:
    """Whether figures settle the view's outer outline."""
    return view.profile.determined[view.profile.rings.index(_outer(view))]


def _loose(views: Sequence[SolvedView]) -> tuple[str, ...]:
    return tuple(
        f"view {each.view.name} is partly scaled from the print, and the solid with it"
        for each in views
        if not all(each.profile.determined)
    )


def _hidden(views: Sequence[SolvedView]) -> tuple[str, ...]:
    return tuple(
        f"view {each.view.name} has hidden edges that the solid does not have"
        for each in views
        if any(line.role is Role.HIDDEN for line in each.view.lines)
    )


# ---- turned parts


@dataclass(frozen=True)
class _Spindle:
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
        return _radii([self.laid(ring_corners(self.view.profile, _outer(self.view)))])


def _radii(faces: Sequence[Corners]) -> list[float]:
    """Distances from the axis of the faces' edges along it, above it."""
    found: list[float] = []
    for corners in faces:
        for (z, r, bulge), (next_z, next_r, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
            if not bulge and abs(next_r - r) <= SAME * abs(r) and abs(next_z - z) > SAME and r > SAME:
                found.append(r)
    return found


def _spindle(view: SolvedView) -> _Spindle | None:
    shape = _polygon(view, _outer(view))
    for start, end in view.profile.centre_lines:
        axis = 0 if abs(end[0] - start[0]) > abs(end[1] - start[1]) else 1
        middle = start[1 - axis]
        mirrored = stretched(shape, -1 if axis else 1, 1 if axis else -1, origin=(middle, middle))
        if shape.symmetric_difference(mirrored).area <= SAME * shape.area:
            return _Spindle(view, axis, middle)
    return None


def _turned_part(views: Sequence[SolvedView], reconciled: Reconciled) -> SolidPlan | Missing | None:
    """None where no view looks turned at all."""
    sides = [(each, found) for each in views if not _outer(each).circle and (found := _spindle(each)) is not None]
    doubts = []
    for side, spindle in sorted(sides, key=lambda one: -len(one[0].profile.cuts)):
        others = [each for each in views if each is not side]
        round_radii = _round_radii(spindle, others, reconciled)
        unproven = [r for r in spindle.radii() if not _among(r, round_radii)]
        if not unproven and spindle.radii():
            return _turned(spindle, others)
        if any(_among(r, round_radii) for r in spindle.radii()):
            doubts.append(
                f"nothing says that the step {2 * unproven[0]:.3f} mm across in view {side.view.name} is round"
            )
    return Missing(doubts[0]) if doubts else None


def _among(length: float, lengths: Sequence[float]) -> bool:
    return any(abs(length - each) <= SAME * length for each in lengths)


def _round_radii(spindle: _Spindle, others: Sequence[SolvedView], reconciled: Reconciled) -> list[float]:
    """Radii that a diameter across the side view, or a circle of another view, says are round."""
    ends = spindle.view.profile.ends
    across = 1 - spindle.axis
    found = []
    for each in reconciled.dimensions:
        if each.kind is Kind.DIAMETER and each.state is State.AGREED and each.id in ends:
            first, second = ends[each.id].first, ends[each.id].second
            if abs((first[across] + second[across]) / 2 - spindle.middle) <= SAME * math.dist(first, second):
                found.append(math.dist(first, second) / 2)
    for view in others:
        visible = {index for index, arc in view.view.arcs if arc.role is Role.VISIBLE}
        found += [circle.radius for index, circle in view.profile.circles.items() if index in visible and circle.full]
    return found


def _turned(spindle: _Spindle, others: Sequence[SolvedView]) -> SolidPlan | Missing:
    round_views = [each for each in others if _outer(each).circle]
    faces = _turned_faces(spindle, any(_has_keyseat(each) for each in round_views[:1]))
    if isinstance(faces, Missing):
        return faces
    holes = _face_holes(round_views[0], _radii(faces)) if round_views else ()
    if isinstance(holes, Missing):
        return holes
    used = [spindle.view, *round_views[:1]]
    notes = (*_loose(used), *(_hidden([spindle.view])), *((THROUGH,) if holes else ()))
    return SolidPlan("turned part", turned=Turned(faces), holes=holes, notes=notes)


def _has_keyseat(face: SolvedView) -> bool:
    """Whether a round face has an outline about its centre that is no circle; it is cut from the solid by itself."""
    centre = outline.ring_circle(face.profile.plane, _outer(face)).centre
    inner = [ring for ring in face.profile.rings if ring.within is not None and not ring.circle]
    return any(_polygon(face, ring).contains(Spot(centre)) for ring in inner)


def _turned_faces(spindle: _Spindle, keyseat: bool) -> tuple[Corners, ...] | Missing:
    """Faces to turn: those that a section cuts, else all within the outline; beside a keyseat, the fuller half."""
    shape = spindle.view.profile
    if not shape.cuts:
        return (spindle.laid(ring_corners(shape, _outer(spindle.view))),)
    laid = [spindle.laid(ring_corners(shape, ring)) for ring in shape.cuts]
    above = [each for each in laid if max(r for _, r in flat(each)) > SAME]
    below = [each for each in laid if min(r for _, r in flat(each)) < -SAME]
    up, down = sum(map(_turned_volume, above)), sum(_turned_volume(_flipped(each)) for each in below)
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
    centre = outline.ring_circle(shape.plane, _outer(face)).centre
    holes: list[outline.Ring] = []
    for ring in shape.rings:
        circle = outline.ring_circle(shape.plane, ring) if ring.circle else None
        if ring.within is None:
            continue
        if circle is None or math.dist(circle.centre, centre) > SAME:
            holes.append(ring)
        elif not _among(circle.radius, radii):
            across = 2 * circle.radius
            return Missing(f"how deep the circle {across:.3f} mm across in view {face.view.name} goes is not told")
    if _nested(face, holes):
        return Missing(f"view {face.view.name} has holes within holes: how deep each goes is not told")
    return tuple(_about(ring_corners(shape, ring), centre) for ring in holes)


def _nested(view: SolvedView, rings: Sequence[outline.Ring]) -> bool:
    shapes = [_polygon(view, ring) for ring in rings]
    return any(a is not b and a.contains(b.representative_point()) for a in shapes for b in shapes)


def _about(corners: Sequence[Corner], centre: Point) -> Corners:
    return tuple((x - centre[0], y - centre[1], bulge) for x, y, bulge in corners)


# ---- plates


def _plate(views: Sequence[SolvedView], thickness_mm: float | None) -> SolidPlan | Missing:
    face = max(
        views, key=lambda each: (len(each.profile.rings), not _rectangular(each), _polygon(each, _outer(each)).area)
    )
    inner = [ring for ring in face.profile.rings if ring.within is not None]
    if _nested(face, inner):
        return Missing(f"view {face.view.name} has outlines within outlines: bosses or counterbores of unknown depth")
    height = _thickness(face, [each for each in views if each is not face], thickness_mm, "the plate")
    if isinstance(height, Missing):
        return height
    notes = (*_loose([face]), *_hidden(views), *((THROUGH,) if inner else ()))
    holes = tuple(ring_corners(face.profile, ring) for ring in inner)
    return SolidPlan("plate", Prism(ring_corners(face.profile, _outer(face)), height), holes=holes, notes=notes)


def _rectangular(view: SolvedView) -> bool:
    """Whether the outer outline is a plain rectangle."""
    shape = _polygon(view, _outer(view))
    left, low, right, high = shape.bounds
    return bool(abs((right - left) * (high - low) - shape.area) <= SAME * shape.area)


def _thickness(face: SolvedView, others: Sequence[SolvedView], given_mm: float | None, of: str) -> float | Missing:
    """Thickness by a side view that stands level with the face, or as given; Missing where neither settles it."""
    sides = [(each, found) for each in others if (found := _depth(_polygon(face, _outer(face)), each)) is not None]
    stepped = [each for each, _ in sides if not _rectangular(each)]
    if stepped:
        return Missing(f"view {stepped[0].view.name} shows that {of} has not one thickness")
    hollow = [each for each, depth in sides if not _cut_through(each, depth)]
    if hollow:
        return Missing(f"the section in view {hollow[0].view.name} shows pockets or steps within {of}")
    settled = [depth for each, depth in sides if _settled(each)]
    if not settled:
        return given_mm if given_mm is not None else Missing(f"no agreed figure gives the thickness of {of}", True)
    if max(settled) - min(settled) > SAME * max(settled):
        return Missing(f"two views give {of} different thicknesses")
    if given_mm is not None and abs(given_mm - settled[0]) > SAME * settled[0]:
        return Missing(f"the thickness given, {given_mm:.3f} mm, is not that of the print, {settled[0]:.3f} mm")
    return settled[0]


def _depth(face: Polygon, side: SolvedView) -> float | None:
    """How deep a side view shows a face that is as wide or as high and stands level with it."""
    left, low, right, high = face.bounds
    other = _polygon(side, _outer(side)).bounds
    if _same_span((low, high), (other[1], other[3])):
        return float(other[2] - other[0])
    return float(other[3] - other[1]) if _same_span((left, right), (other[0], other[2])) else None


def _cut_through(side: SolvedView, depth: float) -> bool:
    """Whether all faces that a section cuts go through the whole thickness, as holes right through leave them."""
    for ring in side.profile.cuts:
        shape = _polygon(side, ring)
        left, low, right, high = shape.bounds
        plain = abs((right - left) * (high - low) - shape.area) <= SAME * shape.area
        if not plain or not (_among(right - left, [depth]) or _among(high - low, [depth])):
            return False
    return True


def _same_span(one: tuple[float, float], other: tuple[float, float]) -> bool:
    length, other_length = one[1] - one[0], other[1] - other[0]
    apart = abs(sum(one) - sum(other)) / 2
    return abs(length - other_length) <= SAME * length and apart <= LEVEL_SHARE * length


LEVEL_SHARE = 0.02  # of their length: level views' middles lie no further apart, whatever the frames' own scales do


# ---- spur gears


def _gear(
    part: Part, views: Sequence[SolvedView], reconciled: Reconciled, thickness_mm: float | None
) -> SolidPlan | Missing:
    if not part.gear.proven:
        return Missing("the gear's teeth are unproven")
    teeth = next(each for each in part.curves if each.kind is OutlineKind.GEAR)
    face = next((each for each in views if each.view.name == part.gear.view), None)
    centre = _middle(teeth.outline.points.tolist())
    corners = zip(teeth.outline.points.tolist(), teeth.outline.bulges.tolist(), strict=True)
    outer = _about([(x, y, bulge) for (x, y), bulge in corners], centre)
    side = _gear_side(part, [each for each in views if each is not face])
    if face is None and side is None and views:
        return Missing("neither of the print's views is the gear's face or its side")
    stepped = side is not None and not _rectangular(side.view)
    holes = _gear_holes(part, face, centre, stepped)
    if isinstance(holes, Missing):
        return holes
    used = [each for each in (face, None if side is None else side.view) if each is not None]
    plan = SolidPlan("spur gear", holes=holes, notes=(*((THROUGH,) if holes else ()), *_loose(used), *_hidden(used)))
    if side is not None and (doubt := _side_doubt(part, side, used, reconciled)):
        return Missing(doubt)
    if side is not None and stepped:
        body = Turned((side.laid(ring_corners(side.view.profile, _outer(side.view))),))
        return replace(plan, prism=Prism(outer, None), turned=body)
    drawn = _face_width(side)
    if drawn is not None and thickness_mm is not None and abs(drawn - thickness_mm) > SAME * drawn:
        return Missing(f"the thickness given, {thickness_mm:.3f} mm, is not that of the print, {drawn:.3f} mm")
    height = drawn if drawn is not None else thickness_mm
    if height is None:
        return Missing("no agreed figure gives the width of the gear's face", True)
    return replace(plan, prism=Prism(outer, height))


def _side_doubt(part: Part, side: _Spindle, used: Sequence[SolvedView], reconciled: Reconciled) -> str:
    """Why a gear's side view does not tell its body; empty where it does."""
    assert part.gear.spec is not None
    name = side.view.view.name
    if not _rectangular(side.view):
        if not _settled(side.view):
            return f"the hub or web in view {name} has sizes that no agreed figure gives"
        known = [part.gear.spec.tip_radius_mm, *_round_radii(side, used, reconciled)]
        if unproven := [r for r in side.radii() if not _among(r, known)]:
            return f"nothing says that the step {2 * unproven[0]:.3f} mm across in view {name} is round"
    return "" if _full_section(side) else f"the section in view {name} shows a web or recesses; these are not made"


def _full_section(side: _Spindle) -> bool:
    """Whether the faces that a section cuts leave nothing out between bore and root; true where none is cut.

    The teeth are never hatched, so the cut faces end at the root; a keyseat leaves one half smaller.
    """
    shape = side.view.profile
    body = Polygon(flat(side.laid(ring_corners(shape, _outer(side.view)))))
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


def _middle(points: Sequence[Sequence[float]]) -> Point:
    """Mean of points spaced evenly round a centre: the teeth are all alike."""
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def _gear_side(part: Part, others: Sequence[SolvedView]) -> _Spindle | None:
    """The side view or section that is as high as the gear's outside."""
    assert part.gear.spec is not None
    across = 2 * part.gear.spec.tip_radius_mm
    for each in others:
        spindle = _spindle(each)
        if spindle is None:
            continue
        low, lower, high, upper = _polygon(each, _outer(each)).bounds
        height = upper - lower if spindle.axis == 0 else high - low
        if abs(height - across) <= OUTSIDE * across:
            return spindle
    return None


OUTSIDE = 0.02  # relative: a side view this near to the gear's outside is its side


def _face_width(side: _Spindle | None) -> float | None:
    if side is None or not _settled(side.view):
        return None
    bounds = _polygon(side.view, _outer(side.view)).bounds
    return float(bounds[2 + side.axis] - bounds[side.axis])


def _gear_holes(part: Part, face: SolvedView | None, centre: Point, stepped: bool) -> tuple[Corners, ...] | Missing:
    """What lies within the gear's root: bore, keyseat, lightening holes."""
    if face is None:
        inner = [each.outline for each in part.curves if each.kind is OutlineKind.INNER]
        return tuple(
            _about([(x, y, b) for (x, y), b in zip(o.points.tolist(), o.bulges.tolist(), strict=True)], centre)
            for o in inner
        )
    assert part.gear.spec is not None
    root = part.gear.spec.root_radius_mm
    rings = [
        ring
        for ring in face.profile.rings
        if max(math.dist(point, centre) for point in _polygon(face, ring).exterior.coords) < root * (1 - RIM)
    ]
    while stepped and _nested(face, rings):
        # The side view or section shows hub and web; of rings round one centre the innermost alone goes through.
        rings.remove(max(rings, key=lambda ring: _polygon(face, ring).area))
    if _nested(face, rings):
        return Missing(f"view {face.view.name} shows a hub or web whose thickness no view gives")
    return tuple(_about(ring_corners(face.profile, ring), centre) for ring in rings)


RIM = 0.02  # of the root radius: rings nearer to it are the drawn root circle


def parts_of(plan: SolidPlan) -> Iterator[str]:
    """What the solid is made of, in words."""
    if plan.prism is not None and plan.prism.height is not None:
        yield f"{plan.prism.height:.4f} mm thick"
    if plan.holes:
        yield f"{len(plan.holes)} holes right through"
