"""How areas change, against differences of the areas themselves."""

import math
from itertools import pairwise

import numpy as np
import pytest

from calibrate.sheet import FloatArray
from digitize.redraw.planes import plane
from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.outline import Ring, ring_area, rings
from digitize.redraw.planes.plane_strokes import Pen, Round, Straight
from digitize.redraw.solving.area_change import area_gradient
from digitize.redraw.solving.relations import describe
from digitize.redraw.solving.solve import solve
from digitize.redraw.solving.unknowns import Unknowns

STEP_MM = 1e-4
PEN = Pen(1.0)

LINK = (
    [Straight((0.0, 0.0), (50.0, 0.0)), Straight((50.0, 20.0), (0.0, 20.0))],
    [Round(Circular((50.0, 10.0), 10.0, 270.0, 180.0), 0), Round(Circular((0.0, 10.0), 10.0, 270.0, 180.0), 1)],
    [],
)
"""Round at one end; at the other the same arc bites in to it."""
WEDGE = (
    [Straight((0.0, 0.0), (40.0, 5.0)), Straight((40.0, 5.0), (30.0, 30.0)), Straight((30.0, 30.0), (0.0, 0.0))],
    [],
    [],
)
DISC = ([], [Round(Circular((5.0, 7.0), 12.0, 0.0, 360.0), 0)], [])
CAM = (
    [Straight((0.0, 0.0), (100.0, 0.0))],
    [],
    [Bent(tuple((100.0 * t, 40.0 * math.sin(math.pi * t)) for t in np.linspace(0.0, 1.0, 101).tolist()))],
)


def moved(drawn: plane.Plane, unknowns: Unknowns, values: FloatArray) -> plane.Plane:
    nodes = [(float(values[x]), float(values[y])) for x, y in unknowns.nodes]
    circles = {index: unknowns.circles[arc].moved(values) for index, arc in unknowns.rounds.items()}
    return plane.moved(drawn, nodes, circles)


@pytest.mark.parametrize("strokes", [LINK, WEDGE, DISC, CAM])
@pytest.mark.parametrize("backwards", [False, True])
def test_areas_change_as_their_gradient_says(
    strokes: tuple[list[Straight], list[Round], list[Bent]], backwards: bool
) -> None:
    """Along every way in which the nodes stay on their strokes, by central differences."""
    straights, rounds, bents = strokes
    if backwards:
        straights = [Straight(each.end, each.start) for each in straights]
        bents = [Bent(each.points[::-1]) for each in bents]
    drawn = plane.build(straights, rounds, PEN, bents)
    (ring,) = rings(drawn, 1.0)
    unknowns, joints, _, _ = describe(drawn, [ring], (), (), PEN)
    settled = solve(unknowns.values, unknowns.weights, joints)
    here, free = moved(drawn, unknowns, settled.values), settled.free
    told = area_gradient(here, ring, unknowns) @ free

    def area(way: FloatArray, ring: Ring = ring) -> float:
        return ring_area(moved(drawn, unknowns, settled.values + way), ring)

    seen = [(area(STEP_MM * way) - area(-STEP_MM * way)) / (2 * STEP_MM) for way in free.T]
    assert np.abs(seen).max() > 1.0
    assert told == pytest.approx(seen, abs=1e-5)


def test_a_round_end_that_bites_in_is_walked_against_its_arc() -> None:
    """By hand: a wider bite takes half its circumference, a wider end adds as much."""
    drawn = plane.build(*LINK[:2], PEN)
    (ring,) = rings(drawn, 1.0)
    unknowns = describe(drawn, [ring], (), (), PEN)[0]
    gradient = area_gradient(drawn, ring, unknowns)
    changes = sorted(float(gradient[each.radius]) for each in unknowns.circles.values())
    assert changes == pytest.approx([-10.0 * math.pi, 10.0 * math.pi])
    assert all(a < b for a, b in pairwise(changes))
