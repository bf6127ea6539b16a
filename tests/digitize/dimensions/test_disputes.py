"""What is disputed, and why a contradiction is not where it is not."""

from dataclasses import replace

import pytest

from calibrate.scaling.stretching import Stretch
from digitize.dimensions.linking.entries import collect, parse_or_none
from digitize.dimensions.linking.leaders import Leader
from digitize.dimensions.reasons import Reason
from digitize.dimensions.reconcile import by_state, reconcile
from digitize.dimensions.scales.told import Told
from digitize.dimensions.scales.view_scales import scale_views
from digitize.dimensions.states.judgement import judge_all
from digitize.dimensions.table import Dimension, Measured, State
from digitize.dimensions.witnesses.weighing import Bench
from digitize.lettering.grammar import parse
from digitize.lettering.text import Kind, Reading, Text, Unit
from digitize.strokes.primitives import Arrowhead, Line, Role
from tests.digitize.dimensions.drawn import Drawn, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn, figure, row_of, sheet_with

PARSE = parse_or_none(parse)
SCANNER_OFF = 1.035
"""A feed so far off its rate is unusual, and which axis is right nobody knows."""


def upright(inches: float, column: int, text: str) -> Drawn:
    x = 1500.0 + 200 * column
    return Drawn((x, 2800.0), (x, 2800.0 - inches * PX_PER_INCH * SCANNER_OFF), sure(text))


def test_what_no_stretch_explains_is_disputed_though_the_stretch_is_not_known() -> None:
    across = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[:5])]
    up = [upright(4.5, 1, '4 1/2"'), upright(5.5, 2, '8 1/4"')]
    result = sheet_with([*across, *up])
    assert result.stretch is not None
    assert not result.stretch.decided
    assert by_state(result.dimensions)[State.AGREED] == 0
    assert row_of(result, '8 1/4"').state is State.DISPUTED
    assert by_state(result.dimensions)[State.DISPUTED] == 1


def test_what_a_poor_pen_may_be_off_by_is_not_disputed_however_exact_the_others_are() -> None:
    def off_by(millimetres: float) -> Dimension:
        sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN)]
        end = 200.0 + 3.5 * PX_PER_INCH + millimetres / level_sheet().paper_mm_per_px
        return row_of(sheet_with([*sound, Drawn((200.0, 2700.0), (end, 2700.0), sure('3 1/2"'))]), '3 1/2"')

    assert off_by(0.4).state is State.UNPROVEN
    assert Reason.PEN_STRAYS.say() in off_by(0.4).evidence
    assert off_by(0.8).state is State.DISPUTED


def test_a_line_that_has_its_own_figure_is_no_excuse_for_another() -> None:
    """The wrong figure reads what its neighbour's line measures; the neighbour's figure does too."""
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[2:])]
    true, wrong = float(WIDTHS_IN[0]), figure(WIDTHS_IN[1])
    neighbours = [
        Drawn((200.0, 2200.0), (200.0 + true * PX_PER_INCH, 2200.0), sure(wrong)),
        Drawn((200.0, 2290.0), (200.0 + float(WIDTHS_IN[1]) * PX_PER_INCH, 2290.0), sure(wrong)),
    ]
    result = sheet_with([*sound, *neighbours])
    states = [row.state for row in result.dimensions if row.text == wrong]
    assert sorted(states) == [State.AGREED, State.DISPUTED]


@pytest.mark.parametrize(("readings", "disputed"), [
    ({'3 1/2"': 0.6, '8 1/2"': 0.38}, True),  # whichever it is, it does not fit
    ({'3 1/2"': 0.6, '4 5/8"': 0.38}, False),  # the second fits what is drawn
    ({'3 1/2"': 0.6}, False),  # what else it may say is not known
    ({'3 1/2"': 0.4, '8 1/2"': 0.35, '6 1/2"': 0.24}, False),  # no reading is likely
])  # fmt: skip
def test_a_figure_none_of_whose_readings_fits_is_disputed(readings: dict[str, float], *, disputed: bool) -> None:
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN) if i != 4]
    unsure = tuple(Reading(text, p) for text, p in readings.items())
    (row,) = (row for row in sheet_with([*sound, drawn(WIDTHS_IN[4], 8, unsure)]).dimensions if row.text in readings)
    assert (row.state is State.DISPUTED) is disputed
    assert (Reason.NONE_FITS.say() in row.evidence) is disputed


