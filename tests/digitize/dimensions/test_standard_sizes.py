"""Tables as witnesses.

Outside sources: ANSI B17.1 keys (keys_inch.csv), DIN 6885-1 keys (keys_metric.csv), UNC, UNF and Whitworth threads
(threads_inch.csv); each row names its own source there.
"""

from dataclasses import replace

import pytest

from digitize.dimensions.linking.entries import collect, parse_or_none
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.states.standard_sizes import settle_standard_sizes
from digitize.dimensions.table import State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading, Text, TextBlock, Unit

BLOCK = TextBlock(((0.0, 0.0), (100.0, 0.0), (100.0, 20.0), (0.0, 20.0)), 0.0, 20.0)


def judged_as(text: str, state: State, probability: float = 0.999, *others: Reading) -> list[Judged]:
    texts = [Text(BLOCK, (Reading(text, probability), *others))]
    entries = collect(texts, parse_or_none(parse), lambda _: "")
    return [Judged(e, e.options[0], state, 0.9, None, None, (), ()) for e in entries]


def sheet(bore: str, keyseat: str, bore_state: State = State.AGREED, *others: Reading) -> list[Judged]:
    rows = [*judged_as(bore, bore_state), *judged_as(keyseat, State.UNPROVEN, 0.999, *others)]
    return [replace(row, entry=replace(row.entry, text=0 if i == 0 else 1)) for i, row in enumerate(rows)]


def states(rows: list[Judged], unit: Unit) -> list[State]:
    return [row.state for row in settle_standard_sizes(rows, unit)]


@pytest.mark.parametrize(
    ("bore", "keyseat", "unit"),
    [
        ("1 1/4 BORE", "1/4 × 1/8 KEYSEAT", Unit.INCH),  # ANSI B17.1: over 7/8 to 1 1/4 takes 1/4 square
        ('.75" BORE', '.1875" × .094" KEYSEAT', Unit.INCH),  # over 9/16 to 7/8: 3/16, half of it .09375
        ("Ø25 BORE", "8 × 3.3 KEYSEAT", Unit.MM),  # DIN 6885-1: over 22 to 30: b 8, t2 3.3
        ("Ø46 BORE", "14 × 3.8 KEYSEAT", Unit.MM),  # over 44 to 50: b 14, t2 3.8
    ],
)
def test_the_keyseat_of_an_agreed_bore_is_agreed(bore: str, keyseat: str, unit: Unit) -> None:
    rows = settle_standard_sizes(sheet(bore, keyseat), unit)
    assert [row.state for row in rows[1:]] == [State.AGREED, State.AGREED]
    assert all("gives for the agreed bore" in row.reasons[-1] for row in rows[1:])


@pytest.mark.parametrize(
    ("shaft", "keyseat", "unit"),
    [
        ("1 1/4 DIA", "1/4 WIDE × 1/8 DEEP", Unit.INCH),  # ANSI B17.1: a square key stands half in the shaft
        ("Ø25", "8 WIDE × 4 DEEP", Unit.MM),  # DIN 6885-1: over 22 to 30: b 8, t1 4
    ],
)
def test_the_keyseat_of_an_agreed_shaft_is_agreed(shaft: str, keyseat: str, unit: Unit) -> None:
    rows = settle_standard_sizes(sheet(shaft, keyseat), unit)
    assert [row.state for row in rows[1:]] == [State.AGREED, State.AGREED]
    assert all("gives for the agreed shaft" in row.reasons[-1] for row in rows[1:])


@pytest.mark.parametrize(
    ("bore", "keyseat", "unit"),
    [
        ("1 1/4 DIA", "1/4 WIDE × 3/16 DEEP", Unit.INCH),
        ("Ø25", "8 WIDE × 3.3 DEEP", Unit.MM),  # the hub's depth
        ("1 1/4 BORE", "3/8 × 1/8 KEYSEAT", Unit.INCH),
        ("1 1/4 BORE", "1/4 × 3/8 KEYSEAT", Unit.INCH),
        ("2 1/4 BORE", "1/4 × 1/8 KEYSEAT", Unit.INCH),  # a right keyseat, but not that of this bore
        ("Ø25 BORE", "8 × 3.8 KEYSEAT", Unit.MM),
        ("Ø25 BORE", "6 × 3.3 KEYSEAT", Unit.MM),
    ],
)
def test_a_keyseat_that_no_table_has_stays_unproven(bore: str, keyseat: str, unit: Unit) -> None:
    assert states(sheet(bore, keyseat), unit)[1:] == [State.UNPROVEN, State.UNPROVEN]


def test_an_unproven_bore_vouches_for_nothing() -> None:
    assert states(sheet("1 1/4 BORE", "1/4 × 1/8 KEYSEAT", State.UNPROVEN), Unit.INCH)[1:] == [State.UNPROVEN] * 2


def test_a_rival_keyseat_that_the_table_has_too_keeps_it_unproven() -> None:
    # 2 in stands in the row of 1/2 (half depth 1/4, or 3/16 for the rectangular key of 3/8).
    rows = sheet("2 BORE", "1/2 × 1/4 KEYSEAT", State.AGREED, Reading("1/2 × 3/16 KEYSEAT", 0.0009))
    assert states(rows, Unit.INCH)[1:] == [State.UNPROVEN, State.UNPROVEN]


@pytest.mark.parametrize("text", ["7/8-9 THDS.", "1-8 THDS."])
def test_a_thread_whose_pitch_goes_with_its_diameter_is_agreed(text: str) -> None:
    rows = settle_standard_sizes(judged_as(text, State.UNPROVEN), Unit.INCH)
    assert rows[0].state is State.AGREED
    assert "thread table" in rows[0].reasons[-1]


@pytest.mark.parametrize("text", ["3/4-15 THDS.", "5/8-14 THDS."])
def test_a_pitch_of_no_table_is_no_witness(text: str) -> None:
    assert settle_standard_sizes(judged_as(text, State.UNPROVEN), Unit.INCH)[0].state is State.UNPROVEN


@pytest.mark.parametrize(
    "text",
    [
        "3/4-10 THDS.",  # 3/4-16 is UNF, one figure off
        "1/2-13 THDS.",  # 1/2-12 is Whitworth
        "1 1/8-7 THDS.",  # 1 1/4-7 is UNC
    ],
)
def test_a_thread_one_figure_from_another_in_the_tables_needs_the_drawing_too(text: str) -> None:
    assert settle_standard_sizes(judged_as(text, State.UNPROVEN), Unit.INCH)[0].state is State.UNPROVEN


def test_what_was_measured_otherwise_is_not_agreed_by_a_table() -> None:
    row = replace(judged_as("7/8-9 THDS.", State.UNPROVEN)[0], measured=0.75, measured_std=0.01)
    assert settle_standard_sizes([row], Unit.INCH)[0].state is State.UNPROVEN
