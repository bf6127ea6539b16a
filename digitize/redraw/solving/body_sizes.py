"""Sizes of a gear's body that a person measured on the old part, where the view from its side shows them.

Glossary
--------
band
    What of a body lies between two radii, from edge to edge along the axis: hub, web and rim are one each.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from shapely import LineString, Polygon

from digitize.redraw.gear_outline import GearPlan
from digitize.redraw.planes import outline
from digitize.redraw.planes.plane_strokes import Axis, Pen
from digitize.redraw.solving.draft import Draft
from digitize.redraw.solving.gear_section import TOOTH_MM, apart, levels_of, middles, outermost, pair_at
from digitize.redraw.solving.solve import Relation

LEAST_MM = 0.05  # of paper: bands that are thinner, or differ by less from their neighbours, are the drafter's slips


@dataclass(frozen=True)
class BodySizes:
    """What a person measured, in mm; None where nothing was.

    ``thickness`` is of a plate or of a gear's face, ``hub`` how long and ``hub_diameter`` how wide a hub is, ``web``
    how thick a web is, ``rim`` from the tooth roots in to the web.
    """

    thickness: float | None = None
    hub: float | None = None
    hub_diameter: float | None = None
    web: float | None = None
    rim: float | None = None


NOT_MEASURED = BodySizes()


@dataclass(frozen=True)
class Band:
    """A band from radius ``low`` to ``high``, which goes along the axis from ``start`` to ``end``."""

    low: float
    high: float
    start: float
    end: float

    @property
    def width(self) -> float:
        """How wide it is along the axis."""
        return self.end - self.start


@dataclass(frozen=True)
class Body:
    """The bands of a gear's body: hub and face are one where it has no hub; ``web`` is None where it has none."""

    hub: Band
    web: Band | None
    face: Band


def body_of(shape: Polygon, least: float) -> Body | None:
    """The bands of an outline about its axis, in (z, radius); None where it has none.

    A web is the thinnest band with a wider one on either side of it.
    """
    bands = list(_bands(shape, least))
    if not bands:
        return None
    webs = [
        each
        for k, each in enumerate(bands)
        if all(any(other.width > each.width + least for other in side) for side in (bands[:k], bands[k + 1 :]))
    ]
    web = min(webs, key=lambda each: each.width, default=None)
    within = [each for each in bands if web is None or each.high <= web.low]
    beyond = [each for each in bands if web is None or each.low >= web.high]
    if web is None:
        return Body(bands[0], None, bands[-1])
    return Body(max(within, key=lambda each: each.width), web, max(beyond, key=lambda each: each.width))


def _bands(shape: Polygon, least: float) -> Iterator[Band]:
    radii = sorted({abs(r) for _, r in shape.exterior.coords} | {0.0})
    left, _, right, _ = shape.bounds
    found = []
    for low, high in pairwise(radii):
        if high - low > least:
            middle = (low + high) / 2
            across = shape.intersection(LineString([(left, middle), (right, middle)]))
            if across.length:
                found.append(Band(low, high, across.bounds[0], across.bounds[2]))
    ends = groupby(found, key=lambda each: (round(each.start / least), round(each.end / least)))
    for _, alike in ends:
        first, *rest = alike
        yield Band(first.low, (rest or [first])[-1].high, first.start, first.end)


def with_body_sizes(begun: Draft, plan: GearPlan, sizes: BodySizes) -> Draft:
    """A gear's side view in which what a person measured is given; what figures say has the right of way."""
    if plan.spec is None or plan.view == begun.view.name or sizes == NOT_MEASURED or not begun.shape.rings:
        return begun
    slack = Pen(begun.view.frame.paper_mm, begun.view.pen_mm).slack(TOOTH_MM)
    for axis, middle in middles(begun):
        tips = pair_at(begun, axis, middle, plan.spec.tip_radius_mm, slack)
        if tips is not None and tips == outermost(begun, axis):
            given = tuple(_relations(begun, axis, middle, plan.spec.root_radius_mm, sizes))
            return replace(begun, given=(*begun.given, *given))
    return begun


def _relations(begun: Draft, axis: Axis, middle: float, root_mm: float, sizes: BodySizes) -> Iterator[Relation]:
    drawn = outline.ring_polygon(begun.shape.plane, begun.shape.rings[0])
    laid = [(x, y - middle) if axis is Axis.Y else (y, middle - x) for x, y in drawn.exterior.coords]
    body = body_of(Polygon(laid), LEAST_MM * begun.view.frame.paper_mm)
    if body is None:
        return
    along = Axis.X if axis is Axis.Y else Axis.Y
    for band, size in ((body.face, sizes.thickness), (body.hub, sizes.hub), (body.web, sizes.web)):
        if band is not None and size is not None:
            yield apart((_nearest(begun, along, band.start), _nearest(begun, along, band.end)), size)
    if body.web is not None and sizes.rim is not None:
        yield apart(_about(begun, axis, middle, body.web.high), 2 * (root_mm - sizes.rim))
    if body.hub != body.face and sizes.hub_diameter is not None:
        yield apart(_about(begun, axis, middle, body.hub.high), sizes.hub_diameter)


def _about(begun: Draft, axis: Axis, middle: float, radius: float) -> tuple[int, int]:
    """The levels at a radius on either side of the middle."""
    return _nearest(begun, axis, middle - radius), _nearest(begun, axis, middle + radius)


def _nearest(begun: Draft, axis: Axis, place: float) -> int:
    return min(levels_of(begun, axis), key=lambda unknown: abs(begun.unknowns.drawn[unknown] - place))
