"""Outlines of solved views, as the planning of solids asks for them."""

import math
from collections.abc import Sequence

from shapely import LineString, Polygon

from digitize.dimensions.reasons import quoted
from digitize.dimensions.table import Reconciled, State
from digitize.lettering.text import Kind, Unit
from digitize.redraw.dxf import Corner, without_wide_arcs
from digitize.redraw.gear_outline import GearPlan, covered
from digitize.redraw.planes import outline
from digitize.redraw.planes.faces import Step
from digitize.redraw.planes.pieces import distinct, piece_line
from digitize.redraw.planes.plane_strokes import Axis
from digitize.redraw.solids.solid_shape import Corners
from digitize.redraw.solving.open_chains import LEAST_MM
from digitize.redraw.solving.profile import Profile
from digitize.redraw.solving.solved import SolvedView
from digitize.redraw.writing.figure_words import MOST_LISTED, scaled_words
from digitize.report.wording import INTERVAL_95
from digitize.strokes.primitives import Point, Role

PAIR_MM = 0.5  # of paper: what is one length is drawn no further apart in two places, by a pen's errors
SAME = 1e-6  # relative: lengths that the solution made one agree far better, others far worse


def ring_corners(shape: Profile, ring: outline.Ring) -> Corners:
    """A ring as corners, counter-clockwise."""
    if ring.circle:
        circle = outline.ring_circle(shape.plane, ring)
        (x, y), radius = circle.centre, circle.radius
        return (x - radius, y, 1.0), (x + radius, y, 1.0)
    steps = ring.steps
    if outline.signed_area(shape.plane, steps) < 0:
        steps = tuple(Step(step.piece, not step.forward) for step in reversed(steps))
    return tuple(without_wide_arcs(outline.bulged(shape.plane, steps)))


def outer_ring(view: SolvedView) -> outline.Ring:
    """The largest outer outline."""
    return next(ring for ring in view.profile.rings if ring.within is None)


def polygon_of(view: SolvedView, ring: outline.Ring) -> Polygon:
    """A ring of a view as a polygon."""
    return outline.ring_polygon(view.profile.plane, ring)


def settled(view: SolvedView) -> bool:
    """Whether figures settle the view's outer outline."""
    return view.profile.determined[view.profile.rings.index(outer_ring(view))]


def rectangular(view: SolvedView) -> bool:
    """Whether the outer outline is a plain rectangle."""
    shape = polygon_of(view, outer_ring(view))
    left, low, right, high = shape.bounds
    return bool(abs((right - left) * (high - low) - shape.area) <= SAME * shape.area)


def nested(view: SolvedView, rings: Sequence[outline.Ring]) -> bool:
    """Whether one of some rings lies within another."""
    shapes = [polygon_of(view, ring) for ring in rings]
    return any(a is not b and a.contains(b.representative_point()) for a in shapes for b in shapes)


def loose_notes(views: Sequence[SolvedView]) -> tuple[str, ...]:
    """Sentences on views of which figures do not settle everything."""
    return tuple(loose_note(each) for each in views if not all(each.profile.determined))


def loose_note(view: SolvedView) -> str:
    """That lengths of a view on which a solid depends are scaled, and which."""
    said = f"view {view.view.name} is partly scaled from the print, and the solid with it"
    lengths = [scaled_words(each, Unit.MM) for each in view.profile.scaled]
    more = len(lengths) - MOST_LISTED
    named = ", ".join(lengths[:MOST_LISTED]) + (f" and {more} more" if more > 0 else "")
    return f"{said}: {named}" if named else said


def area_off_mm2(view: SolvedView, wanted: Sequence[outline.Ring] | None = None) -> float:
    """How far the areas of a view's outlines, or of the wanted ones alone, may be off for what is scaled (95 %)."""
    outlines = (*view.profile.rings, *view.profile.cuts)
    errors = zip(outlines, view.profile.area_std_mm2, strict=False)
    return INTERVAL_95 * math.hypot(*(each for ring, each in errors if wanted is None or ring in wanted))


def lost_chamfer(view: SolvedView, reconciled: Reconciled) -> str | None:
    """A sentence on an agreed chamfer that a view with an open corner does not draw."""
    if all(outline.open_corner(view.profile.plane, ring) is None for ring in view.profile.rings):
        return None
    for each in reconciled.dimensions:
        agreed = each.kind is Kind.CHAMFER and each.state is State.AGREED and each.view == view.view.name
        if agreed and each.id not in view.profile.ends:
            return f"the edge that {quoted(each.text)} speaks of in view {view.view.name} is too small to be traced"
    return None


def hidden_notes(views: Sequence[SolvedView]) -> tuple[str, ...]:
    """Sentences on views with hidden edges: those of through holes the solid has, those of a pocket it may lack."""
    return tuple(
        f"the hidden edges of view {each.view.name} were not compared with the solid"
        for each in views
        if any(line.role is Role.HIDDEN for line in each.view.lines)
    )


def among(length: float, lengths: Sequence[float]) -> bool:
    """Whether a length is one of some lengths."""
    return any(abs(length - each) <= SAME * length for each in lengths)


def about(corners: Sequence[Corner], centre: Point) -> Corners:
    """Corners measured from a centre."""
    return tuple((x - centre[0], y - centre[1], bulge) for x, y, bulge in corners)


def unclosed_edges(face: SolvedView, gear: GearPlan | None = None, across: Axis | None = None) -> str | None:
    """A sentence on edges within a face that close nothing: a hole or a step that they begin would be left out.

    The drawn teeth of a gear, which the true ones replace, are none, nor are the shoulders ``across`` a turned part,
    which stand at one place along that axis.
    """
    shape, name = face.profile, face.view.name
    within = polygon_of(face, outer_ring(face))
    on_rings = {step.piece for ring in (*shape.rings, *shape.cuts) for step in ring.steps}
    edges = [
        line
        for piece in distinct(shape.plane, shape.plane.pieces, on_rings)
        if within.contains(line := piece_line(shape.plane, piece))
        and not (gear is not None and covered(gear, name, line))
        and not (across is not None and _stands(line, across))
    ]
    if max((each.length for each in edges), default=0.0) < LEAST_MM * face.view.frame.paper_mm:
        return None
    return f"view {name} has edges within its outline that close nothing"


def _stands(line: LineString, axis: Axis) -> bool:
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    return bool(abs((x1 - x0, y1 - y0)[axis.value]) <= SAME * line.length)
