"""Dual dimensions (ASME Y14.5M-1982, 1.5.2: millimetres and inches beside each other or over each other; from memory).

An inch is 25.4 mm exactly (BS 350 Part 1, ISO 31-1; from memory).
"""

from fractions import Fraction

import pytest

from digitize.lettering.grammar import parse
from digitize.lettering.text import Kind, Unit


@pytest.mark.parametrize(
    ("text", "nominal", "unit", "other"),
    [
        ("57.15 (2.250)", "57.15", Unit.MM, "2.25"),
        ("2.250 (57.15)", "2.25", Unit.INCH, "57.15"),
        ("2 1/4 (57.15)", "9/4", Unit.INCH, "57.15"),
        ("13 (1/2)", "13", Unit.MM, "1/2"),  # whole millimetres are rounded
        ("57.15 MM (2.250 IN)", "57.15", Unit.MM, "2.25"),
        ("57.15\n2.250", "57.15", Unit.MM, "2.25"),
        ("2.250\n[57.15]", "2.25", Unit.INCH, "57.15"),
    ],
)
def test_one_length_in_two_units_is_one_value(text: str, nominal: str, unit: Unit, other: str) -> None:
    (value,) = parse(text).values
    assert (value.nominal, value.unit, value.kind) == (Fraction(nominal), unit, Kind.LINEAR)
    assert value.restated is not None
    assert (value.restated.nominal, value.restated.agrees) == (Fraction(other), True)


@pytest.mark.parametrize("text", ["Ø50.80 (2.000)", "Ø50.80 E2.000)", "Ø50.80 (2.0001", "Ø50.80 2.000)"])
def test_brackets_that_the_reader_has_no_sign_for_may_be_half_seen(text: str) -> None:
    (value,) = parse(text).values
    assert (value.kind, value.nominal) == (Kind.DIAMETER, Fraction("50.8"))
    assert value.restated is not None
    assert value.restated.agrees


def test_what_the_brackets_say_otherwise_is_kept_as_such() -> None:
    (value,) = parse("57.15 (2.350)").values
    assert value.nominal == Fraction("57.15")
    assert value.restated is not None
    assert not value.restated.agrees


@pytest.mark.parametrize("text", ["57.15 E2.350)", "57.15 2.350)", "57.15 (2.3501", "57.15\n2.350", "1\n25"])
def test_without_both_brackets_two_sizes_must_be_one_length(text: str) -> None:
    assert not parse(text)


@pytest.mark.parametrize(
    "text", ["8.10 (1.500)", "3.00 (4)", "57.15 (57.15)", "2.250 IN (57.15 IN)", "57.15 (2.250 R)"]
)
def test_sizes_that_no_inch_parts_are_no_dual_dimension(text: str) -> None:
    assert not parse(text)


def test_others_in_brackets_are_what_they_were() -> None:
    assert parse("(2 1/2)").values[0].reference
    assert parse("1.250\n1.248").values[0].restated is None
    assert [value.nominal for value in parse("4 HOLES Ø12.70 (.500)").values] == [4, Fraction("12.7")]
