"""Callouts that came apart are read whole or believed in no piece; figures across a line and sideways are doubted.

That a times or plus-minus sign stands between two figures, and that a fraction's bar may run on in a dimension line,
is common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from calibrate.sheet import GreyImage, InkImage
from digitize.lettering.finding.across_lines import has_figure_across_line
from digitize.lettering.finding.parts import find_parts
from digitize.lettering.finding.placing import place
from digitize.lettering.finding.row import row_of
from digitize.lettering.finding.words import with_touched_letters
from digitize.lettering.read import read_blocks
from digitize.lettering.reading.parted import made_whole
from digitize.lettering.text import Layout, Reading, Text, TextBlock
from tests.digitize.lettering.sheets import Board
from tests.digitize.lettering.test_beside import around, block, sheet_with_strokes

HEIGHT_PX = 40.0
BLANK = np.zeros((300, 1200), dtype=np.bool_)


def in_line(*said: str, gap_px: float = 45.0) -> list[Text]:
    """Pieces on one level, each as long as its letters, surely read."""
    texts, left = [], 100.0
    for words in said:
        right = left + 30.0 * len(words)
        texts.append(Text(block(left, 100, right, 100 + HEIGHT_PX), (Reading(words, 0.99),)))
        left = right + gap_px
    return texts


def best_of(
    texts: Sequence[Text], whole: str, probability: float = 0.99, ink: InkImage = BLANK
) -> list[tuple[str, float]]:
    """What comes of pieces where a reader makes ``whole`` of the longest block, and nothing of any other."""

    def read(blocks: Sequence[TextBlock]) -> list[Text]:
        longest = max((b.quad[1][0] - b.quad[0][0] for b in blocks), default=0.0)
        says = (Reading(whole, probability),)
        return [Text(b, says if b.quad[1][0] - b.quad[0][0] == longest else ()) for b in blocks]

    return [(text.readings[0].text, text.readings[0].probability) for text in made_whole(texts, read, ink)]


@pytest.mark.parametrize(
    ("pieces", "whole"),
    [
        (("1/2", "RAD"), "1/2 RAD"),
        (('9/32"', "DRILL"), '9/32" DRILL'),
        (('3/32"', '× 3/64" KEYSEAT'), '3/32" × 3/64" KEYSEAT'),
        (('3/16"', '3/32"', "KEYSEAT"), '3/16" × 3/32" KEYSEAT'),
        (("1.125", ".001 DIA"), "1.125 ±.001 DIA"),
    ],
)
def test_a_callout_that_came_apart_is_one(pieces: tuple[str, ...], whole: str) -> None:
    assert best_of(in_line(*pieces), whole) == [(whole, 0.99)]


@pytest.mark.parametrize(
    ("pieces", "whole"),
    [
        (("19", "41"), "1941"),  # figures of two dimension lines
        (("1/2", "RAD"), "1/8 RAD"),
        (("1/2", "RAD"), "11/2 RAD"),
    ],
)
def test_a_whole_that_adds_or_changes_figures_stands_in_for_nothing(pieces: tuple[str, ...], whole: str) -> None:
    assert best_of(in_line(*pieces), whole) == [(words, 0.99) for words in pieces]


def test_a_callout_with_a_neighbours_size_at_its_end_is_not_believed() -> None:
    assert best_of(in_line('.375" × .1875" KEYSEAT 2.125"'), "")[0][1] < 0.5
    assert len(best_of(in_line('.375"', 'KEYSEAT 2.125"'), '.375" KEYSEAT 2.125"')) == 2
    for sound in ("6 HOLES 13/32 DRILL ON 4.5", 'BORE 2.500"', '1/2" RAD', "5/8 - 11 THDS."):
        assert best_of(in_line(sound), "") == [(sound, 0.99)]


def test_a_whole_that_is_read_poorly_stands_in_for_nothing() -> None:
    assert best_of(in_line("1/2", "RAD"), "1/2 RAD", 0.3) == [("1/2", 0.99), ("RAD", 0.99)]


def test_pieces_beside_a_sign_that_cannot_be_put_together_are_not_believed() -> None:
    said = best_of(in_line("1.125", ".001 DIA"), "1.126 ±.001 DIA")
    assert [text for text, _ in said] == ["1.125", ".001 DIA"]
    assert max(probability for _, probability in said) < 0.5


def test_heads_that_meet_at_an_extension_line_are_no_times_sign() -> None:
    """Two sizes of a chain; a line no longer than the letters is one of them, and keeps them one callout."""
    pieces = in_line('3/8"', '1 1/4"')
    between = round(pieces[0].block.quad[1][0]) + 20
    for reach, one in ((35, False), (24, True)):
        ink = BLANK.copy()
        ink[120 - reach : 121 + reach, between - 1 : between + 1] = True
        said = best_of(pieces, '3/8" × 1 1/4"', 0.87, ink)
        assert [text for text, _ in said] == (['3/8" × 1 1/4"'] if one else ['3/8"', '1 1/4"'])
        assert one or max(probability for _, probability in said) < 0.5


def test_figures_far_from_each_other_are_not_read_as_one() -> None:
    assert len(best_of(in_line("1/2", "RAD", gap_px=3 * HEIGHT_PX), "1/2 RAD")) == 2


def test_a_mark_that_stands_between_two_pieces_goes_with_the_whole() -> None:
    """A sign that was found as lettering of another direction."""
    sign = Text(TextBlock(((345, 105), (345, 135), (315, 135), (315, 105)), 270.0, 30.0), (Reading("H", 0.4),))
    first = Text(block(100, 100, 300, 140), (Reading("1.125", 0.99),))
    last = Text(block(360, 100, 560, 140), (Reading(".001 DIA", 0.99),))
    assert best_of([first, sign, last], "1.125 ±.001 DIA") == [("1.125 ±.001 DIA", 0.99)]


def test_a_fraction_whose_bar_lies_in_a_dimension_line_is_believed_in_neither_half() -> None:
    upper, lower, line = (300, 240, 330, 280), (300, 300, 330, 340), (100, 288, 330, 292)
    for figure in (block(298, 238, 332, 282), block(298, 298, 332, 342)):
        assert has_figure_across_line(around(upper, lower, line), figure)
        assert not has_figure_across_line(around(upper, lower), figure)


def test_figures_of_two_dimension_lines_stand_apart_from_each_others_line() -> None:
    upper, lower, line = (300, 220, 330, 260), (300, 300, 330, 340), (100, 266, 600, 270)
    assert not has_figure_across_line(around(upper, lower, line), block(298, 298, 332, 342))


class Says:
    """Reads blocks by their layout: what is longer than deep says one thing, what is deeper another."""

    name = "says"

    def __init__(self, along: tuple[str, float], across: tuple[str, float]) -> None:
        self.along, self.across = Reading(*along), Reading(*across)

    def read(self, crops: Sequence[GreyImage], layouts: Sequence[Layout]) -> list[tuple[Reading, ...]]:
        return [(self.along if crop.shape[1] > crop.shape[0] else self.across,) for crop in crops]


@pytest.mark.parametrize("along", [("60", 0.65), ("60", 0.99)])
def test_two_figures_read_from_the_side_are_not_a_sure_third(along: tuple[str, float]) -> None:
    """6 and 0 over each other, seen from the right, look like an 8."""
    sheet = sheet_with_strokes((300, 300, 330, 340), (340, 300, 370, 340))
    sideways = TextBlock(((300, 340), (300, 300), (370, 300), (370, 340)), 90.0, 34.0)
    (text,) = read_blocks(sheet, [sideways], Says(along, ("8", 0.97)))
    assert text.readings[0].probability < 0.5


def test_a_figure_goes_on_behind_a_letter_that_touched_a_line() -> None:
    """The letter was found last, by the figures before it; those behind it are of the same figure."""
    board = Board()
    board.write("43275", (500, 400))
    sheet = board.sheet()
    parts = sorted(find_parts(sheet, sheet.ink)[0], key=lambda part: part.box[0])
    before, letter, behind = parts[:2], replace(parts[2], free=False), parts[3:]
    rows = [row_of(place(some, 0.0), 0.0, 40.0) for some in (before, behind)]
    for order in (rows, rows[::-1]):
        (whole,) = with_touched_letters(order, [*before, letter, *behind])
        assert {part.label for part in whole.parts} == {part.label for part in parts}


@pytest.mark.parametrize(
    ("rest", "whole", "other"), [('3/16"', '1 3/16"', '13/16"'), (".625 D.", "2.625 D.", "2 .625 D.")]
)
def test_what_goes_on_right_behind_a_whole_number_is_not_sure_by_itself(rest: str, whole: str, other: str) -> None:
    """1 and 3/16 are 1 3/16, or figures of two dimension lines; so are 2 and .625."""
    number = whole[0]
    ((text, probability),) = best_of(in_line(number, rest, gap_px=15.0), whole)
    assert text == whole
    assert probability < 0.7
    assert len(best_of(in_line(number, rest, gap_px=15.0), other)) == 2
    assert len(best_of(in_line(number, rest, gap_px=45.0), whole)) == 2


def test_heads_between_two_figures_are_no_times_sign() -> None:
    """Two sizes of one line, whose heads meet at an extension line, are not read as one callout."""
    texts = in_line('3/8"', '1/2"')
    drawn = BLANK.copy()
    start, end = texts[0].block.quad[1][0], texts[1].block.quad[0][0]
    drawn[110:130, round(start) + 10 : round(end) - 10] = True

    def read(blocks: Sequence[TextBlock]) -> list[Text]:
        return [Text(each, (Reading('3/8" × 5/2"', 0.9),)) for each in blocks]

    assert {text.readings[0].probability for text in made_whole(texts, read, BLANK)} != {0.99}
    assert made_whole(texts, read, BLANK, drawn) == texts
