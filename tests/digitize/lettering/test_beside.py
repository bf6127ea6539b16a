"""A figure whose leading 1 was cut off is read both ways and believed neither way."""

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibrate.sheet import GreyImage
from digitize.lettering.read import read_blocks, without_nested
from digitize.lettering.reading.beside import both_ways, doubted, grown
from digitize.lettering.reading.rows_beside import has_bar_over, has_row_beside
from digitize.lettering.reading.run_into import (
    has_one_in_line_beside,
    has_struck_one_beside,
    touched_figures_beside,
)
from digitize.lettering.surroundings import Surroundings
from digitize.lettering.text import Layout, Reading, Text, TextBlock
from tests.digitize.dimensions.drawn import level_sheet


def block(left: float, top: float, right: float, bottom: float, height: float = 40.0) -> TextBlock:
    return TextBlock(((left, top), (right, top), (right, bottom), (left, bottom)), 0.0, height, Layout.ROW)


def sheet_with_strokes(*boxes: tuple[int, int, int, int]):  # type: ignore[no-untyped-def]
    sheet = level_sheet(600)
    grey = sheet.grey.copy()
    for x0, y0, x1, y1 in boxes:
        cv2.rectangle(grey, (x0, y0), (x1, y1), 0, -1)
    object.__setattr__(sheet, "grey", grey)
    return sheet


def around(*boxes: tuple[int, int, int, int]) -> Surroundings:
    return Surroundings(sheet_with_strokes(*boxes))


def test_clean_paper_beside_a_block_leaves_it_alone() -> None:
    assert grown(around((300, 300, 340, 340)), block(295, 298, 345, 342), []) is None


def test_a_one_beside_a_block_is_taken_in() -> None:
    found = grown(around((300, 300, 340, 340), (270, 300, 274, 340)), block(295, 298, 345, 342), [])
    assert found is not None
    assert abs(found.quad[0][0] - 270) < 3


def test_a_fraction_beside_the_figure_of_a_table_cell_is_taken_in() -> None:
    """A 1 that touched its bar was no numerator to the finder, and a pressure angle of 14 1/2 read 14 surely."""
    cell = replace(block(295, 298, 345, 342), group="table", row=1, column=1)
    found = grown(around((300, 300, 340, 340), (352, 285, 376, 319), (356, 326, 372, 354)), cell, [])
    assert found is not None
    assert found.quad[1][0] > 370
    assert (found.group, found.row, found.column) == ("table", 1, 1)


def test_a_long_line_or_anothers_ink_is_not() -> None:
    figure = block(295, 298, 345, 342)
    assert grown(around((300, 300, 340, 340), (272, 100, 275, 550)), figure, []) is None
    neighbour = block(262, 295, 282, 345)
    assert grown(around((300, 300, 340, 340), (270, 300, 274, 340)), figure, [neighbour]) is None


def test_a_fraction_in_one_piece_behind_a_whole_number_is_taken_in() -> None:
    """Its figures ran into the bar; a piece of a line is as high, but no more than a stroke."""
    number = block(295, 298, 345, 342)
    fraction = [(354, 285, 359, 355), (350, 318, 380, 323), (368, 323, 373, 355)]
    found = grown(around((300, 300, 340, 340), *fraction), number, [])
    assert found is not None
    assert abs(found.quad[1][0] - 380) < 3
    assert grown(around((300, 300, 340, 340), (354, 285, 357, 355)), number, []) is None


def test_the_lower_of_two_limits_does_not_stand_for_itself() -> None:
    """The upper limit's figures stand right over it; a single mark there, an inch sign say, is no row."""
    figure = block(295, 298, 425, 342)
    lower = [(300, 300, 320, 340), (340, 300, 360, 340), (400, 300, 420, 340)]
    upper = [(300, 240, 320, 280), (340, 240, 360, 280), (400, 240, 420, 280)]
    assert not has_row_beside(around(*lower), figure, [])
    assert not has_row_beside(around(*lower, upper[0]), figure, [])
    assert has_row_beside(around(*lower, *upper), figure, [])
    assert doubted(Text(figure, (Reading("1.000", 0.99),))).readings[0].probability < 0.5


