"""What a figure may say: slips that make no sense are ruled out, and tolerances keep to the rules of writing them.

ASME Y14.5: both limits, and a size and its tolerance, are written to the same number of places (from memory).
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from digitize.dimensions.candidates import (
    LOST_SHARE,
    SUBSTITUTED_SHARE,
    Candidate,
    candidates,
    style_prior,
    tolerance_prior,
)
from digitize.dimensions.entries import parse_or_none
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading, TypedValue

PARSE = parse_or_none(parse)


def options(text: str, probability: float = 0.999) -> dict[str, float]:
    found = candidates((Reading(text, probability),), 0, PARSE)
    return {each.text: each.probability for each in found}


@settings(max_examples=40, deadline=None)
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


def test_a_binary_fraction_in_full_is_usual_where_the_others_are() -> None:
    def prior(text: str, others: tuple[str, ...]) -> float:
        return style_prior(value_of(text), [value_of(other) for other in others])

    binary, rounded = (".375", "1.125", ".625", "2.875"), (".312", "1.188", ".562", "2.437")
    assert prior(".125", binary) > 5 * prior(".126", binary)
    assert prior(".125", rounded) < prior(".126", rounded)
    assert prior(".125", ()) == prior(".126", ())  # nothing is taken for granted


def value_of(text: str) -> TypedValue:
    callout = PARSE(text)
    assert callout is not None
    return callout.values[0]


@pytest.mark.parametrize(
    ("usual", "odd"),
    [
        ("1.125 ±.001", "1.125 ±.007"),
        ("1.125 ±.001", "1.125 ±.01"),
        ("1.125 ±.001", "1.125 ±.201"),
        ("1.250\n1.248", "1.25\n1.248"),
        ("1.375 +.001\n-.000", "1.375 +.0011\n-.000"),
        ("1.375 +.001\n-.000", "1.375 +.007\n-.000"),
        ("1.375 +.001\n-.001", "1.375 +.001\n-.009"),
        ("1.250\n1.248", "1.250\n1.258"),
        ("1.375 +.002\n+.001", "1.375 +.002\n+.007"),
    ],
)
def test_odd_tolerances_are_less_usual(usual: str, odd: str) -> None:
    def prior(text: str) -> float:
        return tolerance_prior(Candidate(text, value_of(text), 1.0))

    assert prior(usual) == 1.0
    assert prior(odd) < 0.2
