"""All that is redrawn of a sheet: its views as solved, the gear's plan and curves, and what was left out."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from digitize.dimensions.table import Reconciled, State, ViewScale
from digitize.gears.finding import GearFinding
from digitize.lettering.text import Kind
from digitize.redraw.boundary import bounded
from digitize.redraw.figures import PlacedFigure, angle_deg, nominal_mm
from digitize.redraw.gear_outline import GearCurve, GearPlan, gear_curves, plan_gear
from digitize.redraw.plane import Pen
from digitize.redraw.profile import Draft, DrawnView, Profile, draft
from digitize.redraw.projected import shared_axis
from digitize.redraw.together import profiles
from digitize.redraw.unknowns import CONCENTRIC_MM
from digitize.report.frame import Frame, scaled_about
from digitize.strokes.primitives import Arc, Line, Point, Role, Strokes, View


@dataclass(frozen=True)
class SolvedView:
    """A view and its outlines as dimensioned."""

    view: DrawnView
    profile: Profile


@dataclass(frozen=True)
class Part:
    """All that is redrawn: the views, the gear's plan and its curves, and notes on views left out."""

    views: tuple[SolvedView, ...]
    gear: GearPlan
    curves: tuple[GearCurve, ...]
    notes: tuple[str, ...]


def solve_part(strokes: Strokes, reconciled: Reconciled, gear: GearFinding | None, frame: Frame) -> Part:
    """Find and solve every view, views that were projected from each other together."""
    views, unscaled = drawn_views(strokes, reconciled, frame)
    plan = plan_gear(gear, views, strokes)
    figures = [_figures(view, reconciled) for view in views]
    drafts = [draft(view, mine, _known(plan, view)) for view, mine in zip(views, figures, strict=True)]
    notes = []
    for view, scale in unscaled:
        borrowed, note = _borrowed(view, scale, drafts[: len(views)], strokes, reconciled, frame)
        drafts += borrowed
        notes.append(note)
    views += [each.view for each in drafts[len(views) :] if isinstance(each, Draft)]
    figures += [[] for _ in views[len(figures) :]]
    solved = tuple(
        SolvedView(view, bounded(shape, view, mine, plan))
        for view, mine, shape in zip(views, figures, profiles(drafts, strokes), strict=True)
    )
    curves = gear_curves(plan, _gear_centre(plan, solved), strokes, reconciled, frame)
    return Part(solved, plan, tuple(curves), tuple(notes))


def _borrowed(
    view: View,
    scale: ViewScale | None,
    drafts: Sequence[Draft | Profile],
    strokes: Strokes,
    reconciled: Reconciled,
    frame: Frame,
) -> tuple[list[Draft], str]:
    """A view whose own scale is not known at the scale of one that it stands level with; and a note on it."""
    scales = {each.view: each for each in reconciled.scales}
    free = scale is None or not (scale.not_to_scale or scale.marked_not_to_scale)
    for other in (each for each in drafts if free and isinstance(each, Draft)):
        theirs = scales[str(other.view.name)]
        tried = draft(_drawn_view(view, strokes, scaled_about(frame, view.box, theirs), theirs.pen_std_mm), [], {})
        if isinstance(tried, Draft) and shared_axis(tried, other) is not None:
            return [tried], f"view {view.id}: no figure tells its scale; it has that of view {other.view.name}"
    return [], f"view {view.id} is left out: {_unscaled(scale)}"


def _known(plan: GearPlan, view: DrawnView) -> dict[int, float]:
    return plan.given if plan.view == view.name else {}


def _gear_centre(plan: GearPlan, solved: Sequence[SolvedView]) -> Point | None:
    """Centre of the circles about the gear's drawn centre, once its face view is solved; None where there are none."""
    for each in (one for one in solved if one.view.name == plan.view):
        near = Pen(each.view.frame.paper_mm, each.view.pen_mm).slack(CONCENTRIC_MM)
        drawn = {index: each.view.frame.arc(arc).centre for index, arc in each.view.arcs}
        about = [c for arc, c in each.profile.circles.items() if math.dist(drawn[arc], plan.centre) <= near]
        if about:
            return max(about, key=lambda circle: circle.radius).centre
    return None


def drawn_views(
    strokes: Strokes, reconciled: Reconciled, frame: Frame
) -> tuple[list[DrawnView], list[tuple[View, ViewScale | None]]]:
    """The views whose scale is known, each with its strokes and a frame of its own; and the others."""
    scales = {each.view: each for each in reconciled.scales}
    names = Counter(line.view for line in strokes.lines if line.role is Role.VISIBLE)
    names += Counter(arc.view for arc in strokes.arcs if arc.role is Role.VISIBLE)
    views, others = [], []
    for view in strokes.views:
        if view.kind != "view" or view.id not in names:
            continue
        scale = scales.get(view.id)
        if scale is None or not scale.known or scale.not_to_scale:
            others.append((view, scale))
        else:
            views.append(_drawn_view(view, strokes, scaled_about(frame, view.box, scale), scale.pen_std_mm))
    return views, others


def _unscaled(scale: ViewScale | None) -> str:
    return "it keeps to no common scale" if scale is not None and scale.not_to_scale else "its scale is not known"


def _drawn_view(view: View, strokes: Strokes, frame: Frame, pen_mm: float) -> DrawnView:
    return DrawnView(
        view.id,
        frame,
        tuple(line for line in strokes.lines if line.view == view.id and _is_of(view, line)),
        tuple((index, arc) for index, arc in enumerate(strokes.arcs) if arc.view == view.id and _is_of(view, arc)),
        pen_mm,
    )


def _is_of(view: View, stroke: Line | Arc) -> bool:
    """Whether a stroke that is nearest to a view can be of it: an edge lies within, what dimensions it around."""
    return stroke.role is not Role.VISIBLE or view.holds(stroke)


def _figures(view: DrawnView, reconciled: Reconciled) -> list[PlacedFigure]:
    """The view's agreed lengths and angles, the surest first."""
    agreed = [each for each in reconciled.dimensions if each.view == view.name and each.state is State.AGREED]
    figures = []
    for each in sorted(agreed, key=lambda one: (-one.confidence, one.id)):
        value = angle_deg(each) if each.kind is Kind.ANGLE else nominal_mm(each, reconciled.unit)
        if each.geometry is not None and value is not None and value > 0:
            ends = view.frame.point(each.geometry.first), view.frame.point(each.geometry.second)
            figures.append(PlacedFigure(each, value, *ends))
    return figures
