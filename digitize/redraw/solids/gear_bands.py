"""The body of a gear that is drawn by its face alone: hub and web as thick as a person measured them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from digitize.gears.teeth.tooth import GearSpec
from digitize.redraw.planes.outline import Ring, ring_circle
from digitize.redraw.solids.solid_shape import Asked, Corners, Missing, SolidPlan, Turned, unlike
from digitize.redraw.solids.view_outlines import PAIR_MM, SAME, area_off_mm2, polygon_of
from digitize.redraw.solving.body_sizes import BodySizes
from digitize.redraw.solving.solved import SolvedView
from digitize.strokes.primitives import Point

MIDDLE = "where along the axis hub and web stand is not told: they are put in the middle of the face"
_HUB, _WEB = 1, 2  # circles between bore and teeth: the hub's, and the rim's inside besides


def banded(
    plan: SolidPlan, face: SolvedView, steps: Sequence[Ring], centre: Point, spec: GearSpec, sizes: BodySizes
) -> SolidPlan | Missing:
    """A plan with the body that goes between bore and teeth.

    Parameters
    ----------
    plan : SolidPlan
        Teeth and what goes through.
    face : SolvedView
    steps : sequence of Ring
        The face's outlines between bore and tooth roots, the widest first.
    centre : Point
    spec : GearSpec
    sizes : BodySizes
    """
    name = face.view.name
    if len(steps) not in (_HUB, _WEB) or not all(_about(face, each, centre) for each in steps):
        return Missing(f"view {name} shows steps that are not those of one hub and one web")
    edges = _edges(face, steps, spec, sizes)
    if isinstance(edges, Missing):
        return edges
    loose = tuple(each.asked for each in edges if each.off_mm2)
    # From the teeth inwards: face, web where there is one, hub.
    widths = [(Asked.THICKNESS, sizes.thickness), (Asked.WEB, sizes.web), (Asked.HUB, sizes.hub)]
    widths = [each for each in widths if each[0] is not Asked.WEB or len(steps) == _WEB]
    asked = tuple(option for option, width in widths if width is None)
    if asked:
        return Missing(f"view {name} shows a hub or web whose thickness no view gives", (*asked, *loose))
    across = [width for _, width in widths if width is not None]
    bands = list(zip([spec.tip_radius_mm, *(each.radius_mm for each in edges)], across, strict=True))
    steps_mm = (abs(one - other) for one, other in pairwise(across))
    off = math.hypot(plan.off_mm3, *(each.off_mm2 * step for each, step in zip(edges, steps_mm, strict=True)))
    return replace(plan, turned=Turned((_profile(bands),)), notes=(*plan.notes, MIDDLE), off_mm3=off, asked=loose)


@dataclass(frozen=True)
class _Edge:
    """Where rim ends or hub begins: the circle, by how much its area may be off, and the option that gives it."""

    asked: Asked
    radius_mm: float
    off_mm2: float


def _edges(face: SolvedView, steps: Sequence[Ring], spec: GearSpec, sizes: BodySizes) -> list[_Edge] | Missing:
    """The steps' circles, the widest first, as figures or a person give them, else as drawn."""
    inside = None if sizes.rim is None else spec.root_radius_mm - sizes.rim
    hub = None if sizes.hub_diameter is None else sizes.hub_diameter / 2
    given = [(Asked.RIM, "rim's inside", inside), (Asked.HUB_DIAMETER, "hub", hub)][-len(steps) :]
    edges = []
    for step, (asked, what, radius) in zip(steps, given, strict=True):
        drawn, off_mm2 = ring_circle(face.profile.plane, step).radius, area_off_mm2(face, [step])
        if radius is None:
            edges.append(_Edge(asked, drawn, off_mm2))
        elif off_mm2 or abs(drawn - radius) <= SAME * radius:
            edges.append(_Edge(asked, radius, 0.0))
        else:
            return unlike(f"diameter of the {what}", 2 * radius, 2 * drawn)
    return edges


def _about(face: SolvedView, ring: Ring, centre: Point) -> bool:
    slack = PAIR_MM * face.view.frame.paper_mm
    return ring.circle and math.dist(polygon_of(face, ring).centroid.coords[0], centre) <= slack


def _profile(bands: Sequence[tuple[float, float]]) -> Corners:
    """Corners in (z, radius) of bands given as radius and width, the widest first; counter-clockwise."""
    right = [(width / 2, radius) for radius, width in bands]
    edge: list[Point] = []
    for k, (z, radius) in enumerate(right):
        inner = right[k + 1][1] if k + 1 < len(right) else 0.0
        edge += [(z, radius), (z, inner)]
    up = [*reversed(edge), *((-z, radius) for z, radius in edge)]
    return tuple((z, radius, 0.0) for z, radius in up)
