"""Figures in another ink than the drawing's, or with a mark in one at them, are not agreed, whatever bears them out."""

from dataclasses import replace

import pytest

from calibrate.sheet import OtherInk
from digitize.dimensions.reasons import Reason
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.dimensions.witnesses.amended import HABIT, MARKED
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from tests.digitize.dimensions.drawn import HEIGHT_PX, draw, level_sheet
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn, row_of

SIZE = '3 3/4"'


def at(text: Text, off_heights: tuple[float, float] = (0.0, 0.0), long_heights: float = 3.0) -> OtherInk:
    """A level stroke so far off the middle of a figure, right and down, and so long, in figure heights."""
    x, y = (middle + off * HEIGHT_PX for middle, off in zip(text.block.centre, off_heights, strict=True))
    half = long_heights * HEIGHT_PX / 2
    return OtherInk("red", (x - half, y - 3.0), (x + half, y + 3.0))


def marked(*, off: tuple[float, float] = (0.0, 0.0), long_heights: float = 3.0, every: bool = False) -> Reconciled:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    figures = [text for text in texts if every or text.readings[0].text == SIZE]
    marks = tuple(at(text, off, long_heights) for text in figures)
    return reconcile(replace(level_sheet(), other_ink=marks), strokes, texts, parse)


def own(found: Reconciled) -> Dimension:
    return row_of(found, SIZE)


def test_a_figure_that_is_struck_in_red_is_unproven_and_its_neighbours_are_not() -> None:
    found = marked()
    assert own(found).state is State.UNPROVEN
    assert Reason.OTHER_INK.say() in own(found).evidence
    others = [row.state for row in found.dimensions if row.text != SIZE]
    assert others
    assert set(others) == {State.AGREED}
    assert MARKED.format(colours="red") in found.warnings


@pytest.mark.parametrize("off", [(0.0, 1.2), (0.0, -1.2)])
def test_so_is_one_over_or_under_which_another_was_written(off: tuple[float, float]) -> None:
    assert own(marked(off=off)).state is State.UNPROVEN


@pytest.mark.parametrize(("off", "long_heights"), [((0.0, 4.0), 3.0), ((0.0, 0.0), 60.0)])
def test_what_lies_apart_or_runs_on_is_no_mark_at_it(off: tuple[float, float], long_heights: float) -> None:
    found = marked(off=off, long_heights=long_heights)
    assert own(found).state is State.AGREED
    assert not any("another ink" in warning for warning in found.warnings)


def test_where_most_figures_are_in_another_ink_the_office_wrote_them_so() -> None:
    found = marked(every=True)
    assert own(found).state is State.AGREED
    assert HABIT.format(colours="red") in found.warnings
