"""A word that runs into a neighbour's arrowhead is read on, letter by letter; no number is."""

from collections.abc import Sequence

import pytest

from digitize.lettering.reading.words_finished import with_words_finished
from digitize.lettering.text import Reading, Text, TextBlock
from tests.digitize.lettering.test_beside import block, sheet_with_strokes

LETTER_PX = 25.0
TOUCHED = (252, 95, 256, 135), (252, 128, 420, 132), (252, 95, 275, 99)
"""A letter behind the block, its foot run into a line."""


def read_on(said: str, whole: str, probability: float = 0.99) -> tuple[str, float, float]:
    """What becomes of a text where longer blocks show more letters of ``whole``: reading, probability, right end."""
    text = Text(block(100, 95, 250, 135), (Reading(said, 0.9),))

    def read(blocks: Sequence[TextBlock]) -> list[Text]:
        shown = [len(said) + int((b.quad[1][0] - 250) / LETTER_PX) for b in blocks]
        return [Text(b, (Reading(whole[:n], probability),)) for b, n in zip(blocks, shown, strict=True)]

    (found,) = with_words_finished(sheet_with_strokes(*TOUCHED), [text], read)
    return found.readings[0].text, found.readings[0].probability, found.block.quad[1][0]


def test_a_word_that_runs_into_something_is_read_to_its_end() -> None:
    said, probability, end = read_on("8 × 3.3 KEYS", "8 × 3.3 KEYSEAT")
    assert (said, probability) == ("8 × 3.3 KEYSEAT", 0.99)
    assert end >= 250 + 3 * LETTER_PX


@pytest.mark.parametrize(
    ("said", "whole"),
    [("8 × 3.3 KEYS", "8 × 3.3 KEYS 18"), ("8 × 3.3 KEYS", "8 × 3.3 KEYSLOB"), ("3 1/4", "3 1/45"), ("3 D", "5 DIA")],
)
def test_what_is_no_more_of_the_word_is_not_read_on(said: str, whole: str) -> None:
    assert read_on(said, whole) == (said, 0.9, 250.0)


def test_a_word_read_on_poorly_is_left() -> None:
    assert read_on("8 × 3.3 KEYS", "8 × 3.3 KEYSEAT", 0.6) == ("8 × 3.3 KEYS", 0.9, 250.0)


def test_a_word_that_nobody_writes_is_read_to_its_end_though_nothing_shows_behind_it() -> None:
    """An edge runs through its last letter, and is no ink of it."""
    text = Text(block(100, 95, 250, 135), (Reading("1 1/8 BOR", 0.999),))
    whole = Reading("1 1/8 BORE", 0.99)
    (found,) = with_words_finished(sheet_with_strokes(), [text], lambda some: [Text(b, (whole,)) for b in some])
    assert found.readings[0] == whole
