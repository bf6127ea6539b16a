"""A sound sheet with one reading changed: what the drawing, a chain, a table, a formula or another view tells apart is
never agreed; what nothing tells apart only the reader's own certainty carries.

Outside sources: ANSI B17.1 keys and UNC threads by `digitize.standards`; D = N / P and OD = (N + 2) / P are
the rules of full-depth teeth.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from digitize.dimensions.linking.entries import collect, parse_or_none
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.states.gear_rows import settle_gear_data
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.states.standard_sizes import settle_standard_sizes
from digitize.dimensions.table import Reconciled, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading, Text, Unit
from digitize.standards import threads
from digitize.strokes.primitives import Line, Role, Strokes, View
from tests.digitize.dimensions.drawn import MM_PER_PX, Drawn, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_projection import box
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn, figure, row_of, sheet_with

few = settings(max_examples=12)


@few
@given(st.sampled_from((0, 1, 2, 3)), st.integers(-3, 3).filter(bool))
def test_what_only_a_chain_tells_apart_is_not_agreed(victim: int, sixtyfourths: int) -> None:
    """A shaky pen hides a sixty-fourth; the sum does not."""
    parts = (Fraction(11, 4), Fraction(17, 8), Fraction(25, 8))
    stations = [sum(parts[:k], Fraction(0)) for k in range(4)]
    written = [*parts, stations[-1]]
    written[victim] += Fraction(sixtyfourths, 64)
    spans = [*pairwise(stations), (stations[0], stations[-1])]
    chain = [
        Drawn(
            (200 + float(a) * PX_PER_INCH, 200.0 + 150 * (k == 3)),
            (200 + float(b) * PX_PER_INCH, 200.0 + 150 * (k == 3)),
            sure(figure(written[k])),
        )
        for k, (a, b) in enumerate(spans)
    ]
    shaky = (4.8, -4.0, 3.6, -4.8, 4.0, -3.6, 4.4)
    rough = [drawn(value, i + 2, pen_px=px) for i, (value, px) in enumerate(zip(WIDTHS_IN[1:], shaky, strict=True))]
    result = sheet_with([*chain, *rough])
    assert row_of(result, figure(written[victim])).state is not State.AGREED


MM_ON_SHEET = 25.4 / PX_PER_INCH
"""Part mm a level px of the test sheets."""
STYLES = {
    "fraction": lambda n: figure(Fraction(n, 16)),
    "decimal2": lambda n: f'{n / 16:.2f}"',
    "decimal3": lambda n: f"{n / 16:.3f}",
    "diameter": lambda n: f"Ø{figure(Fraction(n, 16))}",
    "tolerance": lambda n: f"{n / 16:.3f} ±.002",
    "limits": lambda n: f"{n / 16 + 0.001:.3f}\n{n / 16:.3f}",
    "feet": lambda n: f"{n // 192}'-{figure(Fraction(n % 192, 16)) if n % 192 else '0' + chr(34)}",
    "mm": lambda n: f"{n} mm",
    "mm decimal": lambda n: f"{n + 0.5:.1f} mm",
}
"""How a number of units is written in each style: sixteenths of an inch, or millimetres."""
UNITS = (31, 47, 66, 85, 107, 134, 158, 181)


@settings(max_examples=24)
@given(st.sampled_from(sorted(STYLES)), st.integers(0, 7), st.integers(1, 239), st.floats(-1.5, 1.5))
def test_no_kind_or_style_of_figure_passes_where_the_drawing_tells_it_apart(
    style: str, victim: int, wrong: int, pen_px: float
) -> None:
    """Each figure of a sheet is sound but one, which says a size that lies a pen's width or more off what is drawn."""
    unit_mm = 1.0 if style.startswith("mm") else 25.4 / 16
    assume(abs(wrong - UNITS[victim]) * unit_mm / MM_ON_SHEET * MM_PER_PX > 1.0)
    written = [STYLES[style](wrong if i == victim else n) for i, n in enumerate(UNITS)]
    assume(written.count(written[victim]) == 1)
    rows = {row.text: row.state for row in in_style(style, written, pen_px).dimensions}
    assert rows[written[victim]] is not State.AGREED


@pytest.mark.parametrize("style", sorted(STYLES))
def test_a_sound_sheet_is_agreed_in_each_style(style: str) -> None:
    """Else the property above would hold for nothing."""
    states = [row.state for row in in_style(style, [STYLES[style](n) for n in UNITS], 0.0).dimensions]
    assert states.count(State.AGREED) >= 6


def in_style(style: str, written: Sequence[str], pen_px: float) -> Reconciled:
    """Lengths of so many units with these figures, drawn a pen's error too long and too short in turn."""
    unit_mm, half = (1.0 if style.startswith("mm") else 25.4 / 16), 0.5 * style.startswith("mm decimal")
    lengths = [
        Drawn(
            (150.0, 200.0 + 300 * i),
            (150.0 + (n + half) * unit_mm / MM_ON_SHEET + pen_px * (-1) ** i, 200.0 + 300 * i),
            sure(text),
        )
        for i, (n, text) in enumerate(zip(UNITS, written, strict=True))
    ]
    return sheet_with(lengths)