def test_the_dashes_of_lines_are_no_row() -> None:
    """A dashed dimension line ends over and under its figure, and another runs past it; a row of 1s has one side."""
    figure = block(295, 298, 425, 342)
    over, under = [(x, 245, x + 4, 285) for x in (305, 360)], [(x, 355, x + 4, 395) for x in (305, 360)]
    assert not has_row_beside(around(*over, *under), figure, [])
    assert has_row_beside(around(*over, (400, 245, 404, 285)), figure, [])
    assert has_row_beside(around(*over, *under, (380, 245, 404, 285)), figure, [])


def test_the_heads_of_a_neighbouring_line_are_no_row() -> None:
    """Two pieces as tall as figures, far from each other; one over the block and one under it may be a stack."""
    figure = block(295, 298, 575, 342)
    first, second, under = (310, 250, 345, 282), (530, 250, 565, 282), (530, 358, 565, 390)
    assert not has_row_beside(around(first, second), figure, [])
    assert has_row_beside(around(first, (380, 250, 415, 282), second), figure, [])
    assert has_row_beside(around(first, under), figure, [])


def test_the_denominator_of_a_fraction_does_not_stand_for_itself() -> None:
    """A bar right over a row, and one figure over the bar, which no other block holds."""
    row = block(295, 298, 395, 342)
    whole, bar, numerator = [(300, 300, 320, 340), (350, 300, 390, 340)], (345, 286, 395, 290), (360, 238, 380, 278)
    assert has_row_beside(around(*whole, bar, numerator), row, [])
    assert not has_row_beside(around(*whole, bar), row, [])
    assert not has_row_beside(around(*whole, numerator), row, [])
    assert not has_row_beside(around(*whole, (100, 286, 500, 290), numerator), row, [])
    assert not has_row_beside(around(*whole, bar, numerator), row, [block(300, 232, 400, 295)])


def test_a_numerator_run_into_its_bar_is_seen() -> None:
    row = block(295, 298, 345, 342)
    bar, one, three = (290, 286, 350, 290), (300, 240, 304, 288), (325, 240, 340, 288)
    assert has_row_beside(around((300, 300, 340, 340), bar, one, three), row, [])
    assert not has_row_beside(around((300, 300, 340, 340), bar), row, [])


def test_the_figure_of_a_neighbouring_line_stands_staggered() -> None:
    """Limits begin or end in line, and a block that begins and ends well after another is no limit of it."""
    figure = block(295, 298, 425, 342)
    sheet = sheet_with_strokes(*[(x, y, x + 20, y + 40) for x, y in ((300, 300), (400, 300), (360, 240), (400, 240))])
    assert not has_row_beside(Surroundings(sheet), figure, [figure, block(355, 238, 525, 282)])
    for limit in (block(295, 238, 425, 282), block(295, 238, 525, 282), block(355, 238, 430, 282)):
        assert has_row_beside(Surroundings(sheet), figure, [figure, limit])


def test_a_figure_that_a_leader_touches_makes_the_block_doubtful() -> None:
    """A plain line beside the block, an extension line say, is no figure."""
    figure = block(295, 298, 345, 342)
    own = (300, 300, 340, 340)
    assert touched_figures_beside(around(own), figure, []) == (False, False)
    assert touched_figures_beside(around(own, (280, 100, 283, 550)), figure, []) == (False, False)
    touched = [(272, 300, 286, 306), (280, 300, 286, 340), (100, 336, 286, 340)]
    assert touched_figures_beside(around(own, *touched), figure, []) == (True, False)
    neighbour = block(262, 295, 290, 345)
    assert touched_figures_beside(around(own, *touched), figure, [neighbour]) == (False, False)


