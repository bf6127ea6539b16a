"""The body of a gear that is drawn by its face alone: hub and web as thick as a person measured them."""

import math
from collections.abc import Sequence
from dataclasses import replace
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
    wanted = [(Asked.THICKNESS, sizes.thickness), (Asked.HUB, sizes.hub)]
    wanted += [(Asked.WEB, sizes.web)] if len(steps) == _WEB else []
    asked = tuple(option for option, size in wanted if size is None)
    if asked:
        return Missing(f"view {name} shows a hub or web whose thickness no view gives", asked)
    across, *within = (size for _, size in wanted if size is not None)
    radii = [ring_circle(face.profile.plane, each).radius for each in steps]
    off_mm2 = [area_off_mm2(face, [each]) for each in steps]
    scaled_rim = len(steps) == _WEB and off_mm2[0] > 0
    if len(steps) == _WEB and sizes.rim is not None:
        inside = spec.root_radius_mm - sizes.rim
        if not scaled_rim and abs(radii[0] - inside) > SAME * inside:
            return unlike("thickness of the rim", sizes.rim, spec.root_radius_mm - radii[0])
        radii[0], off_mm2[0], scaled_rim = inside, 0.0, False
    # From the teeth inwards: face, web where there is one, hub.
    bands = list(zip([spec.tip_radius_mm, *radii], [across, *reversed(within)], strict=True))
    steps_mm = [abs(one[1] - other[1]) for one, other in pairwise(bands)]
    off = math.hypot(plan.off_mm3, *(off * step for off, step in zip(off_mm2, steps_mm, strict=True)))
    asked = (Asked.RIM,) if scaled_rim else ()
    return replace(plan, turned=Turned((_profile(bands),)), notes=(*plan.notes, MIDDLE), off_mm3=off, asked=asked)


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
