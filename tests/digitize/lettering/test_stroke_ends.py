"""How far a line through a figure goes on beyond it."""

import numpy as np
import pytest

from digitize.lettering.reading.stroke_ends import beyond

HEIGHT_PX = 40.0
FIRST, LAST = 50, 150
"""Columns of the outer strokes of a figure that a line runs through."""


def through(start: int, end: int, rise: float = 0.0) -> tuple[float, float]:
    """Two upright strokes, a line from one column to another, and how far that goes on alone."""
    ink = np.zeros((100, 200), np.bool_)
    for column in (FIRST, LAST):
        ink[30:70, column - 2 : column + 2] = True
    for column in range(start, end):
        row = round(50 + rise * (column - 100))
        ink[row - 2 : row + 2, column] = True
    across = np.arange(FIRST + 6.0, LAST - 5.0, 2.0)
    return beyond(ink, across, 50 + rise * (across - 100), HEIGHT_PX)


@pytest.mark.parametrize("rise", [0.0, 0.15, -0.15])
def test_a_pen_that_strikes_out_goes_on(rise: float) -> None:
    assert through(FIRST - 12, LAST + 2, rise) == pytest.approx((0.0, 10 / HEIGHT_PX), abs=0.05)
    assert through(FIRST - 12, LAST + 22, rise) == pytest.approx((10 / HEIGHT_PX, 20 / HEIGHT_PX), abs=0.05)


@pytest.mark.parametrize("rise", [0.0, 0.15])
def test_what_ends_in_the_strokes_of_the_figure_does_not(rise: float) -> None:
    assert through(FIRST, LAST, rise)[1] < 0.06
