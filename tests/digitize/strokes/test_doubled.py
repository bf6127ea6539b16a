"""Lines closer than their pen is wide are two where their ends or their dashes tell, and one where nothing does."""

import math

import pytest

from digitize.strokes.primitives import Dash, Line, Role, Strokes
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture

PEN, FINE = 6.0, 2.5
LEFT, RIGHT, TOP, BOTTOM = 100.0, 420.0, 80.0, 240.0


def traced(picture: Picture) -> Strokes:
    """With fine lines, and enough edges to show what their pen is."""
    picture.line((40, 160), (480, 160), FINE).line((60, 300), (480, 300), FINE)
    for y in (330.0, 360.0, 390.0):
        picture.line((60, y), (480, y), PEN)
    return trace_strokes(picture.sheet(3.0), picture.no_lettering())


def shaft(apart: float, depth: float, turn: bool = False) -> Picture:
    """The end of a shaft with a chamfer: its last line ``apart`` behind the one before and ``depth`` shorter."""
    picture = Picture(520, 420)
    end = RIGHT + apart
    for p, q in (
        ((LEFT, TOP), (RIGHT, TOP)), ((LEFT, BOTTOM), (RIGHT, BOTTOM)), ((LEFT, TOP), (LEFT, BOTTOM)),
        ((RIGHT, TOP), (RIGHT, BOTTOM)), ((end, TOP + depth), (end, BOTTOM - depth)),
        ((RIGHT, TOP), (end, TOP + depth)), ((RIGHT, BOTTOM), (end, BOTTOM - depth)),
    ):  # fmt: skip
        (ax, ay), (bx, by) = ((520 - x, y) if turn else (x, y) for x, y in (p, q))
        picture.line((ax, ay), (bx, by), PEN)
    return picture


def upright(strokes: Strokes, x: float) -> list[Line]:
    """Long upright edges near a place, from the left."""
    found = [s for s in strokes.lines if abs(s.start[0] - s.end[0]) < 2 and math.dist(s.start, s.end) > 80]
    return sorted((s for s in found if abs(s.start[0] - x) < 10), key=lambda s: s.start[0])


@pytest.mark.parametrize("turn", [False, True], ids=["on the right", "on the left"])
@pytest.mark.parametrize(("apart", "depth"), [(5.0, 5.0), (5.5, 8.0)])
def test_the_chamfer_of_a_shaft_is_two_lines_and_the_slants_between(apart: float, depth: float, turn: bool) -> None:
    strokes = traced(shaft(apart, depth, turn))
    first, second = upright(strokes, 520 - RIGHT if turn else RIGHT)
    through, last = (second, first) if turn else (first, second)
    assert abs(through.start[0] - (520 - RIGHT if turn else RIGHT)) < 0.4
    assert abs(last.start[0] - (520 - RIGHT - apart if turn else RIGHT + apart)) < 0.4
    assert sorted((last.start[1], last.end[1])) == pytest.approx([TOP + depth, BOTTOM - depth], abs=1.5)
    assert last.width_px == pytest.approx(PEN, abs=0.6)
    edge = max(math.dist(s.start, s.end) for s in strokes.lines if abs(s.start[1] - TOP) < 2 > abs(s.end[1] - TOP))
    assert edge == pytest.approx(RIGHT - LEFT, abs=1.0)
    slants = [s for s in strokes.lines if 0.3 * apart < abs(s.start[0] - s.end[0]) < 2 * apart]
    assert len(slants) == 2


def test_a_dashed_line_that_touches_an_edge_is_one_of_its_own() -> None:
    picture = shaft(40.0, 40.0).broken((110, TOP + 5), (410, TOP + 5), [30, 12], PEN)
    strokes = traced(picture)
    level = [s for s in strokes.lines if abs(s.start[1] - s.end[1]) < 2 and abs(s.start[1] - TOP) < 10]
    solid, dashed = sorted((s for s in level if math.dist(s.start, s.end) > 200), key=lambda s: s.start[1])
    assert abs(solid.start[1] - TOP) < 0.4
    assert abs(dashed.start[1] - TOP - 5) < 0.4
    assert (solid.role, dashed.role) == (Role.VISIBLE, Role.HIDDEN)
    assert (solid.dash, dashed.dash) == (Dash.SOLID, Dash.DASHED)


def test_a_heavy_line_with_both_sides_alike_is_one() -> None:
    """A shaded edge, drawn wider, between two fine ones."""
    picture = shaft(40.0, 40.0).line((LEFT, BOTTOM + 2.5), (RIGHT, BOTTOM + 2.5), PEN)
    for x in (LEFT, RIGHT):
        picture.line((x, BOTTOM), (x, BOTTOM + 2.5), PEN)
    (edge,) = (s for s in traced(picture).lines if s.width_px > 7.5 and math.dist(s.start, s.end) > 200)
    assert abs(edge.start[1] - BOTTOM - 1.25) < 0.5
