"""Sizes that the sheet has no room for."""

from dataclasses import replace

import pytest

from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.reasons import Reason
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.states.too_large import is_too_large, longest_mm
from digitize.dimensions.table import Dimension, State, ViewScale
from digitize.lettering.grammar import parse
from digitize.lettering.text import Callout, LineThrough, Text, Unit
from tests.digitize.dimensions.drawn import MM_PER_PX, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn

SHEET_MM = 3000 * MM_PER_PX * 2**0.5


def entry(text: str) -> Entry:
    callout = parse(text)
    assert isinstance(callout, Callout)
    return Entry(0, 0, callout.values[0], ())


@pytest.mark.parametrize(
    ("text", "too_large"),
    [
        ('625" DIA', True),
        ('6.25" DIA', False),
        ('625" × 45°', True),
        ('75" R', False),  # struck from off the sheet
        ('40"', False),  # over a break
        ('375"', True),
        ('375" N.T.S.', False),
        ("375", False),  # of what nobody knows
        ("375 MM", False),
    ],
)
def test_what_is_larger_than_the_sheet_lost_a_point(text: str, too_large: bool) -> None:
    assert is_too_large(entry(text), SHEET_MM, Unit.INCH, unit_sure=False) is too_large
    assert not is_too_large(entry(text), None, Unit.INCH, unit_sure=False)


def test_the_room_is_that_of_the_smallest_scale_and_of_known_ones() -> None:
    full = ViewScale("A", 0.1, 0.1, 0.0, 0.0, 6, 0.1, known="dimensions")
    quarter = ViewScale("B", 0.4, 0.4, 0.0, 0.0, 6, 0.1, known="dimensions")
    unknown = ViewScale("C", 9.0, 9.0, 0.0, 0.0, 0, 0.1)
    assert longest_mm((full, quarter, unknown), (300, 400)) == pytest.approx(500 * 0.4)
    assert longest_mm((unknown,), (300, 400)) is None


def beside(text: Text) -> Dimension:
    """The row of a text that stands at no line, on a sheet of sure sizes."""
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    found = reconcile(level_sheet(), strokes, (*texts, text), parse)
    return next(row for row in found.dimensions if row.place[0] == len(texts))


def test_such_a_size_is_unread() -> None:
    row = beside(Text(block_at((2600.0, 2800.0), '625" DIA'), sure('625" DIA')))
    assert (row.state, row.value) == (State.UNREAD, None)
    assert Reason.TOO_LARGE.say() in row.evidence
    assert beside(Text(block_at((2600.0, 2800.0), '.625" DIA'), sure('.625" DIA'))).state is State.UNPROVEN


def test_a_whole_number_that_a_line_runs_through_and_that_measures_nothing_is_unread() -> None:
    crossed = Text(block_at((2600.0, 2800.0), '8"'), sure('8"'), line_through=LineThrough.PERHAPS)
    assert beside(crossed).state is State.UNPROVEN
    assert beside(replace(crossed, readings=sure("8"))).state is State.UNREAD
