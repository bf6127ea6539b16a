"""The teeth of an agreed spur gear as a true involute outline, in the place where the print shows the gear's face.

Glossary
--------
face view
    The view that looks along the gear's axis: it has the gear's outside or pitch circle, or its teeth.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from calibrate.errors import InputError
from digitize.dimensions.table import Reconciled, State
from digitize.gears.bore import bore_outline
from digitize.gears.finding import Candidate, GearFinding
from digitize.gears.systems import Cut, standard_cuts
from digitize.gears.tooth import GearSpec, outline
from digitize.lettering.text import Kind, Unit
from digitize.redraw.figures import nominal_mm
from digitize.redraw.profile import DrawnView
from digitize.redraw.report import OutlineKind
from digitize.report.frame import Frame
from digitize.strokes.primitives import Point, Role, Strokes

SAME_SIZE = 0.02  # relative: a drawn circle this near to the gear's outside or pitch circle is it
RIM_SHARE = 0.75  # of the root radius: rings and edges further out are the drawn teeth, which the true ones replace
BESIDE_MM = 20.0  # part mm between the sheet's edge and a gear whose face is not drawn


@dataclass(frozen=True)
class GearDrawing:
    """Closed curves of a gear in part mm, each with its area and kind, and the place of its face on the sheet.

    ``root_radius_mm`` is 0 where nothing is drawn.
    """

    curves: tuple[tuple[NDArray[np.float64], float, OutlineKind], ...] = ()
    view: str | None = None
    centre: Point = (0.0, 0.0)
    tip_radius_mm: float = 0.0
    root_radius_mm: float = 0.0
    notes: tuple[str, ...] = field(default=())


def draw_gear(
    gear: GearFinding | None,
    views: Sequence[DrawnView],
    strokes: Strokes,
    reconciled: Reconciled,
    frame: Frame,
) -> GearDrawing:
    """Make the outline of a gear whose system is agreed; a note says why none is made."""
    if gear is None:
        return GearDrawing()
    if gear.state is not State.AGREED or not gear.candidates or gear.kind != "spur":
        return GearDrawing(notes=(f"no teeth are drawn: {_undecided(gear)}",))
    spec, why = gear_spec(gear.candidates[0])
    if spec is None:
        return GearDrawing(notes=(f"no teeth are drawn: {why}",))
    try:
        teeth = outline(spec)
    except InputError as error:
        return GearDrawing(notes=(f"no teeth are drawn: {error}",))
    place = _face(spec, views, strokes)
    view, centre = place if place is not None else (None, _beside(spec, strokes, frame))
    curves = [(teeth.points + np.array(centre), teeth.area_mm2, OutlineKind.GEAR)]
    notes = [why] if why else []
    if place is None:
        notes.append("the gear's face is not drawn on the print: its teeth stand beside the sheet")
        curves += _bore(reconciled, centre, spec)
    return GearDrawing(tuple(curves), view, centre, spec.tip_radius_mm, spec.root_radius_mm, tuple(notes))


def _undecided(gear: GearFinding) -> str:
    if gear.kind != "spur":
        return f"it is a {gear.kind} gear"
    return "its tooth system is not agreed"


def gear_spec(candidate: Candidate) -> tuple[GearSpec | None, str]:
    """What cuts a candidate's teeth, and a remark; without a spec, the remark says why."""
    cut = _cut(candidate)
    if cut is None:
        return None, "its pitch is not in the tables, so its root and fillet are not known"
    try:
        spec = GearSpec.from_cut(cut, candidate.teeth)
    except InputError as error:
        return None, str(error)
    return spec, "the fillet at the root is assumed: its standard gives none" if cut.fillet_assumed else ""


def _cut(candidate: Candidate) -> Cut | None:
    return next(
        (each for each in standard_cuts() if each.system.id == candidate.system and each.title == candidate.title),
        None,
    )


def _face(spec: GearSpec, views: Sequence[DrawnView], strokes: Strokes) -> tuple[str | None, Point] | None:
    """The face view and the gear's centre in it, in part mm."""
    frames = {view.name: view.frame for view in views}
    for ring in strokes.tooth_rings:
        if ring.view in frames and ring.teeth == spec.teeth:
            return ring.view, frames[ring.view].point(ring.centre)
    for view in views:
        for _, arc in view.arcs:
            curve = view.frame.arc(arc)
            wanted = {Role.VISIBLE: spec.tip_radius_mm, Role.CENTRE: spec.pitch_radius_mm}.get(arc.role)
            if curve.full and wanted is not None and abs(curve.radius / wanted - 1) < SAME_SIZE:
                return view.name, curve.centre
    return None


def _beside(spec: GearSpec, strokes: Strokes, frame: Frame) -> Point:
    """A place to the right of everything drawn."""
    ends = [frame.point(end) for line in strokes.lines for end in (line.start, line.end)]
    right = max((x for x, _ in ends), default=0.0)
    return right + BESIDE_MM + spec.tip_radius_mm, BESIDE_MM + spec.tip_radius_mm


def _bore(
    reconciled: Reconciled, centre: Point, spec: GearSpec
) -> list[tuple[NDArray[np.float64], float, OutlineKind]]:
    """The bore, where the print names one and it is agreed. A keyseat needs a drawn face: the ways of giving its
    depth differ."""
    sizes = {
        nominal_mm(each, reconciled.unit)
        for each in reconciled.dimensions
        if each.name == "bore" and each.state is State.AGREED and each.kind is Kind.DIAMETER and each.unit in Unit
    } - {None}
    if len(sizes) != 1:
        return []
    size = sizes.pop()
    assert size is not None
    if not 0 < size < 2 * spec.root_radius_mm:
        return []
    bore = bore_outline(size)
    return [(bore.points + np.array(centre), bore.area_mm2, OutlineKind.INNER)]


def covered(teeth: GearDrawing, view: str | None, shape: BaseGeometry) -> bool:
    """True for what is drawn of the teeth themselves, which the true outline replaces: all of it lies between the
    gear's rim and a little beyond its tips."""
    if not teeth.curves or teeth.view is None or teeth.view != view:
        return False
    boundary = shape.boundary if shape.geom_type == "Polygon" else shape
    distances = [math.dist(point, teeth.centre) for point in boundary.coords]
    return RIM_SHARE * teeth.root_radius_mm < min(distances) and max(distances) < teeth.tip_radius_mm * (1 + SAME_SIZE)
