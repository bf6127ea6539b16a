"""A bolt circle's figure as relations: every hole that it speaks of lies half the figure from one centre."""

import math
from collections.abc import Callable

import numpy as np

from calibrate.sheet import FloatArray
from digitize.redraw.planes.plane_strokes import Pen
from digitize.redraw.solving.figures import Demand, Ends, PlacedFigure, direction
from digitize.redraw.solving.habits import FEWEST_HOLES
from digitize.redraw.solving.relations import CONCENTRIC_MM
from digitize.redraw.solving.solve import Relation, Values
from digitize.redraw.solving.unknowns import CircleUnknowns, Unknowns

NAME = "bolt_circle"


def bolt_circle_demand(figure: PlacedFigure, unknowns: Unknowns, pen: Pen) -> Demand | str:
    """What ``6 HOLES ON 4 1/2 B.C.`` demands of the holes, and of the pitch circle where one is drawn.

    The figure's arcs are the holes. They are measured from a circle about their common middle, drawn or not; where
    no circle has its centre there the figure shapes nothing.
    """
    geometry = figure.dimension.geometry
    assert geometry is not None
    holes = [unknowns.circles[arc] for arc in geometry.arcs if arc in unknowns.circles]
    if len(holes) < FEWEST_HOLES:
        return "the holes of its bolt circle are no edges of this view"
    middle = _middle(holes)
    about = [each for each in unknowns.circles.values() if each not in holes]
    centre = min(about, key=lambda each: math.dist(each.drawn.centre, middle), default=None)
    if centre is None or math.dist(centre.drawn.centre, middle) > pen.slack(CONCENTRIC_MM):
        return "no circle is drawn about the middle of its holes"
    drawn = [2 * math.dist(each.drawn.centre, centre.drawn.centre) for each in holes]
    if any(figure.strays(each, pen.paper_mm) for each in drawn):
        return "the holes it was tied to lie on another circle"
    towards = direction(figure.first, figure.second)

    def ends(values: FloatArray) -> Ends:
        x, y = float(values[centre.x]), float(values[centre.y])
        reach = [figure.value / 2 * each for each in towards]
        start, end = (x - reach[0], y - reach[1]), (x + reach[0], y + reach[1])
        return Ends(start, end, start, end)

    spokes = [
        Relation((each.x, each.y, centre.x, centre.y), _off_spoke(figure.value / 2), figure.dimension.id)
        for each in holes
    ]
    return Demand(spokes[0], ends, tuple(spokes[1:]))


def _middle(holes: list[CircleUnknowns]) -> tuple[float, float]:
    """Centre of the circle through the holes' centres, by linear least squares (2 x . c + k = |x|^2)."""
    places = np.array([each.drawn.centre for each in holes])
    origin = places.mean(axis=0)
    offsets = places - origin
    design = np.column_stack([2 * offsets, np.ones(len(places))])
    x, y, _ = np.linalg.lstsq(design, (offsets**2).sum(axis=1), rcond=None)[0]
    return float(x + origin[0]), float(y + origin[1])


def _off_spoke(radius: float) -> Callable[[Values], complex]:
    def residual(values: Values) -> complex:
        x, y, centre_x, centre_y = values
        return complex(np.sqrt((x - centre_x) ** 2 + (y - centre_y) ** 2) - radius)

    return residual