def test_a_leading_one_at_the_end_of_its_dimension_line_makes_the_block_doubtful() -> None:
    """1.625 is read as .625: the 1 went with the line that touches it."""
    figure, own = block(290, 298, 365, 342), (300, 300, 360, 340)
    line, one = (100, 318, 277, 321), (275, 300, 279, 340)
    assert has_struck_one_beside(around(own, line, one), figure, [])
    assert not has_struck_one_beside(around(own, line), figure, [])
    long_line, head = (275, 200, 279, 440), (262, 311, 277, 328)
    assert not has_struck_one_beside(around(own, line, long_line), figure, [])
    assert not has_struck_one_beside(around(own, line, head), figure, [])
    assert not has_struck_one_beside(around(own, line, one), figure, [block(265, 298, 288, 342)])


@pytest.mark.parametrize(
    ("one", "hidden"),
    [((296, 300, 301, 340), True), ((288, 300, 291, 340), True), ((296, 310, 301, 325), False), (None, False)],
)
def test_a_leading_one_written_into_an_edge_makes_the_block_doubtful(
    one: tuple[int, int, int, int] | None, hidden: bool
) -> None:
    """The edge is broader along the figure's height; a dash that ends at it is not as high."""
    edge = (290, 200, 297, 480)
    figure = block(310, 298, 350, 342)
    boxes = [(315, 300, 345, 340), edge, *([one] if one else [])]
    assert has_one_in_line_beside(around(*boxes), figure) is hidden


@pytest.mark.parametrize(
    ("bar", "told"),
    [
        ((292, 288, 348, 291), True),
        ((292, 349, 348, 352), False),  # under the figure: not to scale
        ((200, 288, 500, 291), False),  # its dimension line
        ((292, 262, 348, 265), False),  # too far off
    ],
)
def test_a_denominator_whose_numerator_is_lost_in_a_line_does_not_stand_for_itself(
    bar: tuple[int, int, int, int], told: bool
) -> None:
    sheet = sheet_with_strokes((300, 300, 315, 340), (325, 300, 340, 340), bar)
    assert has_bar_over(Surroundings(sheet), block(295, 298, 345, 342), []) is told


def test_neither_reading_is_sure() -> None:
    small = Text(block(0, 0, 50, 40), (Reading("3/4", 0.99),), "x")
    large = Text(block(-30, 0, 50, 40), (Reading("1 3/4", 0.99),), "x")
    both = both_ways(small, large)
    assert [reading.text for reading in both.readings] == ["1 3/4", "3/4"]
    assert max(reading.probability for reading in both.readings) < 0.6


def test_a_block_within_another_is_not_read_twice() -> None:
    outer, inner, apart = block(0, 0, 100, 40), block(60, 2, 98, 38), block(200, 0, 260, 40)
    assert without_nested([outer, inner, apart]) == (outer, apart)
    assert np.all([b in (outer, apart) for b in without_nested([inner, outer, apart])])


class SaysEight:
    """Reads an eight everywhere, surely."""

    name = "eight"

    def read(self, crops: Sequence[GreyImage], layouts: Sequence[Layout]) -> list[tuple[Reading, ...]]:
        return [(Reading('8"', 0.99),) for _ in crops]


def test_a_rival_with_no_more_ink_than_a_doubted_block_is_doubted_too() -> None:
    """To figures taken for smaller ones the numerator is too large, but the box is that of the denominator."""
    sheet = sheet_with_strokes((300, 300, 340, 340), (350, 300, 390, 340), (345, 286, 395, 290), (360, 238, 380, 278))
    denominator, rival = block(295, 298, 395, 342), block(295, 298, 395, 342, height=20.0)
    assert has_row_beside(Surroundings(sheet), denominator, [])
    assert not has_row_beside(Surroundings(sheet), rival, [])
    (text,) = read_blocks(sheet, [denominator], SaysEight(), [rival])
    assert text.readings[0].probability < 0.5


