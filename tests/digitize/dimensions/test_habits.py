"""How usual a value is: by the habit of its sheet, and by the rules of writing tolerances.

ASME Y14.5: both limits, and a size and its tolerance, are written to the same number of places (from memory).
"""

import pytest

from digitize.dimensions.linking.candidates import Candidate
from digitize.dimensions.linking.entries import parse_or_none
from digitize.dimensions.witnesses.habits import style_prior, tolerance_prior
from digitize.lettering.grammar import parse
from digitize.lettering.text import TypedValue

PARSE = parse_or_none(parse)


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
