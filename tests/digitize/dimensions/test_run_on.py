"""A size behind which lettering of no line of its own stands is not agreed: its tolerance may be that lettering."""

import pytest

from digitize.dimensions.reasons import Reason
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from tests.digitize.dimensions.drawn import HEIGHT_PX, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn, row_of

SIZE = '3 3/4"'


def with_lettering(text: str, gap_heights: float, rows_down: float = 0.0) -> Dimension:
    """The row of a sound size with lettering behind it, so far off and so far down."""
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    size = next(each for each in texts if each.readings[0].text == SIZE)
    end = size.block.quad[1][0]
    half = 0.35 * HEIGHT_PX * len(text)
    x, y = end + gap_heights * HEIGHT_PX + half, size.block.centre[1] + rows_down * HEIGHT_PX
    behind = Text(block_at((x, y), text), sure(text), "drawn")
    return row_of(reconcile(level_sheet(), strokes, (*texts, behind), parse), SIZE)


@pytest.mark.parametrize("text", ["±", ".001", "1+", "-.002"])
def test_what_stands_right_behind_a_size_may_be_its_tolerance(text: str) -> None:
    row = with_lettering(text, 0.5)
    assert row.state is State.UNPROVEN
    assert Reason.RUNS_ON.say() in row.evidence


@pytest.mark.parametrize(("text", "gap", "down"), [(".001", 3.0, 0.0), (".001", 0.5, 2.5), ("BRONZE", 0.5, 0.0)])
def test_what_stands_off_or_is_a_word_is_not(text: str, gap: float, down: float) -> None:
    row = with_lettering(text, gap, down)
    assert row.state is State.AGREED
    assert Reason.RUNS_ON.say() not in row.evidence
