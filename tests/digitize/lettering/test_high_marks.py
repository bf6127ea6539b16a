"""Foot and inch marks that stand high over their figures."""

from digitize.lettering.finding.high_marks import with_high_marks
from digitize.lettering.text import Reading, Text, TextBlock
from tests.digitize.lettering.sheets import Board


def _board(*marks: tuple[float, float]) -> tuple[Board, TextBlock]:
    """3-4 with slanting strokes over it; each begins at an x and a y."""
    board = Board(600, 400)
    board.write("3-4", (300, 200))
    for x, y in marks:
        board.line((x, y), (x - 8, y + 22))
    return board, TextBlock(((245.0, 180.0), (355.0, 180.0), (355.0, 220.0), (245.0, 220.0)), 0.0, 41.0)


def _read(board: Board, block: TextBlock, *said: tuple[str, float]) -> list[tuple[str, float]]:
    text = Text(block, tuple(Reading(*item) for item in said), "test")
    return [(reading.text, reading.probability) for reading in with_high_marks(board.sheet(), text).readings]


FOOT, INCH = (300, 148), ((352, 148), (368, 148))


def test_one_stroke_and_two_strokes_over_the_figures_are_feet_and_inches() -> None:
    board, block = _board(FOOT, *INCH)
    assert _read(board, block, ("3-4", 0.6), ("34", 0.3), ("8-4", 0.1)) == [("3'-4\"", 0.6 + 0.3), ("8'-4\"", 0.1)]
    assert _read(board, block, ("3-4 1/2", 0.6)) == [("3'-4 1/2\"", 0.6)]


def test_without_all_three_strokes_nothing_is_added() -> None:
    for marks in ((), (FOOT,), INCH, (FOOT, INCH[0]), (*INCH, FOOT, (320, 148))):
        board, block = _board(*marks)
        assert _read(board, block, ("34", 0.9)) == [("34", 0.9)]


def test_other_figures_are_left_alone() -> None:
    board, block = _board(FOOT, *INCH)
    assert _read(board, block, ("3.4", 0.9)) == [("3.4", 0.9)]
    assert _read(board, block, ("344", 0.9)) == [("344", 0.9)]  # three figures may part in two ways
