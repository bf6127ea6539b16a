"""The teeth of a spur gear as a true involute outline, in the place where the print shows the gear's face.

Glossary
--------
face view
    The view that looks along the gear's axis: it has the gear's outside or pitch circle, or its teeth.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from shapely import LineString, Polygon

from calibrate.errors import InputError
from digitize.dimensions.linking.gear_circles import MOST_DEG
from digitize.dimensions.table import Reconciled, State
from digitize.gears.bore import keyseat_of_standard
from digitize.gears.cuts import cut_named
from digitize.gears.identifying.finding import Candidate, GearFinding
from digitize.gears.identifying.report import leading_tooth
from digitize.gears.identifying.sheet_body import agreed_size_mm
from digitize.gears.teeth.arcs import ArcOutline, bore_in_arcs, teeth_in_arcs
from digitize.gears.teeth.tooth import GearSpec, space_side
from digitize.redraw.planes.curve import FULL_TURN_DEG
from digitize.redraw.report import OutlineKind
from digitize.redraw.solving.profile import DrawnView
from digitize.report.frame import Frame
from digitize.strokes.primitives import Arc, Line, Point, Role, Spline, Strokes

SAME_SIZE = 0.02  # relative: a drawn circle this near to the gear's outside or pitch circle is it
RIM_SHARE = 0.75  # of the root radius: rings and edges further out are the drawn teeth, which the true ones replace
OUTSIDE = -1  # index of the outside circle that stands in for teeth drawn in full; no arc of `Strokes` has it
_SAMPLE_DEG = 5.0  # an arc is asked where it lies so often
BESIDE_MM = 20.0  # part mm between the sheet's edge and a gear whose face is not drawn


@dataclass(frozen=True)
class GearPlan:
    """What is to be drawn of a gear, and where.

    Attributes
    ----------
    spec : GearSpec or None
        None where no teeth are drawn; ``notes`` then say why.
    view : str or None
        The face view; None where the print has none.
    centre : Point
        Of the gear in that view as drawn, in part mm.
    given : dict of int to float
        Radii in mm that the gear fixes, by index of the drawn circle in `Strokes.arcs`, and by `OUTSIDE`; none where
        it is unproven.
    notes : tuple of str
    proven : bool
        False where the teeth are those of the likeliest system and not agreed.
    """

    spec: GearSpec | None = None
    view: str | None = None
    centre: Point = (0.0, 0.0)
    given: dict[int, float] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    proven: bool = True


@dataclass(frozen=True)
class GearCurve:
    """A closed outline of arcs in part mm."""

    outline: ArcOutline
    kind: OutlineKind

    @property
    def middle(self) -> Point:
        """Mean of its points: a gear's are spaced evenly round its centre, since its teeth are all alike."""
        x, y = self.outline.points.mean(axis=0)
        return float(x), float(y)


def plan_gear(gear: GearFinding | None, views: Sequence[DrawnView], strokes: Strokes) -> GearPlan:
    """Decide whether a gear's teeth are drawn, and find its face on the print.

    Teeth that are likely but unproven are drawn too, on a layer that says so; they fix and replace nothing else.
    """
    if gear is None:
        return GearPlan()
    tooth = leading_tooth(gear) if gear.kind == "spur" else None
    if tooth is None:
        return GearPlan(notes=(f"no teeth are drawn: {_undecided(gear)}",))
    spec, remark = gear_spec(tooth)
    if spec is None:
        return GearPlan(notes=(f"no teeth are drawn: {remark}",))
    proven = gear.state is State.AGREED
    notes = (*((remark,) if remark else ()), *(() if proven else (f"the teeth are unproven: {tooth.title}",)))
    for view in views:
        given = _given(spec, view)
        ring = next((r for r in strokes.tooth_rings if r.view == view.name and r.teeth == spec.teeth), None)
        if given or ring is not None:
            centre = view.frame.point(ring.centre) if ring else _centre(view, given)
            return GearPlan(spec, view.name, centre, given if proven else {}, notes, proven)
    beside = "the gear's face is not drawn on the print: its teeth stand beside the sheet"
    return GearPlan(spec, notes=(*notes, beside), proven=proven)


def without_drawn_teeth(view: DrawnView, plan: GearPlan, strokes: Strokes) -> tuple[DrawnView, GearPlan]:
    """A gear's face with its outside circle for the teeth that it shows in full, and the plan that knows that circle.

    The true teeth replace the drawn ones; what is left of the face is then settled by figures alone, not by the lengths
    of a hundred drawn flanks.
    """
    ring = next((each for each in strokes.tooth_rings if each.view == view.name), None)
    if plan.spec is None or not plan.proven or plan.view != view.name or ring is None:
        return view, plan
    kept = [(index, arc) for index, arc in view.arcs if index in plan.given or not _of_teeth(view, plan, arc)]
    if not any(arc.role is Role.VISIBLE for index, arc in kept if index in plan.given):
        kept.append((OUTSIDE, Arc(ring.centre, ring.tip_radius_px, 0.0, FULL_TURN_DEG, 0.0, view=view.name)))
        plan = replace(plan, given={**plan.given, OUTSIDE: plan.spec.tip_radius_mm})
    lines = tuple(each for each in view.lines if not _of_teeth(view, plan, each))
    splines = tuple(each for each in view.splines if not _of_teeth(view, plan, each))
    return replace(view, lines=lines, arcs=tuple(kept), splines=splines), plan


