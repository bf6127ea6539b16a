"""The sheet's unit is inferred like any other value, and doubted like one."""

import pytest

from digitize.dimensions.linking.entries import Entry, collect, parse_or_none
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import State
from digitize.dimensions.units import sheet_unit
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading, Text, Unit
from tests.digitize.dimensions.drawn import MM_PER_PX, Drawn, block_at, draw, level_sheet, sure


def entries_of(*strings: str) -> tuple[Entry, ...]:
    texts = [Text(block_at((100.0, 100.0 * i), text), (Reading(text, 0.99),)) for i, text in enumerate(strings)]
    return collect(texts, parse_or_none(parse), str)


def test_fractions_are_inches_and_large_whole_numbers_are_millimetres() -> None:
    assert sheet_unit(entries_of("1 3/8", "5/16", "2 1/4"), None, None).unit is Unit.INCH
    millimetres = sheet_unit(entries_of("126", "40", "50", "53", "269"), None, None)
    assert millimetres.unit is Unit.MM
    assert millimetres.sure


def test_a_few_small_whole_numbers_decide_nothing() -> None:
    assert not sheet_unit(entries_of("2", "3", "5"), None, None).sure


@pytest.mark.parametrize(("marked", "sure"), [(['3"'], False), (['3"', '2 1/2"', '7/8"'], True)])
def test_figures_that_lost_their_mark_do_not_outweigh_many_that_have_it(marked: list[str], *, sure: bool) -> None:
    found = sheet_unit(entries_of(*marked, "2", "5"), None, None)
    assert found.unit is Unit.INCH
    assert found.sure is sure


@pytest.mark.parametrize(("probability", "sure"), [(0.999, True), (0.9, False)])
def test_a_note_is_as_sure_of_the_unit_as_its_reading(probability: float, *, sure: bool) -> None:
    """Two places behind the point are rather an inch habit, which a note surely read outweighs."""
    strings = (("ALL DIMENSIONS IN MM", probability), ("26.00", 0.99), ("30.00", 0.99))
    texts = [Text(block_at((100.0, 100.0 * i), s), (Reading(s, p),)) for i, (s, p) in enumerate(strings)]
    found = sheet_unit(collect(texts, parse_or_none(parse), str), None, None)
    assert found.sure is sure


def test_a_note_that_was_cut_short_does_not_outweigh_the_drawing() -> None:
    found = sheet_unit(entries_of("126", "40", "53", "DIMENSIONS INCHES"), 1.0, 1.0)
    assert found.unit is Unit.MM


def test_the_drawing_scale_tells_the_unit() -> None:
    """Full size by its note: 3 units measure 76.2 mm of paper when they are inches."""
    assert sheet_unit(entries_of("2", "3", "5"), 25.4, 1.0).unit is Unit.INCH
    assert sheet_unit(entries_of("2", "3", "5"), 25.4, 1.0).sure


@pytest.mark.parametrize("mm_per_unit", [12.7 / 4, 25.4 / 5.3])
def test_nothing_unmarked_is_agreed_while_the_unit_is_in_doubt(mm_per_unit: float) -> None:
    """Small whole numbers without a note, drawn to a scale that is odd for inches and for millimetres."""
    drawn = [
        Drawn((200.0, 200.0 + 300 * i), (200.0 + value * mm_per_unit / MM_PER_PX, 200.0 + 300 * i), sure(str(value)))
        for i, value in enumerate((2, 3, 5, 7, 8, 4, 6))
    ]
    strokes, texts = draw(drawn)
    result = reconcile(level_sheet(), strokes, texts, parse)
    assert result.warnings
    assert all(row.state is State.UNPROVEN for row in result.dimensions)
    assert any("inches or millimetres" in reason for row in result.dimensions for reason in row.evidence)
