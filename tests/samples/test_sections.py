"""The marks of a cutting plane: what a reader of the print must see of them (ISO 128-40, from memory)."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely import LineString, Polygon, union_all

from samples.board import Board, Style
from samples.lettering import HAND, Hand
from samples.notation import Notation
from samples.raster import head_triangle
from samples.sections import cut_mark

STYLE = Style(Notation("mm"), Hand(HAND))
LEAST_SEEN = 0.3
"""Share of a head's area outside its heavy stroke from which anybody sees an arrow; ours."""


def marked(style: Style) -> Board:
    board = Board(style, np.random.default_rng(1), np.random.default_rng(2), {})
    view = board.view("A", (100.0, 100.0), 1.0, 1.0, (-20.0, -10.0, 20.0, 10.0))
    cut_mark(board, view, 0.0, 10.0, "A")
    return board


@pytest.mark.parametrize("arrow", ["filled", "open", "hand"])
@pytest.mark.parametrize("wide_mm", [0.5, 0.7])
def test_the_arrows_of_a_cutting_plane_stand_out_of_their_heavy_stroke(arrow: str, wide_mm: float) -> None:
    board = marked(replace(STYLE, arrow=arrow, wide_mm=wide_mm))
    stroke = union_all([LineString([s.p0, s.p1]).buffer(wide_mm / 2) for s in board.lines if s.role == "cutting"])
    assert len(board.heads) == 2
    for head in board.heads:
        drawn = Polygon(head_triangle(head))
        assert drawn.difference(stroke).area >= LEAST_SEEN * drawn.area
        assert head.form != "filled" or stroke.distance(LineString([head.tip, head.tip])) > 0.5 * head.length_mm


def test_both_arrows_look_the_same_way() -> None:
    ways: NDArray[np.float64] = np.array([head.direction_deg for head in marked(STYLE).heads])
    assert (ways == ways[0]).all()
