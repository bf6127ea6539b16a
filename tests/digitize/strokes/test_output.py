"""Strokes carried from the working frame to the level one."""

import numpy as np
import pytest

from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.gearing.roundness import Squeeze
from digitize.strokes.output import strokes_from
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Role
from digitize.strokes.tracks import Track
from tests.digitize.strokes.drawn import Picture

SHRUNK = np.diag([1.004, 0.996, 1.0])  # the sheet is wider than it was drawn, and lower
TOP = 200.0


@pytest.mark.parametrize(("radius", "is_line"), [(39000.0, True), (150.0, False)])
def test_an_arc_within_its_error_of_a_straight_line_is_carried_as_one(radius: float, is_line: bool) -> None:
    """Its circle would be carried by eight thousandths of its radius beside its ink."""
    half = 74.0
    track = Track(ARC, 200.0, TOP + radius, radius=radius)
    middle = -np.pi / 2 * radius  # s grows clockwise as seen, from the right
    run = tuple(track.point(middle + s) for s in (-half, 0.0, half))
    piece = Piece(track, middle - half, middle + half, 5.0, 0.2, (), (run,))
    page = Page(Picture(400, 400).ground(), [piece], [], 0.0, [Role.VISIBLE])
    strokes = strokes_from(page, [("A", "view", [0])], [0], SHRUNK, Squeeze(0.008, 0.0001), [], [])
    assert (len(strokes.lines), len(strokes.arcs)) == ((1, 0) if is_line else (0, 1))
    for line in strokes.lines:
        assert np.allclose([line.start[1], line.end[1]], 0.996 * TOP, atol=0.1)
