"""Lettering that runs into something else is read on to its end: words in full trust, numbers in doubt."""

from collections.abc import Sequence

import pytest

from digitize.lettering.reading.read_on import ReadOn, read_on
from digitize.lettering.text import Reading, Text, TextBlock
from tests.digitize.lettering.test_beside import around, block

LETTER_PX = 25.0
Box = tuple[int, int, int, int]
TOUCHED_BEHIND: tuple[Box, ...] = (252, 95, 256, 135), (252, 128, 420, 132), (252, 95, 275, 99)
"""A letter behind the block, its foot run into a line."""
TOUCHED_BEFORE: tuple[Box, ...] = (74, 95, 94, 99), (74, 131, 94, 135), (74, 95, 78, 135), (85, 20, 88, 380)
"""A figure before the block, an edge through its middle."""


def finished(said: str, whole: str, probability: float = 0.99) -> tuple[str, float, float]:
    """What becomes of a text where longer blocks show more letters of ``whole``: reading, probability, right end."""
    text = Text(block(100, 95, 250, 135), (Reading(said, 0.9),))

    def read(blocks: Sequence[TextBlock]) -> list[Text]:
        shown = [len(said) + int((b.quad[1][0] - 250) / LETTER_PX) for b in blocks]
        return [Text(b, (Reading(whole[:n], probability),)) for b, n in zip(blocks, shown, strict=True)]

    (found,), _ = read_on(around(*TOUCHED_BEHIND), [text], read)
    return found.readings[0].text, found.readings[0].probability, found.block.quad[1][0]


def test_a_word_that_runs_into_something_is_read_to_its_end() -> None:
    said, probability, end = finished("8 × 3.3 KEYS", "8 × 3.3 KEYSEAT")
    assert (said, probability) == ("8 × 3.3 KEYSEAT", 0.99)
    assert end >= 250 + 3 * LETTER_PX


@pytest.mark.parametrize(("said", "whole"), [("8 × 3.3 KEYS", "8 × 3.3 KEYSLOB"), ("3 D", "5 DIA"), ("3 1/4", "3 1/4")])
def test_what_is_no_more_of_the_same_is_not_read_on(said: str, whole: str) -> None:
    assert finished(said, whole) == (said, 0.9, 250.0)


def test_what_is_read_on_poorly_is_left() -> None:
    assert finished("8 × 3.3 KEYS", "8 × 3.3 KEYSEAT", 0.6) == ("8 × 3.3 KEYS", 0.9, 250.0)


def test_a_word_that_nobody_writes_is_read_to_its_end_though_nothing_shows_behind_it() -> None:
    """An edge runs through its last letter, and is no ink of it."""
    text = Text(block(100, 95, 250, 135), (Reading("1 1/8 BOR", 0.999),))
    whole = Reading("1 1/8 BORE", 0.99)
    (found,), _ = read_on(around(), [text], lambda some: [Text(b, (whole,)) for b in some])
    assert found.readings[0] == whole


def before(said: str, strokes: Sequence[Box], others: Sequence[Text] = ()) -> tuple[list[Text], list[ReadOn]]:
    """A block is read on to the left; what is longer by a figure reads 23.00, and by another block Ø23.00."""
    text = Text(block(100, 95, 250, 135), (Reading(said, 0.9),))

    def read(blocks: Sequence[TextBlock]) -> list[Text]:
        lefts = [b.quad[0][0] for b in blocks]
        said_at = ["Ø23.00" if left < 40 else "23.00" if left < 76 else "3.00" for left in lefts]
        return [Text(b, (Reading(said, 0.98),)) for b, said in zip(blocks, said_at, strict=True)]

    return read_on(around(*strokes), [text, *others], read)


def test_a_figure_behind_one_that_an_edge_runs_through_is_read_with_it_and_believed_neither_way() -> None:
    """23.00 was found as 3.00, which would have been sure."""
    (found,), (made,) = before("3.00", TOUCHED_BEFORE)
    assert found.readings[0].text == "23.00"
    assert {r.text for r in made.both.readings} == {"23.00", "3.00"}
    assert max(r.probability for r in made.both.readings) < 0.7


def test_what_was_found_in_its_line_comes_with_it() -> None:
    sign = Text(block(35, 95, 68, 135), (Reading("Ø", 0.9),))
    (found,), _ = before("3.00", TOUCHED_BEFORE, [sign])
    assert found.readings[0].text == "Ø23.00"
    assert found.block.quad[0][0] <= 35


def test_a_figure_with_an_edge_beside_it_is_no_longer_for_it() -> None:
    (found,), made = before("3.00", TOUCHED_BEFORE[-1:])
    assert (found.readings[0].text, made) == ("3.00", [])


def test_a_figure_is_read_on_to_where_nothing_more_stands_beside_it() -> None:
    """To the edge's figure alone it would read 23.00; a 1 stands before that."""
    (found,), _ = before("3.00", (*TOUCHED_BEFORE, (48, 95, 64, 99), (48, 131, 64, 135), (54, 95, 58, 135)))
    assert found.block.quad[0][0] <= 48


def test_a_word_that_is_never_written_alone_is_read_with_its_size() -> None:
    text = Text(block(100, 95, 250, 135), (Reading("DIA.", 0.99),))
    (found,), _ = read_on(around(), [text], lambda some: [Text(b, (Reading('1" DIA.', 0.99),)) for b in some])
    assert found.readings[0].text == '1" DIA.'