@pytest.mark.parametrize(("reads", "state"), [('1 5/8"', State.UNPROVEN), ('2 3/4"', State.DISPUTED)])
def test_a_line_that_fits_a_figure_tied_to_nothing_beside_it_contradicts_no_other(reads: str, state: State) -> None:
    """Of two neighbours in a chain the trace lost one line: its figure stands at the other's."""
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN) if i != 1]
    strokes, texts = draw([*sound, Drawn((200.0, 500.0), (200.0 + 13 / 8 * PX_PER_INCH, 500.0), sure('4 1/2"'))])
    beside = Text(block_at((200.0 - 110.0, 500.0 - 75.0), reads), sure(reads), "drawn")
    result = reconcile(level_sheet(), strokes, (*texts, beside), parse)
    assert row_of(result, reads).measured is None
    assert row_of(result, '4 1/2"').state is state


@pytest.mark.parametrize(("reads", "state"), [('20"', State.UNREAD), ('21"', State.DISPUTED)])
def test_a_figure_whose_number_fits_in_the_unit_of_the_sheet_was_misread_and_not_misdrawn(
    reads: str, state: State
) -> None:
    """On a sheet in millimetres: what was read as an inch mark is a speck."""
    lengths_mm = (60, 75, 90, 105, 120, 135, 150)
    px_per_mm = PX_PER_INCH / 25.4
    sound = [
        Drawn((200.0, 300.0 + 250 * i), (200.0 + mm * px_per_mm, 300.0 + 250 * i), sure(f"{mm} mm"))
        for i, mm in enumerate(lengths_mm)
    ]
    odd = Drawn((200.0, 2700.0), (200.0 + 20 * px_per_mm, 2700.0), sure(reads))
    result = sheet_with([*sound, odd])
    assert result.unit is Unit.MM
    assert row_of(result, reads).state is state


@pytest.mark.parametrize(("away_mm", "state"), [(7.0, State.UNPROVEN), (3.0, State.DISPUTED)])
def test_an_extension_line_that_ends_on_a_line_between_its_heads_makes_two_lengths_of_it(
    away_mm: float, state: State
) -> None:
    """The nearest dimension line: its extension lines are hardly longer than the gap to the outline."""
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN)]
    strokes, texts = draw([*sound, Drawn((200.0, 2800.0), (200.0 + 9 * PX_PER_INCH, 2800.0), sure('3 5/8"'))])
    x, away_px = 200.0 + 5.375 * PX_PER_INCH, away_mm / level_sheet().paper_mm_per_px
    between = Line((x, 2800.0 - away_px), (x, 2830.0), 3.0, 0.05, role=Role.EXTENSION, view="A")
    result = reconcile(level_sheet(), replace(strokes, lines=(*strokes.lines, between)), texts, parse)
    assert row_of(result, '3 5/8"').state is state


def test_the_other_size_of_a_callout_is_not_of_the_hole_that_the_first_gives() -> None:
    """DRILL .781 ON 6.25 DIA., the letters B.C. behind it read as something else: the leader ends on a drilled hole."""
    sizes = [(figure(value), float(value)) for value in WIDTHS_IN[2:]]
    texts = [Text(block_at((100.0 * i, 0.0), said), sure(said)) for i, (said, _) in enumerate(sizes)]
    callout = "DRILL .781 ON 6.25 DIA."
    texts.append(Text(block_at((1500.0, 0.0), callout), sure(callout)))
    collected = collect(texts, PARSE, str)
    slot, tied = Leader((1500.0, 90.0), (1520.0, 0.0), 0.0, (7,)), []
    for entry in collected:
        led = entry.text == len(sizes)
        length_px = (0.781 if led else sizes[entry.text][1]) * PX_PER_INCH
        at = 100.0 * entry.text, 0.0
        kind, arcs = (Kind.DIAMETER, (7,)) if led else (Kind.LINEAR, ())
        measured = Measured(kind, at, (at[0] + length_px, at[1]), length_px, 0.02, at, arcs)
        tied.append(replace(entry, measured=measured, slot=slot if led else None, view="A"))
    mm_per_px = level_sheet().paper_mm_per_px
    scaled = scale_views(tied, Unit.INCH, mm_per_px, Told(stretch=Stretch(0.0, 0.001, told=True)))
    judged = judge_all(tied, Bench((), scaled, Unit.INCH, mm_per_px))
    states = {(j.entry.text == len(sizes), str(j.entry.value.nominal)): j.state for j in judged if j.entry.value}
    assert states[True, "781/1000"] is State.AGREED
    assert states[True, "25/4"] is State.UNPROVEN
    alone = judge_all(tied[:-2] + tied[-1:], Bench((), scaled, Unit.INCH, mm_per_px))
    assert alone[-1].state is State.DISPUTED


