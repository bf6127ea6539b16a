"""The few lines that a person reads when a sheet is done."""

from dataclasses import replace

import pytest
from hand_drawn import agreed_gear

from digitize.dimensions.table import State
from digitize.report.summary import gear_words


@pytest.mark.parametrize(("probability", "named"), [(0.01, False), (0.49, False), (0.6, True)])
def test_a_gear_less_likely_right_than_wrong_is_not_named(probability: float, named: bool) -> None:
    gear = agreed_gear(State.UNPROVEN)
    (best, *others) = gear.candidates
    words = gear_words(replace(gear, candidates=(replace(best, probability=probability), *others)))
    assert ("42 teeth" in words) is named
    assert f"{probability:.2f}" in words
    assert "unproven" in words
