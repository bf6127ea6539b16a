"""A print that was taken back says so, and whoever would make the part is told."""

import pytest

from digitize.lettering.meaning.withdrawn import withdrawn_warnings
from digitize.lettering.text import Reading, Text, TextBlock

BLOCK = TextBlock(((0, 0), (90, 0), (90, 20), (0, 20)), 0.0, 20.0)


def text(*readings: tuple[str, float]) -> Text:
    return Text(BLOCK, tuple(Reading(*each) for each in readings))


@pytest.mark.parametrize("words", ["SUPERSEDED BY M-1234", "Obsolete", "VOID", "THIS PRINT IS NOT TO BE USED"])
def test_words_that_take_a_drawing_back_are_told(words: str) -> None:
    (told,) = withdrawn_warnings([text((words, 0.6)), text((words, 0.9))])
    assert words in told


@pytest.mark.parametrize("words", ["SUPERSEDES M-1234", "AVOID SHARP CORNERS", "1 3/8", "MATERIAL BRASS"])
def test_other_words_are_not(words: str) -> None:
    assert withdrawn_warnings([text((words, 1.0))]) == ()


def test_an_unlikely_reading_tells_nothing_and_a_second_one_may() -> None:
    assert withdrawn_warnings([text(("V0ID", 0.7), ("VOID", 0.05))]) == ()
    assert len(withdrawn_warnings([text(("V0ID", 0.6), ("VOID", 0.3))])) == 1
