"""Notes that govern, as offices worded them (common practice, no source)."""

from fractions import Fraction

import pytest

from digitize.lettering.grammar import parse
from digitize.lettering.text import Kind, Unit


@pytest.mark.parametrize(
    ("text", "name", "allowed", "unit"),
    [
        ("UNLESS OTHERWISE SPECIFIED TOLERANCES ±1/64", "general_tolerance", Fraction(1, 64), Unit.UNMARKED),
        ("TOLERANCE ±.005 UNLESS NOTED", "general_tolerance", Fraction(1, 200), Unit.UNMARKED),
        ("General tolerance ±0.2 mm", "general_tolerance", Fraction(1, 5), Unit.MM),
        ("LIMITS ±.005 UNLESS OTHERWISE STATED", "general_tolerance", Fraction(1, 200), Unit.UNMARKED),
        ("TOLERANCES: FRACTIONS ±1/64", "tolerance_fractions", Fraction(1, 64), Unit.UNMARKED),
        ("TOLERANCE ON DECIMALS ±.002\"", "tolerance_decimals", Fraction(1, 500), Unit.INCH),
        ("ANGLES ±1/2°", "tolerance_angles", Fraction(1, 2), Unit.DEGREE),
    ],
)  # fmt: skip
def test_a_tolerance_for_all_sizes(text: str, name: str, allowed: Fraction, unit: Unit) -> None:
    callout = parse(text)
    assert callout
    (value,) = callout.values
    assert (value.kind, value.name, value.upper, value.lower) == (Kind.NOTE, name, allowed, -allowed)
    assert value.unit is unit
    assert value.nominal is None


@pytest.mark.parametrize("text", ["ANGLES ±5", "TOLERANCE ±1°", "TOLERANCE +.003", "TOLERANCE ±1/3"])
def test_a_tolerance_that_says_no_amount_is_none(text: str) -> None:
    assert not parse(text)


@pytest.mark.parametrize(
    "text",
    ["ALL FILLETS R 1/8", "ALL FILLETS 1/8 R UNLESS OTHERWISE SPECIFIED", "FILLETS & ROUNDS 1/8 R", "ALL RADII 1/8"],
)
def test_fillets_go_by_their_radius(text: str) -> None:
    callout = parse(text)
    assert callout
    assert [(v.kind, v.name, v.nominal) for v in callout.values] == [(Kind.RADIUS, "fillets", Fraction(1, 8))]


def test_all_chamfers_have_a_size_and_an_angle() -> None:
    callout = parse("ALL CHAMFERS 1/16 × 45°")
    assert callout
    assert [(v.kind, v.name, v.nominal) for v in callout.values] == [
        (Kind.CHAMFER, "chamfers", Fraction(1, 16)),
        (Kind.ANGLE, "chamfers", Fraction(45)),
    ]


@pytest.mark.parametrize("text", ["ALL CHAMFERS 1/16", "ALL FILLETS 1/8 × 45°"])
def test_a_size_that_does_not_go_with_its_word_is_refused(text: str) -> None:
    assert not parse(text)


@pytest.mark.parametrize(
    ("text", "name"), [("2 1/4 ARC", "arc"), ("2 1/4 ON ARC", "arc"), ("⌒2 1/4", "arc"), ("CHORD 2 1/4", "chord")]
)
def test_lengths_along_an_arc_and_across_it(text: str, name: str) -> None:
    callout = parse(text)
    assert callout
    assert [(v.kind, v.name, v.nominal) for v in callout.values] == [(Kind.LINEAR, name, Fraction(9, 4))]


@pytest.mark.parametrize(("text", "name"), [("2 REQ'D", "required"), ("4 OFF", "required"), ("6 HOLES", None)])
def test_how_many_parts_is_told_from_how_many_holes(text: str, name: str | None) -> None:
    callout = parse(text)
    assert callout
    assert [value.name for value in callout.values] == [name]
