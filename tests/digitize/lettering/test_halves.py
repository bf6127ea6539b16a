"""A numerator or a denominator found alone is doubted, where something larger reads as its fraction."""

from collections.abc import Sequence

import pytest

from digitize.lettering.reading.halves import with_halves_doubted
from digitize.lettering.text import Layout, Reading, Text, TextBlock


def block(top: float, bottom: float, layout: Layout, left: float = 100.0, right: float = 130.0) -> TextBlock:
    return TextBlock(((left, top), (right, top), (right, bottom), (left, bottom)), 0.0, 40.0, layout)


UPPER, LOWER = block(100, 140, Layout.ROW, right=150), block(150, 190, Layout.ROW)
WHOLE = block(100, 190, Layout.STACK, right=150)


def doubted(upper: str, lower: str, whole: str, probability: float = 0.99) -> list[bool]:
    texts = [Text(UPPER, (Reading(upper, 0.99),)), Text(LOWER, (Reading(lower, 0.99),))]

    def read(blocks: Sequence[TextBlock]) -> list[Text]:
        return [Text(each, (Reading(whole, probability),)) for each in blocks]

    return [text.readings[0].probability < 0.9 for text in with_halves_doubted(texts, [WHOLE], read)]


@pytest.mark.parametrize("whole", ['7/8"', '7/8" DIA', "1 7/8", "7/8"])
def test_both_halves_of_a_fraction_are_doubted(whole: str) -> None:
    assert doubted('7"', "8", whole) == [True, True]


@pytest.mark.parametrize("whole", ["7\n8", "8/7", '17/88"', "78"])
def test_what_the_whole_does_not_say_is_not(whole: str) -> None:
    assert doubted('7"', "8", whole) == [False, False]


def test_a_fraction_that_reads_poorly_raises_no_doubt() -> None:
    assert doubted('7"', "8", '7/8"', probability=0.5) == [False, False]


def test_a_longer_figure_is_no_half() -> None:
    assert doubted('1 3/8"', "8", '3/8"') == [False, True]