def test_a_line_whose_end_is_not_sure_says_so() -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    row = len(WIDTHS_IN) - 1
    right = strokes.arrowheads[2 * row + 1].tip[0]
    strokes = replace(strokes, lines=tuple(line for line in strokes.lines if not _stands_at(line.start[0], right)))
    longer = (replace(texts[row], readings=sure('9 1/4"')),)
    result = reconcile(level_sheet(), strokes, (*texts[:row], *longer), parse)
    told = row_of(result, '9 1/4"')
    assert told.state is State.UNPROVEN
    assert Reason.LOOSE_LINE.say() in told.evidence


def _stands_at(x: float, place: float) -> bool:
    return abs(x - place) < 1.0


def test_a_length_alone_has_no_scale_to_be_measured_by() -> None:
    (row,) = sheet_with([drawn(WIDTHS_IN[0], 0)]).dimensions
    assert row.measured is None
    assert Reason.NO_SCALE.say() in row.evidence


def test_a_figure_far_off_the_scale_of_a_few_others_is_disputed_though_none_of_them_is_agreed() -> None:
    """Four lengths that fit are no chance, but which of five is wrong by little nobody can tell."""

    def with_one_off_by(share: float) -> dict[str, State]:
        sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[:4])]
        end = 200.0 + 3.5 * (1 + share) * PX_PER_INCH
        result = sheet_with([*sound, Drawn((200.0, 2700.0), (end, 2700.0), sure('3 1/2"'))])
        assert by_state(result.dimensions)[State.AGREED] == 0
        assert Reason.NO_SCALE.say() in row_of(result, '3 1/2"').evidence
        return {row.text: row.state for row in result.dimensions}

    states = with_one_off_by(0.1)
    assert states.pop('3 1/2"') is State.DISPUTED
    assert set(states.values()) == {State.UNPROVEN}
    assert set(with_one_off_by(0.04).values()) == {State.UNPROVEN}


@pytest.mark.parametrize(("beside", "state"), [('1 1/8"', State.UNPROVEN), ('6 1/2"', State.DISPUTED)])
def test_two_figures_that_each_say_what_the_other_leads_to_are_tied_wrongly(beside: str, state: State) -> None:
    """Two leaders meet under their figures, and each figure is tied to the other's."""
    sizes = [(figure(value), float(value)) for value in WIDTHS_IN[2:]]
    led = [(figure(WIDTHS_IN[1]), float(WIDTHS_IN[0])), (beside, float(WIDTHS_IN[1]))]
    texts = [Text(block_at((100.0 * i, 0.0), said), sure(said)) for i, (said, _) in enumerate([*sizes, *led])]
    tied = []
    for i, (entry, (_, drawn_in)) in enumerate(zip(collect(texts, PARSE, str), [*sizes, *led], strict=True)):
        at = 100.0 * i, 0.0
        length_px = drawn_in * PX_PER_INCH
        measured = Measured(Kind.LINEAR, at, (at[0] + length_px, at[1]), length_px, 0.02, at)
        slot = Leader((at[0], 90.0), (at[0] + 20.0, 0.0), 0.0, ()) if i >= len(sizes) else None
        tied.append(replace(entry, measured=measured, slot=slot, view="A"))
    mm_per_px = level_sheet().paper_mm_per_px
    scaled = scale_views(tied, Unit.INCH, mm_per_px, Told(stretch=Stretch(0.0, 0.001, told=True)))
    judged = judge_all(tied, Bench((), scaled, Unit.INCH, mm_per_px))
    assert judged[len(sizes)].state is state


@pytest.mark.parametrize(("readings", "state"), [
    ({'2 1/2"': 0.35}, State.UNPROVEN),
    ({'2 1/2"': 0.35, '7 1/2"': 0.3}, State.UNREAD),  # which of the two, nobody knows
    ({'1/2"': 0.35}, State.UNREAD),  # it may be the end of a longer one
    ({'2 1/2"': 0.2}, State.UNREAD),
    ({"2 × 45°": 0.35}, State.UNPROVEN),
])  # fmt: skip
def test_a_weak_reading_is_given_where_it_is_whole_and_has_no_rival(readings: dict[str, float], state: State) -> None:
    unsure = tuple(Reading(text, p) for text, p in readings.items())
    row = sheet_with([drawn(WIDTHS_IN[0], 0, unsure)]).dimensions[0]
    assert row.state is state
    assert Reason.UNCERTAIN_READING.say(probability=next(iter(readings.values()))) in row.evidence


@pytest.mark.parametrize(("inside", "state"), [(True, State.UNPROVEN), (False, State.DISPUTED)])
def test_a_line_that_ends_on_a_stroke_of_its_own_figure_is_cut_short(*, inside: bool, state: State) -> None:
    """The head and the bar of a fraction that stands in the line: what is left of it contradicts nothing."""
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    row = len(WIDTHS_IN) - 1
    (right, y) = strokes.arrowheads[2 * row + 1].tip
    bar = Line((right, y - 12.0), (right, y + 12.0), 3.0, role=Role.VISIBLE)
    lines = tuple(line for line in strokes.lines if not _stands_at(line.start[0], right))
    block = block_at((right - 20.0 if inside else right - 300.0, y), '9 1/4"')
    cut = replace(texts[row], readings=sure('9 1/4"'), block=block)
    result = reconcile(level_sheet(), replace(strokes, lines=(*lines, bar)), (*texts[:row], cut), parse)
    assert row_of(result, '9 1/4"').state is state


