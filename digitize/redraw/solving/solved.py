"""All that is redrawn of a sheet: its views as solved, the gear's plan and curves, and what was left out."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from digitize.dimensions.table import Dimension, Measured, Reconciled, State
from digitize.gears.identifying.finding import GearFinding
from digitize.lettering.text import Kind, Unit
from digitize.redraw.gear_outline import GearCurve, GearPlan, gear_curves, plan_gear, without_drawn_teeth
from digitize.redraw.planes.plane_strokes import Pen
from digitize.redraw.solving.body_sizes import NOT_MEASURED, BodySizes, with_body_sizes
from digitize.redraw.solving.boundary import bounded
from digitize.redraw.solving.draft import Draft, draft
from digitize.redraw.solving.drawn_views import borrowed, drawn_views, unproven_notes
from digitize.redraw.solving.figures import LENGTHS, Figure, PlacedFigure, angle_deg, length_mm, slack_mm, surest_first
from digitize.redraw.solving.gear_section import with_tooth_lines
from digitize.redraw.solving.keyseat import tabled_parts
from digitize.redraw.solving.marks import Feet, feet_of
from digitize.redraw.solving.profile import DrawnView, Profile
from digitize.redraw.solving.relations import CONCENTRIC_MM
from digitize.redraw.solving.together import profiles
from digitize.report.frame import Frame
from digitize.strokes.primitives import Point, Role, Strokes


@dataclass(frozen=True)
class SolvedView:
    """A view and its outlines as dimensioned."""

    view: DrawnView
    profile: Profile


@dataclass(frozen=True)
class Part:
    """All that is redrawn: the views, the gear's plan and its curves; notes on their scales, and on views left out."""

    views: tuple[SolvedView, ...]
    gear: GearPlan
    curves: tuple[GearCurve, ...]
    notes: tuple[str, ...]
    left_out: tuple[str, ...]


def solve_part(
    strokes: Strokes,
    reconciled: Reconciled,
    gear: GearFinding | None,
    frame: Frame,
    unit: Unit = Unit.MM,
    sizes: BodySizes = NOT_MEASURED,
) -> Part:
    """Find and solve every view, views that were projected from each other together; tell places in a unit.

    ``sizes`` are what a person measured of a gear's body.
    """
    views, unscaled = drawn_views(strokes, reconciled, frame)
    plan = plan_gear(gear, views, strokes)
    for number, face in enumerate(views):
        views[number], plan = without_drawn_teeth(face, plan, strokes)
    figures = [_figures(view, reconciled, strokes) for view in views]
    drafts = [
        draft(view, mine, _known(plan, view), _figures(view, reconciled, strokes, State.UNPROVEN))
        for view, mine in zip(views, figures, strict=True)
    ]
    notes, left_out = list(unproven_notes(views, reconciled)), list[str]()
    for view, scale in unscaled:
        taken, note = borrowed(view, scale, drafts[: len(views)], strokes, reconciled, frame)
        drafts += taken
        (notes if taken else left_out).append(note)
    drafts = [
        with_body_sizes(with_tooth_lines(each, plan), plan, sizes) if isinstance(each, Draft) else each
        for each in drafts
    ]
    views += [each.view for each in drafts[len(views) :] if isinstance(each, Draft)]
    figures += [[] for _ in views[len(figures) :]]
    solved = tuple(
        SolvedView(view, bounded(shape, view, mine, plan, unit))
        for view, mine, shape in zip(views, figures, profiles(drafts, strokes), strict=True)
    )
    curves = gear_curves(plan, _gear_centre(plan, solved), strokes, reconciled, frame)
    return Part(solved, plan, tuple(curves), tuple(notes), tuple(left_out))


def _known(plan: GearPlan, view: DrawnView) -> dict[int, float]:
    return plan.given if plan.view == view.name else {}


def _gear_centre(plan: GearPlan, solved: Sequence[SolvedView]) -> Point | None:
    """Centre of the circles about the gear's drawn centre, once its face view is solved; None where there are none."""
    for each in (one for one in solved if one.view.name == plan.view):
        near = Pen(each.view.frame.paper_mm, each.view.pen_mm).slack(CONCENTRIC_MM)
        drawn = {index: each.view.frame.arc(arc).centre for index, arc in each.view.arcs}
        traced = ((drawn[arc], circle) for arc, circle in each.profile.circles.items() if arc in drawn)
        about = [circle for centre, circle in traced if math.dist(centre, plan.centre) <= near]
        if about:
            return max(about, key=lambda circle: circle.radius).centre
    return None


def _figures(view: DrawnView, reconciled: Reconciled, strokes: Strokes, state: State = State.AGREED) -> list[Figure]:
    """The view's lengths and angles of a state, the surest first; of those that are not agreed lengths alone."""
    found = [each for each in reconciled.dimensions if each.view == view.name and each.state is state]
    if state is not State.AGREED:
        found = [each for each in found if each.kind in LENGTHS]
    tabled = tabled_parts(reconciled)
    figures: list[Figure] = []
    for each in sorted(found, key=surest_first):
        value = angle_deg(each) if each.kind is Kind.ANGLE else length_mm(each, reconciled.unit)
        if value is None or value <= 0:
            continue
        slack = 0.0 if each.kind is Kind.ANGLE else slack_mm(each, reconciled.unit)
        if each.geometry is None and state is State.AGREED and each.name in tabled:
            figures.append(Figure(each, value, slack=slack))
        if each.geometry is not None:
            ends = view.frame.point(each.geometry.first), view.frame.point(each.geometry.second)
            feet = _feet(each.geometry, view, strokes)
            figures.append(PlacedFigure(each, value, *ends, _alike(each, reconciled), feet, slack=slack))
    return figures


def _feet(geometry: Measured, view: DrawnView, strokes: Strokes) -> Feet:
    extensions = [line for each in geometry.lines if (line := strokes.lines[each]).role is Role.EXTENSION]
    first, second = feet_of(geometry.first, geometry.second, extensions)
    return first and view.frame.point(first), second and view.frame.point(second)


def _alike(size: Dimension, reconciled: Reconciled) -> tuple[int, ...]:
    """The circles that the count of a size's own callout tells, where the sheet draws as many."""
    for each in reconciled.dimensions:
        counts = each.kind is Kind.COUNT and each.state is State.AGREED and each.geometry is not None
        if counts and (each.text, each.quad_px) == (size.text, size.quad_px) and size.geometry is not None:
            assert each.geometry is not None
            if set(size.geometry.arcs) & set(each.geometry.arcs):
                return each.geometry.arcs
    return ()
