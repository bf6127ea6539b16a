"""Tolerances from a note: applied to what it governs, and to nothing else."""

from fractions import Fraction

import pytest

from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Reconciled
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading, Text
from tests.digitize.dimensions.drawn import Drawn, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn, row_of

NOTE = "TOLERANCES ±1/64 UNLESS OTHERWISE SPECIFIED"


def sheet_with_notes(*notes: tuple[Reading, ...], more: tuple[Drawn, ...] = ()) -> Reconciled:
    strokes, texts = draw([*(drawn(value, i) for i, value in enumerate(WIDTHS_IN)), *more])
    lettered = [Text(block_at((1500.0, 2750.0 + 80 * i), note[0].text), note) for i, note in enumerate(notes)]
    return reconcile(level_sheet(), strokes, (*texts, *lettered), parse)


def size(text: str, inches: float) -> Drawn:
    return Drawn((200.0, 2650.0), (200.0 + inches * PX_PER_INCH, 2650.0), sure(text))


def test_a_size_takes_the_tolerance_of_the_note_and_says_so() -> None:
    result = sheet_with_notes(sure(NOTE))
    row = row_of(result, '1 1/8"')
    assert (row.upper, row.lower) == (Fraction(1, 64), Fraction(-1, 64))
    assert any(NOTE in reason and "1/64" in reason for reason in row.evidence)
    assert result.title_block["general_tolerance"] == NOTE
    assert len(result.dimensions) == len(WIDTHS_IN)


@pytest.mark.parametrize(("text", "upper"), [("1.500 ±.002", Fraction(1, 500)), ("(1 1/2)", None)])
def test_a_tolerance_of_its_own_or_a_reference_is_not_governed(text: str, upper: Fraction | None) -> None:
    assert row_of(sheet_with_notes(sure(NOTE), more=(size(text, 1.5),)), text).upper == upper


def test_fractions_and_decimals_each_go_by_their_own_note() -> None:
    notes = sure("FRACTIONS ±1/64"), sure("DECIMALS ±.005")
    result = sheet_with_notes(*notes, more=(size("1.500", 1.5),))
    assert row_of(result, "1.500").upper == Fraction(1, 200)
    assert row_of(result, '1 1/8"').upper == Fraction(1, 64)


@pytest.mark.parametrize(
    "notes",
    [(sure(NOTE), sure("TOLERANCE ±1/32")), ((Reading(NOTE, 0.8),),)],
    ids=["two that differ", "one that is not read surely"],
)
def test_a_note_that_is_not_sure_governs_nothing(notes: tuple[tuple[Reading, ...], ...]) -> None:
    assert row_of(sheet_with_notes(*notes), '1 1/8"').upper is None


def test_how_many_are_required_is_no_size() -> None:
    result = sheet_with_notes(sure("2 REQ'D"))
    assert result.title_block["quantity"] == "2 REQ'D"
    assert "how many of the part" in row_of(result, "2 REQ'D").evidence[-1]
