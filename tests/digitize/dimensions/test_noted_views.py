"""A section drawn to another scale, with a note beside it that says so, is measured by the sheet's own."""

from dataclasses import replace
from fractions import Fraction

import pytest

from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.scales.noted_views import noted_ratios
from digitize.dimensions.table import Reconciled, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from digitize.strokes.primitives import Strokes, View
from tests.digitize.dimensions.drawn import EXTENT_PX, MM_PER_PX, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_off_scale import BOTTOM_PX, MIDDLE_PX, VALUES_IN, length

VIEWS = (
    View("A", "view", (0, 0, MIDDLE_PX, BOTTOM_PX)),
    View("B", "view", (MIDDLE_PX, 0, EXTENT_PX, 800.0)),
    View("T1", "title_block", (0, 2800.0, MIDDLE_PX, EXTENT_PX)),
)
TITLE, BESIDE_B = (400.0, 2900.0), (MIDDLE_PX + 600.0, 860.0)


def note(text: str, at: tuple[float, float], probability: float = 0.99) -> Text:
    return Text(block_at(at, text), (replace(sure(text)[0], probability=probability),), "drawn")


def sheet_of(section: str, *drawn_as: float) -> Reconciled:
    """Eight lengths in view A at half size; a section with 1/2 and 7/8, each drawn a factor larger, and its title."""
    a, a_texts = draw([length(value, i, 100.0, 1.0) for i, value in enumerate(VALUES_IN)])
    pairs = zip((Fraction(1, 2), Fraction(7, 8)), drawn_as, strict=True)
    b, b_texts = draw([length(value, i, MIDDLE_PX + 100.0, factor) for i, (value, factor) in enumerate(pairs)])
    shift = len(a.lines)
    strokes = Strokes(
        a.lines + tuple(replace(line, view="B") for line in b.lines),
        (),
        a.arrowheads + tuple(replace(head, line=(head.line or 0) + shift) for head in b.arrowheads),
        VIEWS,
    )
    notes = note("SCALE HALF SIZE", TITLE), note(section, BESIDE_B)
    return reconcile(level_sheet(), strokes, (*a_texts, *b_texts, *notes), parse)


def states_in_b(found: Reconciled) -> list[State]:
    return [row.state for row in found.dimensions if row.view == "B"]


def test_two_lengths_of_a_section_at_twice_the_scale_are_agreed() -> None:
    found = sheet_of("SECTION A-A SCALE FULL SIZE", 2.0, 2.0)
    scales = {scale.view: scale for scale in found.scales}
    assert found.scales[0].view == "A"
    assert scales["B"].part_per_paper == pytest.approx(scales["A"].part_per_paper / 2)
    assert states_in_b(found) == [State.AGREED, State.AGREED]


@pytest.mark.parametrize("section", ["SECTION A-A", "SECTION A-A SCALE QUARTER SIZE"])
def test_without_a_note_that_its_lengths_bear_out_nothing_there_is_agreed(section: str) -> None:
    assert State.AGREED not in states_in_b(sheet_of(section, 2.0, 2.0))


def test_a_wrong_figure_in_such_a_view_is_not_agreed() -> None:
    """What says 7/8 is drawn as 3/4."""
    found = sheet_of("SECTION A-A SCALE FULL SIZE", 2.0, 2.0 * 6 / 7)
    states = {row.text: row.state for row in found.dimensions if row.view == "B"}
    assert states == {'1/2"': State.AGREED, '7/8"': State.DISPUTED}


def test_a_note_belongs_to_the_view_that_it_stands_nearest_to() -> None:
    strokes = Strokes(views=VIEWS)
    assert noted_ratios([note("SECTION A-A SCALE 2:1", BESIDE_B)], strokes, "SCALE 1:1", MM_PER_PX) == {"B": 0.5}
    assert noted_ratios([note("SCALE 2:1", BESIDE_B, 0.4)], strokes, "SCALE 1:1", MM_PER_PX) == {}
    assert noted_ratios([note("SCALE 2:1", TITLE)], strokes, "SCALE 1:1", MM_PER_PX) == {}
    assert noted_ratios([note("SECTION A-A SCALE 2:1", BESIDE_B)], strokes, "", MM_PER_PX) == {}


def test_where_the_title_block_says_as_noted_the_notes_of_the_parts_stand_for_it() -> None:
    strokes = Strokes(views=VIEWS)
    notes = [note("DET. 1 2 REQ'D FULL SIZE", (400.0, 2600.0)), note("DET. 2 1 REQ'D HALF SIZE", BESIDE_B)]
    assert noted_ratios(notes, strokes, "SCALE AS NOTED", MM_PER_PX) == {"B": 2.0}
    assert noted_ratios(notes, strokes, "AS NOTED", MM_PER_PX, {"A": ("B",), "B": ("A",)}) == {"B": 2.0}
    assert noted_ratios(notes[1:], strokes, "", MM_PER_PX) == {}
    assert noted_ratios(notes[1:], strokes, "SCALE FULL SIZE", MM_PER_PX, {"A": ("B",), "B": ("A",)}) == {
        "A": 2.0,
        "B": 2.0,
    }