@pytest.mark.parametrize(("off_mm", "state"), [(0.5, State.UNPROVEN), (6.0, State.DISPUTED)])
def test_a_line_in_which_a_figure_tied_to_nothing_stands_contradicts_no_other(off_mm: float, state: State) -> None:
    """Two lengths in a row between whose figures the heads were missed: one span runs over both."""
    sound = [drawn(value, i) for i, value in enumerate(WIDTHS_IN)]
    wide_px = 9.0 * PX_PER_INCH
    strokes, texts = draw([*sound, Drawn((200.0, 2800.0), (200.0 + wide_px, 2800.0), sure('3 5/8"'))])
    own = replace(texts[-1], block=block_at((200.0 + 0.3 * wide_px, 2800.0), '3 5/8"'))
    at = (200.0 + 0.7 * wide_px, 2800.0 + off_mm / level_sheet().paper_mm_per_px)
    other = Text(block_at(at, '5 3/8"'), sure('5 3/8"'), "drawn")
    result = reconcile(level_sheet(), strokes, (*texts[:-1], own, other), parse)
    assert {row_of(result, '3 5/8"').measured is None, row_of(result, '5 3/8"').measured is None} == {True, False}
    (tied,) = (row for row in result.dimensions if row.text in ('3 5/8"', '5 3/8"') and row.measured is not None)
    assert tied.state is state


OUTSIDE_IN = 0.5
"""A length too short for its figure, which stands past the tail of the second head."""


def _past_its_tail(*more: Line, wide_in: float = OUTSIDE_IN) -> Dimension:
    """The row of a figure that says another length, past a tail on which other lines may end."""
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    ends, y = (1000.0, 1000.0 + wide_in * PX_PER_INCH), 2800.0
    shaft = len(strokes.lines)
    lines = (
        Line((ends[0] - 150.0, y), (ends[0], y), 3.0, 0.05, role=Role.DIMENSION, view="A"),
        Line((ends[1], y), (ends[1] + 150.0, y), 3.0, 0.05, role=Role.DIMENSION, view="A"),
        *(Line((x, y - 200.0), (x, y + 20.0), 3.0, 0.05, role=Role.EXTENSION, view="A") for x in ends),
    )
    heads = Arrowhead((ends[0], y), 0.0, 35.0, line=shaft), Arrowhead((ends[1], y), 180.0, 35.0, line=shaft + 1)
    strokes = replace(strokes, lines=(*strokes.lines, *lines, *more), arrowheads=(*strokes.arrowheads, *heads))
    wrong = Text(block_at((ends[1] + 240.0, y), '1 1/4"'), sure('1 1/4"'), "drawn")
    return row_of(reconcile(level_sheet(), strokes, (*texts, wrong), parse), '1 1/4"')


def test_a_figure_past_a_tail_is_disputed_only_where_nothing_else_ends_on_that_tail() -> None:
    x, y = 1000.0 + OUTSIDE_IN * PX_PER_INCH, 2800.0
    assert _past_its_tail().state is State.DISPUTED
    next_length = Line((x + 70.0, y - 200.0), (x + 70.0, y + 20.0), 3.0, 0.05, role=Role.EXTENSION, view="A")
    leader = Line((x + 70.0, y), (x + 20.0, y - 120.0), 3.0, 0.05, role=Role.LEADER, view="A")
    for line in (next_length, leader):
        row = _past_its_tail(line)
        assert row.measured == pytest.approx(OUTSIDE_IN, abs=0.01)
        assert row.state is State.UNPROVEN
        assert Reason.LOOSE_LINE.say() in row.evidence
    before = replace(next_length, start=(880.0, y - 200.0), end=(880.0, y + 20.0))
    assert _past_its_tail(before).state is State.DISPUTED


@pytest.mark.parametrize(("wide_in", "state"), [(1.75, State.DISPUTED), (5.0, State.UNPROVEN)])
def test_heads_that_look_at_each_other_over_much_of_the_sheet_contradict_no_figure(
    wide_in: float, state: State
) -> None:
    """ISO 129-1 (from memory): arrows point inwards from outside where no room is between them."""
    row = _past_its_tail(wide_in=wide_in)
    assert row.measured == pytest.approx(wide_in, abs=0.01)
    assert row.state is state
