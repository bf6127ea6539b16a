"""What the entities of a profile must never be."""

import ezdxf
import pytest

from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.meetings import Node
from digitize.redraw.planes.plane import Piece, Plane
from digitize.redraw.planes.plane_strokes import Round
from digitize.redraw.solving.profile import Profile
from digitize.redraw.writing import layers
from digitize.redraw.writing.profile_entities import _add_piece


@pytest.mark.parametrize(("radius", "count"), [(5.0, 1), (2e-13, 0)])
def test_an_arc_that_was_drawn_in_to_a_point_is_not_written(radius: float, count: int) -> None:
    nodes = (Node((radius, 0.0), frozenset({0})), Node((0.0, radius), frozenset({0})))
    piece = Piece(0, 0, 1)
    drawn = Plane((Round(Circular((0.0, 0.0), radius, 0.0, 90.0), 0),), (), nodes, (piece,))
    drawing = ezdxf.new()
    _add_piece(drawing, Profile(drawn), piece, 1.0, layers.EDGE)
    assert len(drawing.modelspace()) == count
