"""Tables without rules. That values stand in line under each other: common practice, no source."""

import numpy as np
import pytest

from digitize.lettering.finding.value_columns import values_beside
from digitize.lettering.text import TextBlock

HIGH = 40.0


def block(left: float, top: float, wide: float) -> TextBlock:
    return TextBlock(((left, top), (left + wide, top), (left + wide, top + HIGH), (left, top + HIGH)), 0.0, HIGH)


def found(values: list[tuple[float, float, float]], rows: int = 4) -> list[tuple[int, int]]:
    """Rows of words under each other, and loose figures (left, top, width)."""
    blocks = [block(100.0, 90.0 * row, 300.0 + 40 * row) for row in range(rows)]
    blocks += [block(*value) for value in values]
    boxes = [np.array([*b.quad[0], *b.quad[2]]) for b in blocks]
    groups = [0] * rows + list(range(rows, len(blocks)))
    return values_beside(blocks, boxes, groups)


@pytest.mark.parametrize("side", ["begin", "end"])
def test_values_in_line_beside_rows_of_words_are_their_column(side: str) -> None:
    widths = (60.0, 30.0, 150.0, 140.0)
    values = [(900.0 - (w if side == "end" else 0.0), 90.0 * row + 3.0, w) for row, w in enumerate(widths)]
    assert found(values) == [(0, 4), (1, 5), (2, 6), (3, 7)]


def test_a_value_that_stands_out_of_line_is_left() -> None:
    values = [(900.0, 0.0, 60.0), (900.0, 90.0, 60.0), (900.0, 180.0, 60.0), (1180.0, 270.0, 60.0)]
    assert found(values) == [(0, 4), (1, 5), (2, 6)]


@pytest.mark.parametrize(
    "values",
    [
        [(900.0, 0.0, 60.0), (900.0, 90.0, 60.0)],  # two sizes beside a note
        [(900.0, 45.0, 60.0), (900.0, 135.0, 60.0), (900.0, 225.0, 60.0)],  # between the rows
        [(900.0, 0.0, 60.0), (1100.0, 90.0, 60.0), (1300.0, 180.0, 60.0)],
        [(9000.0, 0.0, 60.0), (9000.0, 90.0, 60.0), (9000.0, 180.0, 60.0)],
    ],
)
def test_figures_that_happen_to_stand_beside_a_note_are_none(values: list[tuple[float, float, float]]) -> None:
    assert found(values) == []


def test_a_long_note_beside_whose_end_a_few_sizes_stand_is_no_table() -> None:
    values = [(900.0, 0.0, 60.0), (900.0, 270.0, 60.0), (900.0, 630.0, 60.0)]
    assert found(values, rows=8) == []
