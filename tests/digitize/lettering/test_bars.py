"""Two rows of figures are a fraction where a bar is seen between them, and limits on bare paper (common practice)."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibrate.sheet import GreyImage, LevelSheet
from digitize.lettering.reading.bars import has_bar, with_bars_as_seen
from digitize.lettering.text import Layout, Reading, Text, TextBlock
from tests.digitize.dimensions.drawn import level_sheet


def stack(line: tuple[int, int] | None, grey: int = 20) -> GreyImage:
    """3 over 8 on paper, a line between them from one column to another."""
    picture = np.full((100, 60), 235, np.uint8)
    for text, foot in (("3", 42), ("8", 88)):
        cv2.putText(picture, text, (18, foot), cv2.FONT_HERSHEY_SIMPLEX, 1.2, 20, 2, cv2.LINE_AA)
    if line is not None:
        cv2.line(picture, (line[0], 52), (line[1], 52), grey, 2)
    return picture


@pytest.mark.parametrize(
    ("line", "grey", "seen"),
    [
        ((14, 46), 20, True),
        (None, 20, False),
        ((14, 46), 185, None),  # a trace of a bar: nobody knows
        ((0, 59), 20, None),  # a line of the drawing goes on
        ((27, 32), 20, None),  # a speck
    ],
)
def test_a_bar_is_seen_or_not_or_left_open(line: tuple[int, int] | None, grey: int, seen: bool | None) -> None:
    assert has_bar(stack(line, grey)) is seen


@pytest.mark.parametrize(("half_px", "seen"), [(24, None), (6, False)], ids=["longer than a figure", "as a foot"])
def test_a_bar_that_touches_the_figure_over_it_is_not_said_to_be_missing(half_px: int, seen: bool | None) -> None:
    picture = stack(None)
    cv2.line(picture, (30 - half_px, 42), (30 + half_px, 42), 20, 2)
    assert has_bar(picture) is seen


def sheet_of(picture: GreyImage) -> tuple[LevelSheet, TextBlock]:
    sheet = level_sheet(600)
    grey = np.full_like(sheet.grey, 235)
    grey[300:400, 300:360] = picture
    block = TextBlock(((310.0, 310.0), (350.0, 310.0), (350.0, 394.0), (310.0, 394.0)), 0.0, 28.0, Layout.STACK)
    return replace(sheet, grey=grey), block


@pytest.mark.parametrize(
    ("line", "told"), [((14, 46), {"3/8": 0.9, "8": 0.1}), (None, {"3\n8": 0.9, "8": 0.1}), ((27, 32), None)]
)
def test_readings_follow_what_is_seen(line: tuple[int, int] | None, told: dict[str, float] | None) -> None:
    sheet, block = sheet_of(stack(line))
    readings = (Reading("3/8", 0.6), Reading("3\n8", 0.3), Reading("8", 0.1))
    found = with_bars_as_seen(sheet, Text(block, readings)).readings
    if told is None:
        assert found == readings
    else:
        assert {r.text: r.probability for r in found} == pytest.approx(told)


def test_decimals_and_rows_are_left_alone() -> None:
    sheet, block = sheet_of(stack((14, 46)))
    limits = Text(block, (Reading("1.250\n1.248", 0.9),))
    assert with_bars_as_seen(sheet, limits) is limits
    row = Text(replace(block, layout=Layout.ROW), (Reading("3\n8", 0.9),))
    assert with_bars_as_seen(sheet, row) is row
