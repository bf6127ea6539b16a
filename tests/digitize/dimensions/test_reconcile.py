"""The witness rule on whole sheets without pixels: what is sound is agreed, what is wrong never is."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.straightening.bend import POSE, Bend, lift_of
from digitize.dimensions.linking.entries import collect, parse_or_none
from digitize.dimensions.linking.tied import attach
from digitize.dimensions.reasons import Reason
from digitize.dimensions.reconcile import by_state, reconcile
from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Kind, LineThrough, Reading, Text, Unit
from digitize.strokes.primitives import Line, Role
from tests.digitize.dimensions.drawn import MM_PER_PX, Drawn, block_at, draw, level_sheet, sure

PX_PER_INCH = 25.4 / MM_PER_PX / 2
"""The test sheets are drawn half size."""
WIDTHS_IN = tuple(Fraction(n, 8) for n in (9, 13, 22, 30, 37, 45, 58, 70))


def figure(value: Fraction) -> str:
    """A value in inches as a draughtsman writes it."""
    whole, rest = divmod(value, 1)
    return " ".join(str(part) for part in (whole, rest) if part) + '"'


def drawn(value: Fraction, row: int, readings: tuple[Reading, ...] | None = None, pen_px: float = 0.0) -> Drawn:
    """A length across the sheet, drawn true or off by a pen error."""
    length = float(value) * PX_PER_INCH + pen_px
    return Drawn((200.0, 200.0 + 300 * row), (200.0 + length, 200.0 + 300 * row), readings or sure(figure(value)))


def sheet_with(dimensions: list[Drawn]) -> Reconciled:
    strokes, texts = draw(dimensions)
    return reconcile(level_sheet(), strokes, texts, parse)


def row_of(result: Reconciled, text: str) -> Dimension:
    return next(row for row in result.dimensions if row.text == text)


def test_an_empty_sheet_has_no_rows() -> None:
    result = sheet_with([])
    assert result.dimensions == ()
    assert result.scales == ()


def test_a_sound_sheet_is_agreed_and_its_scale_known() -> None:
    result = sheet_with([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    assert by_state(result.dimensions)[State.AGREED] == len(WIDTHS_IN)
    assert result.unit is Unit.INCH
    assert result.scales[0].part_per_paper == pytest.approx(2.0, rel=1e-4)
    assert all(row.measured == pytest.approx(float(row.value or 0), abs=1e-3) for row in result.dimensions)


def test_three_lengths_make_no_scale() -> None:
    result = sheet_with([drawn(value, i) for i, value in enumerate(WIDTHS_IN[:3])])
    assert {row.state for row in result.dimensions} == {State.UNPROVEN}


def test_a_figure_that_disagrees_with_its_drawing_is_disputed_and_says_by_how_much() -> None:
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])]
    result = sheet_with([*sound, drawn(WIDTHS_IN[0], 8, sure('1 7/8"'))])
    wrong = row_of(result, '1 7/8"')
    assert wrong.state is State.DISPUTED
    assert any("measures 1.125 in" in reason and "0.75 in" in reason for reason in wrong.evidence)
    assert by_state(result.dimensions)[State.AGREED] == len(sound)


def test_what_geometry_prefers_is_not_written_over_what_was_read() -> None:
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])]
    torn = (Reading('1 7/8"', 0.6), Reading('1 1/8"', 0.3))
    result = sheet_with([*sound, drawn(WIDTHS_IN[0], 8, torn)])
    doubtful = next(row for row in result.dimensions if row.text in ('1 7/8"', '1 1/8"'))
    assert doubtful.state is not State.AGREED


def test_a_reading_that_the_drawing_alone_prefers_says_so() -> None:
    readings = (Reading('1 7/8"', 0.5), Reading('1 1/8"', 0.4))
    row = row_of(
        sheet_with([drawn(v, i) for i, v in enumerate(WIDTHS_IN[1:])] + [drawn(WIDTHS_IN[0], 8, readings)]), '1 1/8"'
    )
    assert row.state is State.UNPROVEN
    assert Reason.SEEN_OTHERWISE.say(first='1 7/8"') in row.evidence


def test_geometry_does_not_carry_a_reading_that_is_rather_wrong_than_right() -> None:
    lengths = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])]
    weak = drawn(WIDTHS_IN[0], 8, (Reading(figure(WIDTHS_IN[0]), 0.15),))
    assert row_of(sheet_with([*lengths, weak]), figure(WIDTHS_IN[0])).state is not State.AGREED


@pytest.mark.parametrize(("text", "certainty", "state"), [
    ('7"', 0.6, State.UNPROVEN), ('7"', 0.45, State.UNREAD), ("7", 0.999, State.UNREAD),
    ("1 1/8", 0.99, State.UNPROVEN), ("1 1/8", 0.85, State.UNREAD),
])  # fmt: skip
def test_a_figure_at_no_line_is_shown_where_it_is_written_as_sizes_alone_are(
    text: str, certainty: float, state: State
) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    alone = Text(block_at((2600.0, 2700.0), text), (Reading(text, certainty),), "drawn")
    assert row_of(reconcile(level_sheet(), strokes, (*texts, alone), parse), text).state is state


def test_a_figure_at_no_line_is_unread_where_the_others_stand_at_theirs() -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    stray = Text(block_at((2600.0, 2700.0), "3/4"), sure("3/4"), "drawn")
    result = reconcile(level_sheet(), strokes, (*texts, stray), parse)
    assert row_of(result, "3/4").state is State.UNREAD
    alone = reconcile(level_sheet(), strokes, (stray,), parse)
    assert row_of(alone, "3/4").state is State.UNPROVEN


def test_spellings_that_say_the_same_stand_in_together_for_a_first_that_says_nothing() -> None:
    readings = (Reading('14 1/2" P.A.', 0.45), Reading("14 1/2° P.A.", 0.29), Reading("14 1/2 P.A.", 0.2))
    for count, stands in ((3, True), (2, False)):
        note = Text(block_at((2000.0, 2800.0), "14 1/2 P.A."), readings[:count], "drawn")
        (row,) = reconcile(level_sheet(), draw([])[0], (note,), parse).dimensions
        assert (row.name == "pressure_angle") is stands
        assert row.state is State.UNREAD


def test_an_unreadable_figure_is_unread() -> None:
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN)]
    strokes, texts = draw([*sound, Drawn((200.0, 2800.0), (900.0, 2800.0), ())])
    result = reconcile(level_sheet(), strokes, texts, parse)
    assert by_state(result.dimensions)[State.UNREAD] == 1
    assert next(row for row in result.dimensions if row.state is State.UNREAD).value is None


def test_a_chain_that_does_not_close_keeps_its_links_from_being_agreed() -> None:
    stations = [Fraction(0), Fraction(9, 8), Fraction(22, 8), Fraction(45, 8)]
    links = [
        Drawn((200 + float(a) * PX_PER_INCH, 500.0), (200 + float(b) * PX_PER_INCH, 500.0), sure(figure(b - a)))
        for a, b in pairwise(stations)
    ]
    total = Drawn((200.0, 800.0), (200 + float(stations[-1]) * PX_PER_INCH, 800.0), sure('5 41/64"'))
    shaky = (2.5, -2.0, 1.5, -2.5, 2.0)
    others = [drawn(value, i + 4, pen_px=px) for i, (value, px) in enumerate(zip(WIDTHS_IN[3:8], shaky, strict=True))]
    result = sheet_with([*links, total, *others])
    assert row_of(result, '5 41/64"').state is not State.AGREED
    assert any("does not make" in reason for reason in row_of(result, '5 41/64"').evidence)


def test_limits_that_the_pen_cannot_tell_apart_lean_on_the_reading_alone() -> None:
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])]
    vague = tuple(Reading(text, p) for text, p in (('1.126"', 0.5), ('1.125"', 0.45)))
    result = sheet_with([*sound, drawn(WIDTHS_IN[0], 8, vague)])
    assert next(row for row in result.dimensions if row.text.startswith("1.12")).state is not State.AGREED


@pytest.mark.parametrize(("count", "held"), [(6, False), (len(WIDTHS_IN), True)])
def test_a_sheet_that_lies_crooked_nobody_knows_how_needs_more_lengths(count: int, *, held: bool) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN[:count])])
    bend = Bend(np.zeros(2), 1000.0, np.zeros(POSE), np.eye(POSE) * 1e-8, lift_of(1.0, 0), 6.0, 0.3)
    states = []
    for corrected in (True, False):
        sheet = replace(level_sheet(), bend=replace(bend, corrected=corrected))
        states.append({row.state for row in reconcile(sheet, strokes, texts, parse).dimensions})
    assert State.AGREED in states[0]
    assert (State.AGREED in states[1]) is held


def test_an_unproven_value_that_nothing_contradicts_says_what_is_missing() -> None:
    shaky = (4.8, -4.0, 3.6, -4.8, 4.0, -3.6, 4.4)
    rough = [drawn(value, i, pen_px=px) for i, (value, px) in enumerate(zip(WIDTHS_IN[1:], shaky, strict=True))]
    hinted = Reading("1.125", 0.99), Reading("1.126", 0.0005)
    result = sheet_with([*rough, drawn(WIDTHS_IN[0], 8, hinted)])
    row = row_of(result, "1.125")
    assert row.state is State.UNPROVEN
    assert any("last figure is not settled" in reason for reason in row.evidence)


@settings(max_examples=60)
@given(st.data())
def test_no_reading_that_geometry_can_tell_apart_is_ever_agreed(data: st.DataObject) -> None:
    victim = data.draw(st.integers(0, len(WIDTHS_IN) - 1))
    wrong = Fraction(data.draw(st.integers(2, 640)), 64)
    true = WIDTHS_IN[victim]
    if abs(wrong - true) * Fraction(254, 20) < Fraction(1):
        return
    lengths = [drawn(value, i, sure(figure(wrong)) if i == victim else None) for i, value in enumerate(WIDTHS_IN)]
    result = sheet_with(lengths)
    assert all(row.value in WIDTHS_IN for row in result.dimensions if row.state is State.AGREED)


def test_a_doubted_reading_is_carried_by_a_drawing_that_tells_every_longer_figure() -> None:
    """A reader that left six parts in ten unsaid may have seen a part of 2 1/8; a drawn 1/8 rules that out."""
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])]
    half_read = (Reading(figure(WIDTHS_IN[0]), 0.25),)
    assert row_of(sheet_with([*sound, drawn(WIDTHS_IN[0], 8, half_read)]), figure(WIDTHS_IN[0])).state is State.AGREED


def test_a_doubted_decimal_may_be_a_part_of_limits_and_is_not_carried() -> None:
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])]
    half_read = (Reading('1.125"', 0.4),)
    assert row_of(sheet_with([*sound, drawn(WIDTHS_IN[0], 8, half_read)]), '1.125"').state is not State.AGREED


def test_a_doubted_reading_on_a_shaky_drawing_is_not_carried() -> None:
    shaky = (4.8, -4.0, 3.6, -4.8, 4.0, -3.6, 4.4)
    rough = [drawn(value, i, pen_px=px) for i, (value, px) in enumerate(zip(WIDTHS_IN[1:], shaky, strict=True))]
    half_read = (Reading(figure(WIDTHS_IN[0]), 0.4),)
    result = sheet_with([*rough, drawn(WIDTHS_IN[0], 8, half_read)])
    assert row_of(result, figure(WIDTHS_IN[0])).state is not State.AGREED


@pytest.mark.parametrize(
    ("read", "true"),
    [('1/8"', Fraction(9, 8)), ("2", Fraction(21, 8)), ('.625"', Fraction(13, 8)), ('125"', Fraction(9, 8))],
)
def test_a_part_of_a_longer_figure_is_no_contradiction_of_the_print(read: str, true: Fraction) -> None:
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN) if value != true]
    result = sheet_with([*sound, drawn(true, 9, sure(read))])
    row = row_of(result, read)
    assert row.state is State.UNREAD
    assert any("may be a part of" in reason for reason in row.evidence)


def test_nothing_is_lost_between_a_figure_and_its_mark() -> None:
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN) if value != Fraction(21, 8)]
    row = row_of(sheet_with([*sound, drawn(Fraction(21, 8), 9, sure('2"'))]), '2"')
    assert row.state is State.DISPUTED


def test_a_point_too_many_is_the_readers_slip() -> None:
    sound = [drawn(Fraction(value), i, sure(f"{value} MM")) for i, value in enumerate((31, 45, 52, 60, 75, 24, 38))]
    result = sheet_with([*sound, drawn(Fraction(62), 8, sure(".62 MM"))])
    assert row_of(result, ".62 MM").state is State.UNREAD


@pytest.mark.parametrize("drawn_mm", [62, 57])
def test_of_two_readings_that_a_point_alone_tells_apart_the_one_that_is_drawn_is_shown(drawn_mm: int) -> None:
    """It is never agreed: the reader saw the other first."""
    sound = [drawn(Fraction(value), i, sure(f"{value} MM")) for i, value in enumerate((31, 45, 52, 60, 75, 24, 38))]
    seen = Reading(".62 MM", 0.9), Reading("62 MM", 0.09)
    row = next(r for r in sheet_with([*sound, drawn(Fraction(drawn_mm), 8, seen)]).dimensions if "62" in r.text)
    if drawn_mm == 62:
        assert (row.text, row.value, row.state) == ("62 MM", 62, State.UNPROVEN)
        assert Reason.SEEN_OTHERWISE.say(first=".62 MM") in row.evidence
    else:
        assert row.text == ".62 MM"


def test_a_figure_on_a_line_where_an_extension_line_ends_contradicts_nothing() -> None:
    """Its own arrowheads may have been missed there."""
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])]
    strokes, texts = draw([*sound, drawn(WIDTHS_IN[0], 8, sure('1 7/8"'))])
    y = 200.0 + 300 * 8
    between = Line((250.0, y - 300.0), (250.0, y + 20.0), 3.0, role=Role.EXTENSION)
    loose = reconcile(level_sheet(), replace(strokes, lines=(*strokes.lines, between)), texts, parse)
    assert row_of(reconcile(level_sheet(), strokes, texts, parse), '1 7/8"').state is State.DISPUTED
    assert row_of(loose, '1 7/8"').state is State.UNPROVEN


def test_a_figure_at_no_line_is_believed_as_read_only_where_it_says_its_unit() -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    said = ('3 1/2"', "17")
    apart = [Text(block_at((3000.0, 2500.0 + 200 * n), text), sure(text), "test") for n, text in enumerate(said)]
    result = reconcile(level_sheet(), strokes, (*texts, *apart), parse)
    assert row_of(result, '3 1/2"').state is State.UNPROVEN
    assert row_of(result, "17").state is State.UNREAD


def test_a_whole_number_at_no_line_is_no_size_though_hardly_a_figure_is_at_one() -> None:
    strokes, texts = draw([drawn(WIDTHS_IN[0], 0)])
    said = ("3 1/2", "2 3/8", "17")
    apart = [Text(block_at((3000.0, 2500.0 + 200 * n), text), sure(text), "test") for n, text in enumerate(said)]
    result = reconcile(level_sheet(), strokes, (*texts, *apart), parse)
    assert [row_of(result, text).state for text in said] == [State.UNPROVEN, State.UNPROVEN, State.UNREAD]


def test_a_field_of_the_title_block_of_which_a_letter_was_misread_is_no_missed_size() -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    best, field, size = Reading("BRG. NO. T-52", 0.7), Reading("DRG. NO. T-52", 0.25), Reading('5 1/2"', 0.1)
    for others, shown in ((field,), False), ((field, size), True), ((), True):
        apart = Text(block_at((3000.0, 2500.0), best.text), (best, *others), "test")
        rows = reconcile(level_sheet(), strokes, (*texts, apart), parse).dimensions
        assert (len(rows) > len(texts)) is shown


def test_holes_without_a_count_are_not_agreed_for_the_count_may_have_run_into_the_size() -> None:
    """Found on a sheet: .281 6 HOLES read as .2816 HOLES."""
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])]
    true, read = Fraction(281, 1000), 'DRILL .2816" HOLES'
    row = row_of(sheet_with([*sound, drawn(true, 8, sure(read))]), read)
    assert row.state is State.UNPROVEN
    assert any("not of how many" in reason for reason in row.evidence)
    counted = 'DRILL .281" 6 HOLES'
    assert row_of(sheet_with([*sound, drawn(true, 8, sure(counted))]), counted).state is State.AGREED


def test_the_title_block_takes_the_scale_from_a_line_that_says_more() -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    line = "BASE PLATE SCALE 1:2 DIMENSIONS IN INCHES"
    note = Text(block_at((2000.0, 2800.0), line), sure(line), "drawn")
    result = reconcile(level_sheet(), strokes, (*texts, note), parse)
    assert result.title_block["scale"] == "SCALE 1:2"
    assert not any(row.text == line for row in result.dimensions)


def test_a_fit_on_a_centre_line_is_one_value_whether_or_not_the_reader_saw_its_diameter_sign() -> None:
    torn = (Reading("1.126\n1.124", 0.54), Reading("1.126\n1.124 DIA.", 0.455))
    strokes, texts = draw([*(drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])), drawn(WIDTHS_IN[0], 8, torn)])
    x, y = 200.0 + 0.5 * float(WIDTHS_IN[0]) * PX_PER_INCH, 200.0 + 300 * 8
    axis = Line((x, y - 400.0), (x, y + 100.0), 2.0, role=Role.CENTRE, view="A")
    row = row_of(reconcile(level_sheet(), replace(strokes, lines=(*strokes.lines, axis)), texts, parse), torn[0].text)
    assert (row.kind, row.state) == (Kind.DIAMETER, State.AGREED)
    assert torn[1].text not in " ".join(row.evidence)


def test_two_sizes_run_together_at_one_dimension_line_are_not_what_it_measures() -> None:
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[1:])]
    result = sheet_with([*sound, drawn(WIDTHS_IN[0], 8, sure('7/16"× 1 1/8"'))])
    pair = [row.state for row in result.dimensions if "×" in row.text]
    assert pair == [State.UNPROVEN, State.UNPROVEN]


@pytest.mark.parametrize(
    ("read", "state"), [('1.125" DIA.', State.AGREED), ('1.125"', State.UNPROVEN), ('.125" DIA.', State.UNREAD)]
)
def test_a_size_doubted_for_ink_before_it_is_carried_where_a_figure_more_would_show(read: str, state: State) -> None:
    """11.125 is not drawn; a size that may lack its sign is not carried, and 1.125 of which the 1 was lost is shown."""
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    doubted = replace(texts[0], readings=(Reading(read, 0.4),), cut_before=True)
    rows = {row.place[0]: row for row in reconcile(level_sheet(), strokes, (doubted, *texts[1:]), parse).dimensions}
    assert rows[0].state is state
    assert (Reason.CUT_BEFORE.say() in rows[0].evidence) is (state is State.AGREED)
    plain = replace(doubted, cut_before=False)
    rows = {row.place[0]: row for row in reconcile(level_sheet(), strokes, (plain, *texts[1:]), parse).dimensions}
    assert rows[0].state is not State.AGREED


@pytest.mark.parametrize(("text", "state"), [('1"', State.UNREAD), ('3"', State.UNPROVEN)])
def test_a_one_alone_at_no_line_may_be_a_dash(text: str, state: State) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    stray = Text(block_at((2800.0, 2800.0), text), sure(text))
    result = reconcile(level_sheet(), strokes, (*texts, stray), parse)
    (row,) = [each for each in result.dimensions if each.quad_px[0][0] > 2600]
    assert row.state is state


@pytest.mark.parametrize(("strain_std", "assumed"), [(0.02, False), (0.2, True)])
def test_a_length_whose_ends_are_known_to_a_fifth_of_it_is_none_that_was_seen(strain_std: float, assumed: bool) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    entries = collect(texts, parse_or_none(parse), lambda _: "")
    tied, _slots = attach(entries, texts, replace(strokes, strain_std=strain_std), MM_PER_PX)
    assert [entry.certain_line for entry in tied] == [not assumed] * len(WIDTHS_IN)


@pytest.mark.parametrize(("words", "state"), [("RAD", State.UNREAD), ('" DIA.', State.UNREAD), ("MILD STEEL", None)])
def test_a_word_that_nobody_writes_without_a_figure_has_lost_it(words: str, state: State | None) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    alone = Text(block_at((2500.0, 2800.0), words), sure(words), "drawn")
    result = reconcile(level_sheet(), strokes, (*texts, alone), parse)
    assert next((row.state for row in result.dimensions if row.text == words), None) is state


@pytest.mark.parametrize(("line", "state"), [(LineThrough.OUT, State.UNREAD), (LineThrough.ALONG, State.UNPROVEN)])
def test_a_figure_that_a_line_runs_through_is_not_believed_though_it_fits(line: LineThrough, state: State) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    struck = replace(texts[0], line_through=line)
    rows = {row.place[0]: row for row in reconcile(level_sheet(), strokes, (struck, *texts[1:]), parse).dimensions}
    assert rows[0].state is state
    assert rows[0].evidence[-1] == Reason.STRUCK_OUT.say()
    assert {row.state for place, row in rows.items() if place != 0} == {State.AGREED}
