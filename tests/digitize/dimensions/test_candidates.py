"""What a figure may say: slips that make no sense are ruled out; the reader's own rivals weigh what they proved to."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from digitize.dimensions.linking.candidates import LOST_SHARE, SUBSTITUTED_SHARE, candidates
from digitize.dimensions.linking.entries import parse_or_none
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading

PARSE = parse_or_none(parse)


def options(text: str, probability: float = 0.999) -> dict[str, float]:
    found = candidates((Reading(text, probability),), 0, PARSE)
    return {each.text: each.probability for each in found}


@settings(max_examples=40)
@given(st.integers(1, 9), st.integers(1, 999))
def test_probabilities_sum_to_one_and_rivals_share_no_more_than_the_slips(whole: int, thousandths: int) -> None:
    text = f"{whole}.{thousandths:03d}"
    found = options(text)
    assert sum(found.values()) == pytest.approx(1.0)
    assert found[text] >= (1 - SUBSTITUTED_SHARE - LOST_SHARE) * (1 - 1e-9)


def test_a_strict_grammar_leaves_fewer_rivals_and_they_are_no_likelier_for_it() -> None:
    """A slip's chance does not grow because others make no sense: 7/8 has few that parse, 875 many."""
    fraction, whole = options("7/8"), options("875")
    assert len(fraction) < len(whole)
    assert fraction["7/8"] > whole["875"]
    assert max(p for text, p in fraction.items() if text != "7/8") < LOST_SHARE / 4


def test_a_figure_made_up_is_as_rare_as_one_for_another_and_a_lost_one_is_not() -> None:
    found = options('.625"')
    assert found['.65"'] < SUBSTITUTED_SHARE / 10
    assert found['.25"'] < SUBSTITUTED_SHARE / 10
    assert found['1.625"'] > 10 * found['.25"']


@pytest.mark.parametrize(("certainty", "least", "most"), [(5e-5, 3e-4, 1e-3), (0.01, 0.02, 0.05), (0.3, 0.3, 0.4)])
def test_a_rival_of_the_readers_own_is_believed_more_than_the_reader_does(
    certainty: float, least: float, most: float
) -> None:
    readings = Reading('1.125"', 0.999 - certainty), Reading('1.126"', certainty)
    found = {each.text: each.probability for each in candidates(readings, 0, PARSE)}
    assert least < found['1.126"'] < most
