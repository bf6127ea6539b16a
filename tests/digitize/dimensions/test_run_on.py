"""A size beside which lettering of no line of its own stands is not agreed: it may be a part of that lettering."""

import math
from dataclasses import replace

import pytest

from digitize.dimensions.reasons import Reason
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from digitize.strokes.primitives import Arc, Arrowhead, Line, Role
from tests.digitize.dimensions.drawn import HEIGHT_PX, Drawn, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn, row_of

SIZE = '3 3/4"'


def with_lettering(text: str, gap_heights: float, rows_down: float = 0.0) -> Dimension:
    """The row of a sound size with lettering behind it, or before it where the gap is negative, and so far down."""
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    size = next(each for each in texts if each.readings[0].text == SIZE)
    before = gap_heights < 0
    half = 0.35 * HEIGHT_PX * len(text)
    end = size.block.quad[0 if before else 1][0]
    x, y = end + gap_heights * HEIGHT_PX + (-half if before else half), size.block.centre[1] + rows_down * HEIGHT_PX
    behind = Text(block_at((x, y), text), sure(text), "drawn")
    return row_of(reconcile(level_sheet(), strokes, (*texts, behind), parse), SIZE)


@pytest.mark.parametrize("text", ["±", ".001", "1+", "-.002", ".001 DIA"])
def test_what_stands_right_behind_a_size_may_be_its_tolerance(text: str) -> None:
    row = with_lettering(text, 0.5)
    assert row.state is State.UNPROVEN
    assert Reason.RUNS_ON.say() in row.evidence


@pytest.mark.parametrize(("text", "gap"), [("7 THDS.", 0.5), ("1.500 ±.001", -0.5)])
def test_a_size_may_be_a_threads_or_its_neighbours(text: str, gap: float) -> None:
    assert with_lettering(text, gap).state is State.UNPROVEN


@pytest.mark.parametrize(("text", "gap", "down"), [(".001", 3.0, 0.0), (".001", 0.5, 2.5), ("BRONZE", 0.5, 0.0)])
def test_what_stands_off_or_is_a_word_is_not(text: str, gap: float, down: float) -> None:
    row = with_lettering(text, gap, down)
    assert row.state is State.AGREED
    assert Reason.RUNS_ON.say() not in row.evidence


@pytest.mark.parametrize(
    ("text", "gap", "state"),
    [
        ("DIA.", 3.0, State.UNPROVEN),
        ("D.", 3.0, State.UNPROVEN),
        ("DIA.", 5.0, State.AGREED),
        ("DIA.", -3.0, State.AGREED),
    ],
)
def test_between_a_size_and_a_word_that_has_no_figure_a_fraction_may_be_lost(
    text: str, gap: float, state: State
) -> None:
    assert with_lettering(text, gap).state is state


@pytest.mark.parametrize(("lean_deg", "state"), [(0.0, State.AGREED), (4.0, State.AGREED), (16.0, State.UNPROVEN)])
def test_lettering_that_leans_across_two_rows_is_no_figure_of_its_own(lean_deg: float, state: State) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    leaning = tuple(
        replace(text, block=block_at(text.block.centre, SIZE, lean_deg)) if text.readings[0].text == SIZE else text
        for text in texts
    )
    assert row_of(reconcile(level_sheet(), strokes, leaning, parse), SIZE).state is state


def test_a_figure_may_lie_along_its_slanting_line() -> None:
    slanting = Drawn((200.0, 2850.0), (200.0 + 800.0, 2850.0 - 300.0), sure('2 7/8"'))
    strokes, texts = draw([*(drawn(value, i) for i, value in enumerate(WIDTHS_IN)), slanting])
    row = row_of(reconcile(level_sheet(), strokes, texts, parse), '2 7/8"')
    assert Reason.RUNS_ON.say() not in row.evidence


