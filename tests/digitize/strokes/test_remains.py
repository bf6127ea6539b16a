"""What is read as lettering, and what lies within an arrowhead, is no stroke; everything else stays."""

from dataclasses import replace

import pytest

from digitize.lettering.text import Reading, Text, TextBlock
from digitize.strokes.primitives import Arc, Arrowhead, Dash, Line, Role, Strokes
from digitize.strokes.remains import without_remains

SHAFT = Line((100.0, 200.0), (180.0, 200.0), 2.0, role=Role.DIMENSION)
HEAD = Arrowhead((100.0, 200.0), 180.0, 10.0, "open", line=1)
EDGE = Line((100.0, 150.0), (100.0, 250.0), 2.0)
BARB = Line((101.0, 200.5), (108.0, 204.0), 2.0)


def figure(probability: float = 0.95) -> Text:
    """A figure 40 px wide and 20 px tall that reads from left to right, from (200, 190)."""
    corners = (200.0, 190.0), (240.0, 190.0), (240.0, 210.0), (200.0, 210.0)
    return Text(TextBlock(corners, 0.0, 20.0), (Reading("1 1/2", probability),))


def left_of(*strokes: Line | Arc, probability: float = 0.95) -> set[Line | Arc]:
    lines = (EDGE, SHAFT, *(s for s in strokes if isinstance(s, Line)))
    arcs = tuple(s for s in strokes if isinstance(s, Arc))
    kept = without_remains(Strokes(lines, arcs, (HEAD,)), [figure(probability)])
    assert kept.lines[:2] == (EDGE, SHAFT)
    return {*kept.lines[2:], *kept.arcs}


def test_barbs_go_with_their_head() -> None:
    assert left_of(BARB) == set()


def test_the_ink_of_two_heads_tip_to_tip_is_no_edge() -> None:
    """Dimensions in a row: both heads and what of the line lies in them, traced as one thick stroke."""
    beyond, ink = (
        Line((20.0, 200.0), (100.0, 200.0), 2.0, role=Role.DIMENSION),
        Line((90.5, 200.0), (109.5, 200.0), 5.0),
    )
    edge = Line((60.0, 200.0), (109.5, 200.0), 5.0)
    heads = HEAD, Arrowhead((100.0, 200.0), 0.0, 10.0, "filled", line=2)
    lines = without_remains(Strokes((EDGE, SHAFT, beyond, ink, edge), (), heads), []).lines
    assert lines == (EDGE, SHAFT, beyond, edge)


@pytest.mark.parametrize(
    "stroke",
    [
        Line((96.0, 196.0), (99.0, 190.0), 2.0),
        Line((101.0, 200.5), (118.0, 209.0), 2.0),
        replace(BARB, dash=Dash.DASHED),
        replace(BARB, role=Role.LEADER),
    ],
    ids=["ahead of the tip", "longer than the head", "a dashed line", "a leader"],
)
def test_what_is_no_barb_stays(stroke: Line) -> None:
    assert left_of(stroke) == {stroke}


def test_strokes_of_a_figure_go_where_it_was_read() -> None:
    one, bow = Line((204.0, 192.0), (204.0, 208.0), 2.0), Arc((230.0, 200.0), 6.0, 90.0, 180.0, 2.0)
    assert left_of(one, bow) == set()
    assert left_of(one, bow, probability=0.5) == {one, bow}


def test_an_edge_that_runs_through_a_figure_stays() -> None:
    edge = Line((215.0, 170.0), (215.0, 240.0), 2.0)
    assert left_of(edge) == {edge}


def test_marks_of_inches_go_with_their_figure() -> None:
    assert left_of(*(Line((x + 2.0, 184.0), (x, 192.0), 2.0) for x in (245.0, 250.0))) == set()


@pytest.mark.parametrize(
    "stroke",
    [
        Line((245.0, 200.0), (254.0, 200.0), 2.0),
        Line((250.0, 180.0), (250.0, 198.0), 2.0),
        Line((190.0, 184.0), (190.0, 192.0), 2.0),
    ],
    ids=["a dash of its dimension line", "too long", "before the figure"],
)
def test_what_is_no_mark_of_inches_stays(stroke: Line) -> None:
    assert left_of(stroke) == {stroke}


def test_heads_keep_their_lines() -> None:
    drawn = Strokes((BARB, SHAFT, EDGE), (), (HEAD,))
    (head,) = without_remains(drawn, []).arrowheads
    assert head.line == 0
