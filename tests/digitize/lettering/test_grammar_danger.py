"""Strings that once were, or could be, read as a size they do not say."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from digitize.lettering.grammar import parse
from digitize.lettering.text import Callout, Kind

WRITTEN = "0123456789./ -+°'\"ØRx×,\nABCDEFHILMNOPRSTUW():"


@pytest.mark.parametrize(
    ("row", "value"),
    [
        ("WHOLE DEPTH .135", Fraction(135, 1000)),
        ("WHOLE DEPTH. .135", Fraction(135, 1000)),
        ("OUTSIDE DIA .875", Fraction(875, 1000)),
        ("NO. OF TEETH....42", Fraction(42)),
    ],
)
def test_the_point_of_a_value_is_no_part_of_its_label(row: str, value: Fraction) -> None:
    callout = parse(row)
    assert isinstance(callout, Callout)
    assert [typed.nominal for typed in callout.values] == [value]


@given(st.text(WRITTEN, max_size=24))
def test_any_string_is_a_callout_or_a_reason(text: str) -> None:
    result = parse(text)
    assert isinstance(result, Callout) or (not result and str(result))


@pytest.mark.parametrize(
    "text",
    [
        "DRILL 2 HOLES", "DRILL 2 HOLES ON 3 B.C.", "REAM 4 HOLES", "DRILLED 2 HOLES", "DRILL. 2 HOLES",
        "DRILL: 2 HOLES", "SPOT FACE 2 HOLES", "C'BORE 2 HOLES", "DIA. 4 HOLES", "B.C. 4 HOLES",
    ],
)  # fmt: skip
def test_a_count_of_holes_is_no_size(text: str) -> None:
    assert not parse(text)


@pytest.mark.parametrize("text", ["Ø65-Ø130", "Ø17.98\nØ17.95-Ø21", "Ø21-Ø17.98\nØ17.95", "R5 - Ø20", "Ø65 × Ø130"])
def test_sizes_with_nothing_but_their_signs_are_of_two_figures(text: str) -> None:
    assert not parse(text)


@pytest.mark.parametrize("text", ["Ø10 ON Ø80", "Ø6.6 - Ø11 C'BORE", "6 HOLES Ø10 - Ø80 P.C.D.", "Ø17.98\nØ17.95"])
def test_a_word_parts_two_sizes_of_one_callout_and_limits_stand_over_each_other(text: str) -> None:
    """Common practice, no source."""
    assert parse(text)


@pytest.mark.parametrize("text", ["Ø4 HOLES", 'DRILL 2" HOLES', "DRILL 1/2 HOLES"])
def test_a_marked_size_before_holes_is_theirs(text: str) -> None:
    """Common practice, no source."""
    callout = parse(text)
    assert isinstance(callout, Callout)
    assert [typed.kind for typed in callout.values] == [Kind.DIAMETER]


@pytest.mark.parametrize("drill", ["DRILL:", "DRILL :", "DRILL.", "DRILL"])
def test_a_colon_may_stand_behind_the_word_of_a_hole_as_a_stop_may(drill: str) -> None:
    """Common practice, no source."""
    callout = parse(f"{drill} 17/32 4 HOLES ON 4 DIA. B.C.")
    assert isinstance(callout, Callout)
    hole, _, circle = callout.values
    assert (hole.nominal, hole.name, hole.count) == (Fraction(17, 32), "drill", 4)
    assert (circle.nominal, circle.name) == (Fraction(4), "bolt_circle")


@pytest.mark.parametrize("text", ["DRILL: 1:2", "D: 4", "R: 1/2", "M: 8", "REF: 3"])
def test_a_colon_makes_no_size_of_a_ratio_or_a_letter(text: str) -> None:
    callout = parse(text)
    sizes = {Kind.DIAMETER, Kind.RADIUS, Kind.LINEAR, Kind.THREAD}
    assert not isinstance(callout, Callout) or sizes.isdisjoint(typed.kind for typed in callout.values)


def test_a_hyphen_parts_a_size_from_its_count() -> None:
    callout = parse("DRILL 11/32-4 HOLES ON 3 1/4 DIA. B.C.")
    assert isinstance(callout, Callout)
    assert [typed.nominal for typed in callout.values] == [Fraction(11, 32), Fraction(4), Fraction(13, 4)]
    assert not parse("6-13/32 DRILL")
