"""What keeps outlines closed, on a plane made by hand."""

import math

import pytest

from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.faces import Step
from digitize.redraw.planes.meetings import Node
from digitize.redraw.planes.outline import Ring
from digitize.redraw.planes.plane import Piece, Plane
from digitize.redraw.planes.plane_strokes import Round, Straight
from digitize.redraw.solving.joints import joints_of
from digitize.redraw.solving.unknowns import CircleUnknowns, Unknowns

CIRCLE = Circular((0.0, 0.0), 5.0, 90.0, 270.0)


@pytest.mark.parametrize("chord", [False, True])
def test_a_line_touches_its_circle_but_a_chord_does_not(chord: bool) -> None:
    """From (5, 0), which is on the circle, to a point off it the radius is square to the line; if the other end is on
    the circle too, both could hold only of a circle drawn in to nothing."""
    end = (0.0, 5.0)
    far = Node(end, frozenset({0, 1}) if chord else frozenset({0}))
    near = Node((5.0, 0.0), frozenset({0, 1}), touching=frozenset({(0, 1)}))
    plane = Plane((Straight(near.at, end), Round(CIRCLE, 0)), (), (near, far), (Piece(0, 0, 1), Piece(1, 1, 0)))
    unknowns = Unknowns()
    x, y, radius = (unknowns.add(value, 1.0) for value in (0.0, 0.0, 5.0))
    unknowns.circles, unknowns.rounds = {0: CircleUnknowns(x, y, radius, CIRCLE)}, {1: 0}
    joints = joints_of(unknowns, plane, [Ring(tuple(Step(each, True) for each in plane.pieces))])
    off = sorted(abs(each.value(unknowns.values)) for each in joints)
    # On the circle, each of its nodes; a radius of 5 along (-1, 1) / sqrt 2 is 5 / sqrt 2 out of square.
    assert off == pytest.approx([0.0, 0.0] if chord else [0.0, 5 / math.sqrt(2)])