def judged_as(text: str, number: int, state: State = State.UNPROVEN) -> list[Judged]:
    entries = collect([Text(block_at((0.0, 0.0), text), sure(text))], parse_or_none(parse), lambda _: "")
    return [Judged(replace(e, text=number), e.options[0], state, 0.9, None, None, (), ()) for e in entries if e.options]


@few
@given(st.integers(1, 31), st.integers(1, 40))
@example(8, 8)
@example(8, 6)
@example(10, 8)
def test_a_keyseat_that_the_table_does_not_give_is_not_agreed(width: int, depth: int) -> None:
    """A bore of 1 1/4 takes a key of 1/4, half of it in the hub, or 3/16 high (ANSI B17.1), or 5/16 × 1/4 (BS 46, from
    memory)."""
    rows = [*judged_as("1 1/4 BORE", 0, State.AGREED)]
    written = (Fraction(width, 32), Fraction(depth, 64))
    rows += judged_as(f"{written[0]} × {written[1]} KEYSEAT", 1)
    told = [row.state for row in settle_standard_sizes(rows, Unit.INCH)[1:]]
    tabled = ((Fraction(1, 4), Fraction(1, 8)), (Fraction(1, 4), Fraction(3, 32)), (Fraction(5, 16), Fraction(1, 8)))
    assert (State.AGREED in told) is (written in tabled)


@few
@given(st.integers(4, 40))
def test_a_thread_that_no_table_has_is_not_agreed(pitch: int) -> None:
    text = f"7/8-{pitch} THDS."
    if not threads(f"7/8-{pitch}"):
        assert settle_standard_sizes(judged_as(text, 0), Unit.INCH)[0].state is not State.AGREED


SOUND_GEAR = {"NO. OF TEETH": "36", "DIAMETRAL PITCH": "8", "PITCH DIAMETER": "4.500", "OUTSIDE DIAMETER": "4.750"}


@few
@given(st.sampled_from(sorted(SOUND_GEAR)), st.integers(1, 9), st.data())
def test_gear_data_that_no_gear_can_have_are_not_agreed(name: str, step: int, data: st.DataObject) -> None:
    value = SOUND_GEAR[name]
    place = data.draw(st.sampled_from([i for i, c in enumerate(value) if c.isdigit()]))
    changed = value[:place] + str((int(value[place]) + step) % 10) + value[place + 1 :]
    written = {**SOUND_GEAR, name: changed}
    read = [judged_as(f"{key} {figure}", i) for i, (key, figure) in enumerate(written.items())]
    assume(all(read))  # "06" is no number
    rows = [row for (row,) in read]
    told = dict(zip(SOUND_GEAR, settle_gear_data(rows, Unit.INCH, True, Strokes()), strict=True))
    assert told[name].state is not State.AGREED


def in_another_view(written: str) -> tuple[Strokes, tuple[Text, ...]]:
    """A front view with its lengths, and beside it, level with it, a side view with one figure of its own."""
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    true = float(Fraction(5, 4)) * PX_PER_INCH
    side, own = draw([Drawn((2400.0, 1500.0), (2400.0 + true, 1500.0), sure(written))])
    moved = tuple(replace(line, view="B") for line in side.lines)
    first = len(strokes.lines)
    heads = tuple(replace(head, line=first + (head.line or 0)) for head in side.arrowheads)
    outlines: tuple[Line, ...] = (*box("A", 200, 300, 2200, 2600), *box("B", 2400, 300, 2400 + true, 2600))
    views = View("A", "view", (0, 0, 2300, 3000)), View("B", "view", (2300, 0, 3000, 3000))
    lines = (*strokes.lines, *moved, *(replace(line, role=Role.VISIBLE) for line in outlines))
    return Strokes(lines, (), (*strokes.arrowheads, *heads), views), (*texts, *own)


def test_a_view_without_a_scale_of_its_own_leans_on_the_one_it_is_level_with() -> None:
    strokes, texts = in_another_view('1 1/4"')
    assert row_of(reconcile(level_sheet(), strokes, texts, parse), '1 1/4"').state is State.AGREED


@few
@given(st.integers(2, 60).filter(lambda n: n != 20))
def test_what_the_scale_of_another_view_tells_apart_is_not_agreed(sixteenths: int) -> None:
    written = figure(Fraction(sixteenths, 16))
    strokes, texts = in_another_view(written)
    result = reconcile(level_sheet(), strokes, texts, parse)
    rows = [row for row in result.dimensions if row.view == "B" and row.text == written]
    assert rows
    assert all(row.state is not State.AGREED for row in rows)


@few
@given(st.integers(1, 9), st.floats(0.2, 0.97))
def test_what_nothing_tells_apart_is_carried_by_the_readers_certainty_alone(step: int, certainty: float) -> None:
    """1.125 and 1.12n are a hair apart; a reader that has both in mind carries neither."""
    other = f'1.12{(5 + step) % 10}"'
    shaky = (4.8, -4.0, 3.6, -4.8, 4.0, -3.6, 4.4)
    rough = [drawn(value, i, pen_px=px) for i, (value, px) in enumerate(zip(WIDTHS_IN[1:], shaky, strict=True))]
    vague = (Reading('1.125"', certainty), Reading(other, 0.999 - certainty))
    result = sheet_with([*rough, drawn(WIDTHS_IN[0], 8, vague)])
    assert next(row for row in result.dimensions if row.text.startswith("1.12")).state is not State.AGREED
