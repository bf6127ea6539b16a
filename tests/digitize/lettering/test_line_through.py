"""Figures that an office crossed out when it changed a size (ASME Y14.35 names crossing out; from memory)."""

import pytest

from digitize.lettering.reading.line_through import line_through
from digitize.lettering.text import LineThrough, Reading, Text, TextBlock
from tests.digitize.lettering.sheets import Board, Point

X, Y = 300, 200
HALF_HIGH = 21.0
Stroke = tuple[Point, Point]


def _through(
    read: str, half_long: float, *strokes: Stroke, board: Board | None = None, deep: float = 1.0
) -> LineThrough:
    if board is None:
        board = Board(600, 400)
        board.write(read, (X, Y))
    for start, end in strokes:
        board.line((X + start[0], Y + start[1]), (X + end[0], Y + end[1]))
    left, right, top, bottom = X - half_long, X + half_long, Y - deep * HALF_HIGH, Y + deep * HALF_HIGH
    block = TextBlock(((left, top), (right, top), (right, bottom), (left, bottom)), 0.0, 2 * HALF_HIGH)
    return line_through(board.sheet(), Text(block, (Reading(read, 0.99),), "test"))


LEVEL, RISING, FALLING = ((-80, 2), (80, -2)), ((-75, 18), (75, -16)), ((-75, -18), (75, 16))
TWICE = ((-80, -6), (80, -6)), ((-80, 6), (80, 6))


@pytest.mark.parametrize("strokes", [(LEVEL,), (RISING,), (FALLING,), (RISING, FALLING), TWICE])
def test_a_line_through_a_figure_from_end_to_end_strikes_it_out(strokes: tuple[Stroke, ...]) -> None:
    assert _through("4.375", 66, *strokes) is LineThrough.OUT


@pytest.mark.parametrize("sign", ["8", "5", "2"])
def test_a_line_through_a_single_sign_leaves_a_doubt_at_least(sign: str) -> None:
    assert _through(sign, 26, ((-34, 10), (34, -10))) in (LineThrough.PERHAPS, LineThrough.OUT)


@pytest.mark.parametrize("sign", ["8", "5", "2", "7", "4", "1"])
def test_a_single_sign_has_no_such_line_of_its_own(sign: str) -> None:
    assert _through(sign, 14) is LineThrough.NONE


@pytest.mark.parametrize("gap", [0, 12])
def test_a_dimension_line_that_nobody_broke_goes_on(gap: int) -> None:
    dashes = [((x, 1.0), (x + 24 - gap, 1.0)) for x in range(-192, 168, 24) if not -66 < x < 66]
    assert _through("4.375", 66, ((-75, 1), (75, 1)), *dashes) is LineThrough.ALONG


@pytest.mark.parametrize("read", ["4.375", "1.125", "110", "88", "Ø47", "2 HOLES", "7-16", "±.001", "44 77"])
def test_a_figure_alone_is_not_struck_out(read: str) -> None:
    assert _through(read, 16.0 * len(read)) is LineThrough.NONE


@pytest.mark.parametrize(
    "stroke",
    [
        ((-90, 34), (90, 34)),  # an underline, or a table's rule
        ((-300, -32), (300, -32)),
        ((-10, -60), (10, 60)),  # an extension line, or a section line, crosses it
        ((-60, 60), (0, -60)),
        ((-80, 0), (-10, 0)),  # an arrow runs into it
    ],
)
def test_lines_beside_a_figure_or_across_it_do_not_strike_it_out(stroke: Stroke) -> None:
    assert _through("4.375", 66, stroke) is LineThrough.NONE


@pytest.mark.parametrize("struck", [True, False])
def test_the_bar_of_a_lone_fraction_is_no_line_through_it(struck: bool) -> None:
    board = Board(600, 400)
    board.fraction("", "13", "16", (X, Y))
    strokes = (((-40, -36), (40, 36)),) if struck else ()
    assert (_through("13/16", 30, *strokes, board=board, deep=2.2) is LineThrough.OUT) is struck


def test_words_are_not_looked_at() -> None:
    assert _through("BORED", 66, LEVEL) is LineThrough.NONE