@pytest.mark.parametrize(("off_heights", "runs_on"), [(0.0, False), (1.0, False), (3.0, True)])
def test_a_figure_may_lie_along_its_slanting_leader(off_heights: float, *, runs_on: bool) -> None:
    """As diameters of holes are written; beside it, what leans may be parts of two rows."""
    lean_deg, radius_px = 35.0, 1.5 / 2 * PX_PER_INCH
    way = math.cos(math.radians(lean_deg)), -math.sin(math.radians(lean_deg))
    centre = (1800.0, 2000.0)
    tip, tail = ((centre[0] + far * way[0], centre[1] + far * way[1]) for far in (radius_px, radius_px + 150.0))
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    leader = Line(tip, tail, 3.0, 0.05, role=Role.LEADER, view="A")
    head = Arrowhead(tip, lean_deg + 180.0, 35.0, line=len(strokes.lines))
    circle = Arc(centre, radius_px, 0.0, 360.0, 5.0, 0.05, 0.05, role=Role.VISIBLE, view="A")
    strokes = replace(strokes, lines=(*strokes.lines, leader), arcs=(circle,), arrowheads=(*strokes.arrowheads, head))
    at = tail[0] + 80.0 * way[0], tail[1] + 80.0 * way[1] + off_heights * HEIGHT_PX / math.cos(math.radians(lean_deg))
    along_it = Text(block_at(at, '1 1/2"', lean_deg), sure('1 1/2" DIA'), "drawn")
    row = row_of(reconcile(level_sheet(), strokes, (*texts, along_it), parse), '1 1/2" DIA')
    assert row.measured is not None
    assert (Reason.RUNS_ON.say() in row.evidence) is runs_on


@pytest.mark.parametrize("group", [None, "group-1"])
@pytest.mark.parametrize(
    ("rows_down", "state"), [(-1.35, State.UNPROVEN), (1.35, State.UNPROVEN), (-2.2, State.AGREED), (2.2, State.AGREED)]
)
def test_one_of_two_limits_is_not_agreed_without_the_other(rows_down: float, state: State, group: str | None) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    size = next(each for each in texts if each.readings[0].text == SIZE)
    x, y = size.block.centre
    other = Text(replace(block_at((x, y + rows_down * HEIGHT_PX), "3.751"), group=group), sure("3.751"), "drawn")
    grouped = tuple(replace(t, block=replace(t.block, group=group)) if t is size else t for t in texts)
    row = row_of(reconcile(level_sheet(), strokes, (*grouped, other), parse), SIZE)
    assert row.state is state
    assert (Reason.RUNS_ON.say() in row.evidence) is (state is State.UNPROVEN)


def test_a_limit_whose_box_took_in_the_arrowhead_over_it_is_still_a_limit() -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    size = next(each for each in texts if each.readings[0].text == SIZE)
    x, y = size.block.centre
    block = block_at((x, y - 1.25 * HEIGHT_PX), ".126")
    top_left, top_right, *foot = block.quad
    taller = tuple((cx, cy - 1.5 * HEIGHT_PX) for cx, cy in (top_left, top_right))
    other = Text(replace(block, quad=(*taller, *foot)), sure(".126"), "drawn")
    row = row_of(reconcile(level_sheet(), strokes, (*texts, other), parse), SIZE)
    assert row.state is State.UNPROVEN
    assert Reason.RUNS_ON.say() in row.evidence


@pytest.mark.parametrize(
    ("text", "rows_down", "alone"),
    [
        ("3.750", 0.0, True),
        ("3.750", -1.0, True),
        ("3.750", -0.6, False),
        ("3.750", 0.6, False),
        ("3.748", 0.0, True),
        ("3.748", -1.0, False),
        (SIZE, -0.6, True),
    ],
)
def test_one_of_two_limits_whose_other_is_lost_stands_off_its_line_or_off_a_round_size(
    text: str, rows_down: float, alone: bool
) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    size = next(each for each in texts if each.readings[0].text == SIZE)
    x, y = size.block.centre
    limit = Text(block_at((x, y + rows_down * HEIGHT_PX), text), sure(text), "drawn")
    others = (each for each in texts if each is not size)
    row = row_of(reconcile(level_sheet(), strokes, (*others, limit), parse), text)
    assert (Reason.ONE_LIMIT.say() not in row.evidence) is alone
    assert alone or row.state is State.UNPROVEN


@pytest.mark.parametrize(("rows_down", "state"), [(0.0, State.DISPUTED), (0.6, State.UNREAD)])
def test_what_may_be_one_of_two_limits_disputes_nothing(rows_down: float, state: State) -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    size = next(each for each in texts if each.readings[0].text == SIZE)
    x, y = size.block.centre
    wrong = Text(block_at((x, y + rows_down * HEIGHT_PX), "2.250"), sure("2.250"), "drawn")
    others = (each for each in texts if each is not size)
    assert row_of(reconcile(level_sheet(), strokes, (*others, wrong), parse), "2.250").state is state
