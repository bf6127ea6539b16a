"""A sheet whose strokes and readings are spoiled by chance: nothing fails, and what the drawing contradicts is never
agreed."""

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import State
from digitize.lettering.grammar import parse
from tests.bench.fuzz import Damage, misread, spoiled
from tests.digitize.dimensions.drawn import draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn, figure

WRONG = figure(WIDTHS_IN[0] + 1)


@settings(max_examples=40)
@given(st.integers(0, 10**6), st.sampled_from((0.02, 0.1, 0.3, 0.7)), st.sampled_from((0.0, 0.5, 3.0)))
def test_a_spoiled_sheet_goes_through_and_agrees_no_figure_that_it_contradicts(
    seed: int, share: float, far_px: float
) -> None:
    strokes, texts = draw([drawn(WIDTHS_IN[0], 0, sure(WRONG)), *(drawn(v, i) for i, v in enumerate(WIDTHS_IN[1:], 1))])
    damage = Damage(random.Random(seed), share, far_px)
    result = reconcile(level_sheet(), spoiled(strokes, damage), misread(texts, damage), parse)
    assert not [row for row in result.dimensions if row.text == WRONG and row.state is State.AGREED]


def test_an_unspoiled_sheet_agrees_its_sound_figures_and_disputes_the_other() -> None:
    strokes, texts = draw([drawn(WIDTHS_IN[0], 0, sure(WRONG)), *(drawn(v, i) for i, v in enumerate(WIDTHS_IN[1:], 1))])
    damage = Damage(random.Random(0), 0.0, 3.0)
    result = reconcile(level_sheet(), spoiled(strokes, damage), misread(texts, damage), parse)
    states = {row.text: row.state for row in result.dimensions}
    assert states.pop(WRONG) is State.DISPUTED
    assert set(states.values()) == {State.AGREED}