def _of_teeth(view: DrawnView, plan: GearPlan, stroke: Line | Arc | Spline) -> bool:
    """Whether a stroke is an edge of the drawn teeth."""
    if stroke.role is not Role.VISIBLE:
        return False
    if isinstance(stroke, Arc):
        curve = view.frame.arc(stroke)
        count = 2 + int(curve.sweep_deg / _SAMPLE_DEG)
        points = [curve.at(curve.start_deg + curve.sweep_deg * k / (count - 1)) for k in range(count)]
    else:
        ends = stroke.control if isinstance(stroke, Spline) else (stroke.start, stroke.end)
        points = [view.frame.point(end) for end in ends]
    return covered(plan, view.name, LineString(points))


def gear_curves(
    plan: GearPlan, centre: Point | None, strokes: Strokes, reconciled: Reconciled, frame: Frame
) -> list[GearCurve]:
    """The gear's closed curves.

    Parameters
    ----------
    plan : GearPlan
    centre : Point or None
        Of the face view's circles once the view was solved; None to take the plan's.
    strokes : Strokes
    reconciled : Reconciled
    frame : Frame
        Of the sheet.
    """
    if plan.spec is None:
        return []
    if plan.view is not None:
        return [_placed(teeth_in_arcs(plan.spec), centre or plan.centre, OutlineKind.GEAR)]
    beside = _beside(plan.spec, strokes, frame)
    return [_placed(teeth_in_arcs(plan.spec), beside, OutlineKind.GEAR), *_bore(reconciled, beside, plan.spec)]


def _placed(curve: ArcOutline, centre: Point, kind: OutlineKind) -> GearCurve:
    return GearCurve(curve.moved(*centre), kind)


def _undecided(gear: GearFinding) -> str:
    if gear.kind != "spur":
        return f"it is a {gear.kind} gear"
    return "its tooth system is not decided"


def gear_spec(candidate: Candidate) -> tuple[GearSpec | None, str]:
    """What cuts a candidate's teeth, and a remark; without a spec, the remark says why."""
    cut = cut_named(candidate.system, candidate.title)
    if cut is None:
        return None, "its pitch is not in the tables, so its root and fillet are not known"
    try:
        spec = GearSpec.from_cut(cut, candidate.teeth)
        space_side(spec)
    except InputError as error:
        return None, str(error)
    return spec, cut.assumed


def _given(spec: GearSpec, view: DrawnView) -> dict[int, float]:
    """Drawn circles of a view that are the gear's outside or pitch circle, broken at a few drawn teeth or not, with
    their radii in mm."""
    wanted = {Role.VISIBLE: spec.tip_radius_mm, Role.CENTRE: spec.pitch_radius_mm}
    return {
        index: wanted[arc.role]
        for index, arc in view.arcs
        if arc.role in wanted
        and (curve := view.frame.arc(arc)).sweep_deg >= MOST_DEG
        and abs(curve.radius / wanted[arc.role] - 1) < SAME_SIZE
    }


def _centre(view: DrawnView, given: dict[int, float]) -> Point:
    return next(view.frame.arc(arc).centre for index, arc in view.arcs if index in given)


def _beside(spec: GearSpec, strokes: Strokes, frame: Frame) -> Point:
    """A place to the right of everything drawn."""
    ends = [frame.point(end) for line in strokes.lines for end in (line.start, line.end)]
    right = max((x for x, _ in ends), default=0.0)
    return right + BESIDE_MM + spec.tip_radius_mm, BESIDE_MM + spec.tip_radius_mm


def _bore(reconciled: Reconciled, centre: Point, spec: GearSpec) -> list[GearCurve]:
    """The bore, where the print names one and it is agreed, with its keyseat where that can be told.

    A keyseat's depth is given in several ways: one that the print does not draw is cut only where its width and depth
    are agreed and are those of a standard for that bore, which says how they are measured.
    """
    size = agreed_size_mm(reconciled, "bore")
    if size is None or not 0 < size < 2 * spec.root_radius_mm:
        return []
    width, depth = agreed_size_mm(reconciled, "key_width"), agreed_size_mm(reconciled, "key_depth")
    seat = None if width is None or depth is None else keyseat_of_standard(size, width, depth)
    return [_placed(bore_in_arcs(size, seat), centre, OutlineKind.INNER)]


def covered(plan: GearPlan, view: str | None, shape: Polygon | LineString) -> bool:
    """True for what is drawn of the teeth themselves, which the true outline replaces: all of it lies between the
    gear's rim and a little beyond its tips, and is no circle within their roots."""
    if plan.spec is None or not plan.proven or plan.view is None or plan.view != view:
        return False
    line = shape.exterior if isinstance(shape, Polygon) else shape
    distances = [math.dist(point, plan.centre) for point in line.coords]
    low, high = min(distances), max(distances)
    rim, tips = RIM_SHARE * plan.spec.root_radius_mm, (1 + SAME_SIZE) * plan.spec.tip_radius_mm
    return rim < low and high < tips and not _of_body(plan.spec, low, high, line.length)


def _of_body(spec: GearSpec, low: float, high: float, length: float) -> bool:
    """Whether what lies from one distance of the centre to another is a circle of the rim or web, within the roots: a
    root that is drawn too deep goes on for less than a tooth."""
    one_circle, within = high - low < SAME_SIZE * high, high < (1 - SAME_SIZE) * spec.root_radius_mm
    return one_circle and within and length > 2 * math.pi * high / spec.teeth
