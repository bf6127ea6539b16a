"""Which views are redrawn, and at what scale.

A view whose scale is proven has it. One whose scale some lengths carry that are themselves unproven, or one length and
the scale note, is drawn at it all the same, and says so: nothing in it is agreed, so all of it stands as scaled from
the print. One without any has that of a view that it stands level with.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from digitize.dimensions.table import Reconciled, ViewScale
from digitize.lettering.text import Unit
from digitize.redraw.solving.draft import Draft, draft
from digitize.redraw.solving.profile import DrawnView, Profile
from digitize.redraw.solving.projected import shared_axis
from digitize.report.frame import Frame, Length, rescaled, scaled_about
from digitize.strokes.primitives import Arc, Line, Role, Strokes, View

FEWEST_CARRIERS = 2  # one length fits any scale
MOST_STRETCH = 0.015  # relative: paper shrinks by no more, so that two lengths on two axes bear each other out
NOTE = "scale note"  # as the sources of a scale are named


def carried(scale: ViewScale, reconciled: Reconciled) -> bool:
    """Whether lengths of a known unit, or one of them and the scale note, carry a scale that is not proven."""
    fitted = scale.witnesses > 0 and not scale.not_to_scale and not scale.marked_not_to_scale
    carriers = scale.witnesses + _noted(scale, reconciled)
    usual = abs(scale.x_mm_per_px / scale.y_mm_per_px - 1) <= MOST_STRETCH
    told = fitted and usual and carriers >= FEWEST_CARRIERS
    return told and not scale.known and reconciled.unit in (Unit.INCH, Unit.MM)


def _noted(scale: ViewScale, reconciled: Reconciled) -> bool:
    """Whether the scale note, on a resolution that is known, bears out a scale: it speaks of the main view's."""
    main = reconciled.scales[0].part_per_paper == scale.part_per_paper
    return main and any(each.source == NOTE and bool(each.agrees) for each in reconciled.witnesses)


def part_frame(frame: Frame, reconciled: Reconciled) -> Frame:
    """The sheet's frame in part mm; where its main view has no proven scale by that of the first view that is drawn."""
    if frame.length is Length.PART_MM:
        return frame
    drawn = (each for each in reconciled.scales if _is_drawn(each, reconciled))
    return next((rescaled(frame, each) for each in drawn), frame)


def _is_drawn(scale: ViewScale | None, reconciled: Reconciled) -> bool:
    """Whether a view of this scale is redrawn."""
    return scale is not None and (bool(scale.known) or carried(scale, reconciled)) and not scale.not_to_scale


def unproven_notes(views: Sequence[DrawnView], reconciled: Reconciled) -> Iterator[str]:
    """A sentence on each view that is drawn at a scale that is not proven."""
    scales = {each.view: each for each in reconciled.scales}
    for view in views:
        if not view.proven:
            scale = scales[str(view.name)]
            carriers = f"{scale.witnesses} lengths" if scale.witnesses != 1 else "1 length"
            note = " and the scale note" if _noted(scale, reconciled) else ""
            verb = "carries" if scale.witnesses == 1 and not note else "carry"
            yield f"view {view.name}: its scale is not proven, {carriers}{note} {verb} it: check one first"


def drawn_views(
    strokes: Strokes, reconciled: Reconciled, frame: Frame
) -> tuple[list[DrawnView], list[tuple[View, ViewScale | None]]]:
    """The views whose scale is known or carried by some lengths, each with its strokes and a frame; and the others."""
    scales = {each.view: each for each in reconciled.scales}
    names = Counter(line.view for line in strokes.lines if line.role is Role.VISIBLE)
    names += Counter(arc.view for arc in strokes.arcs if arc.role is Role.VISIBLE)
    views, others = [], []
    for view in strokes.views:
        if view.kind != "view" or view.id not in names:
            continue
        scale = scales.get(view.id)
        if scale is None or not _is_drawn(scale, reconciled):
            others.append((view, scale))
        else:
            views.append(_drawn_view(view, strokes, scaled_about(frame, view.box, scale), scale))
    return views, others


def _unscaled(scale: ViewScale | None) -> str:
    return "it keeps to no common scale" if scale is not None and scale.not_to_scale else "its scale is not known"


def _drawn_view(view: View, strokes: Strokes, frame: Frame, scale: ViewScale) -> DrawnView:
    return DrawnView(
        view.id,
        frame,
        tuple(each for each in strokes.lines if _is_of(view, each) or _runs_through(view, each)),
        tuple((index, arc) for index, arc in enumerate(strokes.arcs) if _is_of(view, arc)),
        scale.pen_std_mm,
        bool(scale.known),
        tuple(each for each in strokes.splines if each.view == view.id),
        max(scale.x_std / scale.x_mm_per_px, scale.y_std / scale.y_mm_per_px),
    )


def _is_of(view: View, stroke: Line | Arc) -> bool:
    """Whether a stroke is of a view: it is nearest to it, and an edge lies within, what dimensions it around."""
    return stroke.view == view.id and (stroke.role is not Role.VISIBLE or view.holds(stroke))


def _runs_through(view: View, line: Line) -> bool:
    """Whether a centre line runs from beyond a view to beyond it, though crumbs of lettering beside that are nearer."""
    (x0, y0), (x1, y1), (left, top, right, bottom) = line.start, line.end, view.box
    across = min(x0, x1) < left and right < max(x0, x1) and top < (y0 + y1) / 2 < bottom
    up = min(y0, y1) < top and bottom < max(y0, y1) and left < (x0 + x1) / 2 < right
    return line.role is Role.CENTRE and (across or up)


def borrowed(
    view: View,
    scale: ViewScale | None,
    drafts: Sequence[Draft | Profile],
    strokes: Strokes,
    reconciled: Reconciled,
    frame: Frame,
) -> tuple[list[Draft], str]:
    """A view whose own scale is not known at the scale of one that it stands level with; and a note on it.

    Where its own figures fit no scale, that one is not proven.
    """
    scales = {each.view: each for each in reconciled.scales}
    free = scale is None or not scale.marked_not_to_scale
    why = "its figures fit no scale" if scale is not None and scale.not_to_scale else "no figure tells its scale"
    for other in (each for each in drafts if free and isinstance(each, Draft)):
        theirs = scales[str(other.view.name)]
        mine = _drawn_view(view, strokes, scaled_about(frame, view.box, theirs), theirs)
        proven = mine.proven and not (scale is not None and scale.not_to_scale)
        tried = draft(replace(mine, proven=proven), [], {})
        if isinstance(tried, Draft) and shared_axis(tried, other) is not None:
            return [tried], f"view {view.id}: {why}; it has that of view {other.view.name}"
    return [], f"view {view.id} is left out: {_unscaled(scale)}"
