"""Words that were parted from their figures."""

from dataclasses import replace

import pytest

from digitize.dimensions.linking.entries import parse_or_none
from digitize.dimensions.linking.split_callouts import join_callouts, join_overlapping
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading, Text, TextBlock

PARSE = parse_or_none(parse)


def text(words: str, x: float, width: float, y: float = 0.0, probability: float = 0.99) -> Text:
    corners = ((x, y), (x + width, y), (x + width, y + 20.0), (x, y + 20.0))
    return Text(TextBlock(corners, 0.0, 20.0), (Reading(words, probability),))


def joined(*texts: Text) -> list[str]:
    return [each.readings[0].text for each in join_callouts(texts, PARSE)]


@pytest.mark.parametrize(("figure", "word"), [("3/8 × 3/16", "KEYSEAT"), ("1 3/4", "DIA."), ("3/4", "BORE")])
def test_words_right_behind_their_figures_are_joined(figure: str, word: str) -> None:
    assert joined(text(figure, 0.0, 100.0), text(word, 112.0, 80.0)) == [f"{figure} {word}"]


@pytest.mark.parametrize("word", ["'DIA", '"DIA', "DIA"])
def test_a_stroke_of_the_inch_mark_that_went_with_the_word_is_not_read_twice(word: str) -> None:
    assert joined(text('1 5/8"', 0.0, 100.0), text(word, 112.0, 60.0)) == ['1 5/8" DIA']


def test_the_joined_block_spans_both_and_is_as_sure_as_both() -> None:
    (both,) = join_callouts((text("3/4", 0.0, 60.0), text("BORE", 70.0, 80.0, probability=0.9)), PARSE)
    assert both.block.quad == ((0.0, 0.0), (150.0, 0.0), (150.0, 20.0), (0.0, 20.0))
    assert both.readings[0].probability == pytest.approx(0.99 * 0.9)


@pytest.mark.parametrize(
    "word",
    [
        text("BORE", 160.0, 80.0),  # too far
        text("BORE", 70.0, 80.0, y=30.0),  # on another line
        text("SECTION A-A", 70.0, 80.0),  # says nothing of the figure
        replace(text("BORE", 70.0, 80.0), block=replace(text("BORE", 70.0, 80.0).block, group="note")),
    ],
)
def test_other_words_are_left_alone(word: Text) -> None:
    assert joined(text("3/4", 0.0, 60.0), word) == ["3/4", word.readings[0].text]


@pytest.mark.parametrize(("word_height", "whole"), [(30.0, True), (40.0, True), (60.0, False)])
def test_words_may_be_as_tall_as_the_stack_before_them(word_height: float, whole: bool) -> None:
    quad = ((0.0, 0.0), (54.0, 0.0), (54.0, 41.0), (0.0, 41.0))
    stack = Text(TextBlock(quad, 0.0, 17.2), (Reading("7 1/4", 0.8),))
    top = 20.5 - word_height / 2
    corners = ((73.0, top), (141.0, top), (141.0, top + word_height), (73.0, top + word_height))
    word = Text(TextBlock(corners, 0.0, word_height), (Reading("DIA.", 0.99),))
    assert joined(stack, word) == (["7 1/4 DIA."] if whole else ["7 1/4", "DIA."])


@pytest.mark.parametrize(
    ("tail", "whole"),
    [
        (text("5/8 DIA.", 40.0, 100.0), ["1 5/8 DIA."]),
        (text("5/8 DIA.", 65.0, 100.0), ["1 5/8", "5/8 DIA."]),  # a neighbour whose box just touches
        (text("5/8 DIA.", 40.0, 100.0, y=14.0), ["1 5/8", "5/8 DIA."]),  # on another line
        (text("7/8 DIA.", 40.0, 100.0), ["1 5/8", "7/8 DIA."]),  # another size
        (text("5/8", 40.0, 40.0), ["1 5/8", "5/8"]),  # adds nothing
        (text("5/8 DIA.", 40.0, 100.0, probability=0.2), ["1 5/8", "5/8 DIA."]),  # hardly read
    ],
)
def test_texts_that_share_a_size_are_one(tail: Text, whole: list[str]) -> None:
    joined_up = join_overlapping((text("1 5/8", 0.0, 70.0), tail), PARSE)
    assert [each.readings[0].text for each in joined_up] == whole
    if len(whole) == 1:
        assert joined_up[0].block.quad[1] == tail.block.quad[1]
        assert joined_up[0].readings[0].probability == pytest.approx(0.99 * 0.99)
