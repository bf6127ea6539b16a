"""Figures of a scale bar that stand alone over its divisions, which the finder of lettering lets be."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibrate.sheet import LevelSheet
from digitize.dimensions.scales.bar_figures import bar_figures
from digitize.strokes.primitives import Strokes
from tests.digitize.dimensions.drawn import level_sheet
from tests.digitize.dimensions.test_scale_bar import INCH, LEFT, TOP, bar

FIGURE_PX = 22
"""Height of a figure: 3 mm."""


def sheet_with(figures: dict[int, str], gap_px: int = 10, *, touching: bool = False) -> tuple[LevelSheet, Strokes]:
    """A bar of five inches with figures over some divisions."""
    lines, _ = bar({})
    sheet = level_sheet()
    ink = np.zeros(sheet.ink.shape, np.uint8)
    for line in lines:
        (x0, y0), (x1, y1) = line.start, line.end
        cv2.line(ink, (round(x0), round(y0)), (round(x1), round(y1)), 1, 3)
    base = round(TOP) - 12 - gap_px
    for division, text in figures.items():
        (width, _), _ = cv2.getTextSize(text, cv2.FONT_HERSHEY_SIMPLEX, 1.0, 2)
        x = round(LEFT + division * INCH)
        cv2.putText(ink, text, (x - width // 2, base), cv2.FONT_HERSHEY_SIMPLEX, 1.0, 1, 2)
        if touching:
            cv2.line(ink, (x, base - 5), (x, round(TOP)), 1, 3)
    return replace(sheet, ink=ink.astype(np.bool_)), Strokes(lines)


def places(figures: dict[int, str], **options: object) -> list[int]:
    """Divisions at which a block is found."""
    sheet, strokes = sheet_with(figures, **options)  # type: ignore[arg-type]
    blocks = bar_figures(sheet, strokes, ())
    assert all(block.height_px == pytest.approx(FIGURE_PX, abs=3) for block in blocks)
    return sorted(round((block.centre[0] - LEFT) / INCH) for block in blocks)


def test_each_lone_figure_is_a_block_of_its_own() -> None:
    assert places({k: str(k) for k in range(6)}) == [0, 1, 2, 3, 4, 5]


def test_figures_of_several_digits_stay_together() -> None:
    assert places({1: "10", 2: "20", 3: "30"}) == [1, 2, 3]


@pytest.mark.parametrize(("figures", "options"), [({2: "2"}, {}), ({1: "1", 3: "3"}, {"touching": True}), ({}, {})])
def test_less_than_a_row_of_free_figures_is_none(figures: dict[int, str], options: dict[str, object]) -> None:
    assert places(figures, **options) == []


def test_what_is_a_block_already_is_not_found_again() -> None:
    sheet, strokes = sheet_with({k: str(k) for k in range(6)})
    blocks = bar_figures(sheet, strokes, ())
    assert bar_figures(sheet, strokes, blocks[:4]) == blocks[4:]