@pytest.mark.parametrize(("drawn_from", "doubted_too"), [(345, False), (600, True)], ids=["a head", "no head there"])
def test_an_arrowhead_beside_a_block_raises_no_doubt(drawn_from: int, doubted_too: bool) -> None:
    sheet = sheet_with_strokes((300, 300, 340, 340), (354, 300, 360, 340), (354, 336, 372, 340), (354, 318, 600, 321))
    figure = block(295, 298, 345, 342)
    assert touched_figures_beside(Surroundings(sheet), figure, []) == (False, True)
    drawn = np.zeros(sheet.ink.shape, np.bool_)
    drawn[290:350, drawn_from : drawn_from + 40] = True
    (text,) = read_blocks(sheet, [figure], SaysEight(), drawn=drawn)
    assert (text.readings[0].probability < 0.5) is doubted_too


class SaysOneOfThree:
    """Says a part of a size, the size, and nothing sure of what is longer still."""

    name = "three"

    def read(self, crops: Sequence[GreyImage], layouts: Sequence[Layout]) -> list[tuple[Reading, ...]]:
        said = [("125", 0.99) if width < 140 else ("2.125", 0.99) if width < 190 else ("GN", 0.5)
                for width in (crop.shape[1] for crop in crops)]  # fmt: skip
        return [(Reading(*each),) for each in said]


@pytest.mark.parametrize("reads_poorly", [True, False])
def test_a_figure_that_was_taken_into_something_that_reads_poorly_is_still_beside_a_block(reads_poorly: bool) -> None:
    """A broad sloping 2, a figure of another size under it, and the head between them stood in an upright line."""
    sheet = sheet_with_strokes((300, 300, 340, 340), (350, 300, 390, 340), (252, 300, 288, 340))
    bottom = 470.0 if reads_poorly else 345.0  # a block as long as the 2 reads 125 too, and claims it
    upright = TextBlock(((250.0, bottom), (250.0, 298.0), (292.0, 298.0), (292.0, bottom)), 90.0, 38.0)
    texts = read_blocks(sheet, [block(295, 298, 395, 342), upright], SaysOneOfThree())
    readings = {reading.text: reading.probability for text in texts for reading in text.readings}
    assert ("2.125" in readings) is reads_poorly
    assert (readings["125"] < 0.5) is reads_poorly


class SaysByLength:
    """Says one thing of short crops and another of long ones."""

    name = "length"

    def __init__(self, short: str, long: str) -> None:
        self.short, self.long = short, long

    def read(self, crops: Sequence[GreyImage], layouts: Sequence[Layout]) -> list[tuple[Reading, ...]]:
        return [(Reading(self.short if crop.shape[1] < 230 else self.long, 0.9),) for crop in crops]


def test_a_size_whose_tolerance_is_not_read_is_not_sure() -> None:
    """The sign was found beside the block, or the block was found with it and gave way to a part that makes sense."""
    figures = [(100, 300, 130, 340), (150, 300, 180, 340), (250, 300, 280, 340)]
    sign, rest = (305, 305, 330, 335), (350, 300, 380, 340)
    short, long = block(98, 298, 282, 342), block(98, 298, 382, 342)
    for reads, sure in ((SaysByLength("1.500", "1.500 ±"), False), (SaysByLength("1.500", "1.500 Q"), True)):
        (text,) = read_blocks(sheet_with_strokes(*figures, sign), [short], reads)
        assert text.readings[0].text == "1.500"
        assert (text.readings[0].probability > 0.5) is sure
        text, left = read_blocks(sheet_with_strokes(*figures, sign, rest), [long], reads, [short])
        assert text.readings[0].text == "1.500"
        assert (text.readings[0].probability > 0.5) is sure
        assert left.readings == ()  # what stands behind it is lettering too


def test_what_both_ways_say_is_listed_once() -> None:
    whole = block(260, 298, 345, 342)
    found = Text(block(295, 298, 345, 342), (Reading("3", 0.8), Reading("8", 0.2)))
    both = both_ways(found, Text(whole, (Reading("13", 0.9), Reading("3", 0.1))))
    assert [reading.text for reading in both.readings] == ["13", "3", "8"]
    assert sum(reading.probability for reading in both.readings) <= 1 + 1e-9
    assert both.block == whole
