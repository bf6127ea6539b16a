"""What the entities of a profile must never be."""

from pathlib import Path

import ezdxf
import pytest

from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.meetings import Node
from digitize.redraw.planes.plane import Piece, Plane
from digitize.redraw.planes.plane_strokes import Round
from digitize.redraw.solving.profile import Profile
from digitize.redraw.writing import layers
from digitize.redraw.writing.profile_entities import _add_piece
from tests.digitize.redraw.hand_drawn import stepped_shaft
from tests.digitize.redraw.test_part import written


@pytest.mark.parametrize(("radius", "count"), [(5.0, 1), (2e-13, 0)])
def test_an_arc_that_was_drawn_in_to_a_point_is_not_written(radius: float, count: int) -> None:
    nodes = (Node((radius, 0.0), frozenset({0})), Node((0.0, radius), frozenset({0})))
    piece = Piece(0, 0, 1)
    drawn = Plane((Round(Circular((0.0, 0.0), radius, 0.0, 90.0), 0),), (), nodes, (piece,))
    drawing = ezdxf.new()
    _add_piece(drawing, Profile(drawn), piece, 1.0, layers.EDGE)
    assert len(drawing.modelspace()) == count


@pytest.mark.parametrize(("height", "count"), [(3.0, 0), (9.0, 2)])
def test_strokes_of_a_figure_within_an_outline_are_no_edges(height: float, count: int, tmp_path: Path) -> None:
    """A 7 that stands by itself within the shaft; larger than letters are, it may be an edge. Two shoulders stay."""
    print_ = stepped_shaft()
    print_.path((120.0, 115.0 + height), (120.0 + height / 2, 115.0 + height), (120.0 + height / 4, 115.0))
    drawing, _report = written(print_, tmp_path)
    assert len(drawing.modelspace().query(f"LINE[layer=='{layers.EDGE}']")) == 2 + count
