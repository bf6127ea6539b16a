"""A person's word: it stands, it is never read anew, and what contradicts it is still said."""

from fractions import Fraction

from digitize.dimensions.confirmed import Added, Confirmation
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Kind, Reading
from tests.digitize.dimensions.drawn import Drawn, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn, figure


def said(dimensions: list[Drawn], *confirmations: Confirmation, added: tuple[Added, ...] = ()) -> Reconciled:
    strokes, texts = draw(dimensions)
    return reconcile(level_sheet(), strokes, texts, parse, confirmations, added)


def at(result: Reconciled, text: int, which: int = 0) -> Dimension:
    return next(row for row in result.dimensions if row.place == (text, which))


def confirmed(text: int, said: str | None) -> Confirmation:
    return Confirmation((text, 0), said, "A. Reader", "2026-01-02")


SOUND = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])]


def test_a_confirmed_reading_is_agreed_and_says_by_whom() -> None:
    torn = drawn(WIDTHS_IN[0], 8, (Reading('1 7/8"', 0.6), Reading('1 1/8"', 0.3)))
    row = at(said([*SOUND, torn], confirmed(7, '1 1/8"')), 7)
    assert (row.state, row.value, row.confirmed_by) == (State.AGREED, Fraction(9, 8), "A. Reader")
    assert "confirmed by A. Reader on 2026-01-02" in row.evidence
    assert not row.contradicted


def test_a_confirmed_value_that_the_drawing_contradicts_still_says_so() -> None:
    row = at(said([*SOUND, drawn(WIDTHS_IN[0], 8)], confirmed(7, '1 7/8"')), 7)
    assert row.state is State.AGREED
    assert row.contradicted
    assert any("reads 1 7/8" in reason and "measures 1.125" in reason for reason in row.evidence)


def test_what_is_struck_out_is_no_row_and_the_others_keep_their_state() -> None:
    result = said([*SOUND, drawn(WIDTHS_IN[0], 8)], confirmed(7, None))
    assert all(row.place[0] != 7 for row in result.dimensions)
    assert sum(row.state is State.AGREED for row in result.dimensions) == len(SOUND)


def test_a_bare_number_typed_for_a_diameter_stays_a_diameter() -> None:
    round_part = Drawn((200.0, 2600.0), (200.0 + 2 * PX_PER_INCH, 2600.0), sure('Ø2 1/8"'))
    row = at(said([*SOUND, round_part], confirmed(7, '2"')), 7)
    assert (row.kind, row.value) == (Kind.DIAMETER, 2)


def test_one_value_of_a_callout_can_be_corrected_alone() -> None:
    seat = Drawn((200.0, 2600.0), (230.0, 2600.0), sure("1/4 × 1/8 KEYSEAT"))
    one = Confirmation((7, 1), "3/32", "A. Reader", "2026-01-02", whole=False)
    result = said([*SOUND, seat], one)
    assert (at(result, 7, 0).value, at(result, 7, 1).value) == (Fraction(1, 4), Fraction(3, 32))
    assert at(result, 7, 0).confirmed_by is None
    assert at(result, 7, 1).confirmed_by == "A. Reader"


def test_the_last_word_on_a_place_holds() -> None:
    result = said([*SOUND, drawn(WIDTHS_IN[0], 8)], confirmed(7, '1 7/8"'), confirmed(7, '1 1/8"'))
    assert at(result, 7).value == Fraction(9, 8)


def test_a_dimension_put_in_by_hand_is_measured_between_its_ends() -> None:
    ends = (300.0, 2650.0), (300.0 + 2 * PX_PER_INCH, 2650.0)
    result = said(SOUND, added=(Added(*ends, '2"', "A. Reader", "2026-01-02"),))
    row = at(result, len(SOUND))
    assert (row.state, row.value) == (State.AGREED, 2)
    assert row.measured is not None
    assert abs(row.measured - 2) < 0.02


def test_a_confirmed_length_helps_to_know_the_scale() -> None:
    few = [drawn(value, i, (Reading(figure(value), 0.15),)) for i, value in enumerate(WIDTHS_IN)]
    unsure = said(few)
    sure_of = said(few, *(confirmed(i, figure(value)) for i, value in enumerate(WIDTHS_IN)))
    assert sure_of.scales[0].known
    assert all(row.state is State.AGREED for row in sure_of.dimensions)
    assert not all(row.state is State.AGREED for row in unsure.dimensions)
