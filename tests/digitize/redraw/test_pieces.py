"""Pieces of a plane graph once it is solved."""

import math

import pytest

from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.meetings import Node
from digitize.redraw.planes.pieces import without_turned
from digitize.redraw.planes.plane import Piece, Plane
from digitize.redraw.planes.plane_strokes import Round

CENTRE, RADIUS = (0.0, 0.0), 10.0


def cut(*angles_deg: float, sweep_deg: float = 90.0) -> Plane:
    """A round stroke with a piece between each two of some nodes."""
    at = Circular(CENTRE, RADIUS, 0.0, sweep_deg)
    nodes = tuple(Node(at.at(each), frozenset({0})) for each in angles_deg)
    pieces = tuple(Piece(0, number, number + 1) for number in range(len(nodes) - 1))
    return Plane((Round(at, 0),), (), nodes, pieces)


@pytest.mark.parametrize(("ends_deg", "kept"), [((-1.0, 1.5, 85.0), 2), ((2.5, 1.5, 85.0), 1)])
def test_an_arc_whose_ends_have_passed_each_other_is_gone(ends_deg: tuple[float, ...], kept: int) -> None:
    """Two arcs of one rounding that cross a degree from an end: figures that settle one carry that end past it, and
    an arc from there to the end would be nearly a full circle."""
    solved = without_turned(cut(0.0, 1.0, 90.0), cut(*ends_deg))
    assert solved.pieces == cut(0.0, 1.0, 90.0).pieces[2 - kept :]


def test_a_circle_keeps_all_its_pieces() -> None:
    """Between two nodes that lie close together on it nothing is lost where they change places."""
    drawn, solved = cut(0.0, 1.0, 360.0, sweep_deg=360.0), cut(2.0, 1.0, 362.0, sweep_deg=360.0)
    assert without_turned(drawn, solved).pieces == drawn.pieces
    assert math.dist(drawn.nodes[0].at, drawn.nodes[2].at) == pytest.approx(0.0, abs=1e-9)
