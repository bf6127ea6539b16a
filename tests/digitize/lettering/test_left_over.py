"""What a figure that stands in for a block leaves of it is not forgotten."""

import cv2
import pytest

from calibrate.sheet import LevelSheet
from digitize.lettering.reading.contest import contested
from digitize.lettering.reading.left_over import left_over
from digitize.lettering.text import Layout, Reading, Text, TextBlock
from tests.digitize.lettering.sheets import Board

TOP, HEIGHT_PX, STEP_PX = 100.0, 40.0, 44


def _sheet(letters: int, *, crossed: bool = False) -> LevelSheet:
    """A row of letters from x = 100 on, 44 px each; where crossed, strokes of the drawing run through each."""
    board = Board(800, 300)
    for i in range(letters):
        left = 100 + STEP_PX * i
        cv2.rectangle(board.grey, (left, int(TOP)), (left + 26, int(TOP + HEIGHT_PX) - 1), 0, 5)
        if crossed:
            cv2.line(board.grey, (left + 13, 20), (left + 13, 280), 0, 5)
    return board.sheet()


def _block(first: int, past: int) -> TextBlock:
    left, right, foot = 98.0 + STEP_PX * first, 98.0 + STEP_PX * past - 14, TOP + HEIGHT_PX
    return TextBlock(((left, TOP), (right, TOP), (right, foot), (left, foot)), 0.0, HEIGHT_PX)


@pytest.mark.parametrize(("won", "left"), [
    ((0, 5), [(5, 9)]),  # the figure's neighbour, as one of two limits
    ((4, 9), [(0, 4)]),
    ((3, 6), [(0, 3), (6, 9)]),
    ((1, 9), []),  # one letter may be of the figure itself
    ((0, 9), []),
])  # fmt: skip
def test_the_letters_before_and_behind_a_winner_stay(won: tuple[int, int], left: list[tuple[int, int]]) -> None:
    found = left_over(_sheet(9), [_block(0, 9)], [_block(*won)])
    spans = [(block.quad[0][0], block.quad[1][0]) for block in found]
    wanted = [(_block(*each).quad[0][0], _block(*each).quad[1][0]) for each in left]
    assert spans == [pytest.approx(each, abs=STEP_PX / 2) for each in wanted]


def test_rows_of_a_table_over_the_one_that_wins_stay() -> None:
    board = Board(400, 500)
    for top in (100, 170, 240):
        for left in (100, 144):
            cv2.rectangle(board.grey, (left, top), (left + 26, top + int(HEIGHT_PX) - 1), 0, 5)
    stack = TextBlock(((96.0, 98.0), (174.0, 98.0), (174.0, 282.0), (96.0, 282.0)), 0.0, HEIGHT_PX, Layout.STACK)
    won = TextBlock(((96.0, 238.0), (174.0, 238.0), (174.0, 282.0), (96.0, 282.0)), 0.0, HEIGHT_PX)
    (left,) = left_over(board.sheet(), [stack], [won])
    assert (left.quad[0][1], left.quad[2][1]) == pytest.approx((98.0, 238.0))
    assert left_over(board.sheet(), [stack], [stack]) == []


def test_strokes_of_the_drawing_are_no_letters() -> None:
    assert left_over(_sheet(9, crossed=True), [_block(0, 9)], [_block(0, 5)]) == []


def test_a_contest_gives_them_back_unread() -> None:
    """`2.125 DIA 1.749` was one row: that of the two limits 1.749 and 1.748 must not be agreed alone."""
    row, figure = _block(0, 9), _block(0, 5)
    said = {row: Text(row, (Reading("2.125 DIA 1.749", 0.01),)), figure: Text(figure, (Reading('2.125"', 0.9),))}
    won, _, unread = contested(
        _sheet(9),
        [said[row]],
        [figure],
        lambda blocks: [said[block] for block in blocks],
        lambda text: text.readings[0].probability,
    )
    assert [text.readings[0].text for text in won] == ['2.125"']
    (left,) = unread
    assert left.readings == ()
    assert left.block.quad[0][0] == pytest.approx(_block(5, 9).quad[0][0], abs=STEP_PX / 2)
