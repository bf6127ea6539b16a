"""Figures of neighbouring dimension lines that read as one number."""

import pytest

from digitize.lettering.read import read_blocks
from digitize.lettering.reading.two_figures import may_be_two
from digitize.lettering.text import Layout, Reading, Text, TextBlock
from tests.digitize.lettering.sheets import Board

BLOCK = TextBlock(((300.0, 279.0), (430.0, 279.0), (430.0, 321.0), (300.0, 321.0)), 0.0, 42.0)


@pytest.mark.parametrize(
    ("readings", "two"),
    [
        ((("125", 0.99), ("12 5", 0.003)), True),
        ((("211", 0.999), ("21 1", 0.00001)), False),
        ((("125", 0.99), ("12.5", 0.003)), False),
        ((("12", 0.99), ("1 2", 0.003)), False),  # two digits may be lettered wide
        ((("1.25", 0.99), ("1 25", 0.003)), False),
        ((), False),
    ],
)
def test_a_number_may_be_two_where_the_reader_sees_a_gap(readings: tuple[tuple[str, float], ...], two: bool) -> None:
    assert may_be_two(Text(BLOCK, tuple(Reading(*each) for each in readings))) is two


class Gapped:
    """Reads a long crop as one number with a gap in it, a short one as a figure."""

    name = "gapped"

    def read(self, crops: list, layouts: list[Layout]) -> list[tuple[Reading, ...]]:  # type: ignore[type-arg]
        short = (Reading("5", 0.99),)
        long = (Reading("125", 0.99), Reading("12 5", 0.005))
        return [long if crop.shape[1] > 150 else short for crop in crops]


@pytest.mark.parametrize(("figures", "found"), [((("12", 330), ("5", 415)), ["5", "5"]), ((("885", 365),), ["125"])])
def test_it_is_cut_where_the_paper_between_is_wide(figures: tuple[tuple[str, float], ...], found: list[str]) -> None:
    board = Board()
    for text, x in figures:
        board.write(text, (x, 300))
    assert [text.readings[0].text for text in read_blocks(board.sheet(), [BLOCK], Gapped())] == found
