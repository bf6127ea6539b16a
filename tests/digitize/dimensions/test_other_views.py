"""Another view as a witness: a size drawn there a second time, or given there by a figure of its own.

ISO 128-3 (from memory): views are drawn in line with each other, so that a size lies at one level in both.
"""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from digitize.dimensions.reasons import Reason
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, Reconciled, State
from digitize.dimensions.witnesses.other_views import PROJECTED, Shown, together
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading, Text
from digitize.strokes.primitives import Arc, Role, Strokes, View
from tests.digitize.dimensions.drawn import HEIGHT_PX, Drawn, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_projection import box
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn

HEIGHT_IN = 5
TOP = 800.0
BOTTOM = TOP + HEIGHT_IN * PX_PER_INCH

few = settings(max_examples=12)


def two_views(
    front: tuple[Reading, ...],
    side: tuple[Reading, ...] | None,
    *,
    scaled: bool = True,
    arcs: tuple[Arc, ...] = (),
    over: str = "",
) -> Reconciled:
    """A front view with its lengths and its height, and level with it a side view that may give the height too.

    ``over`` stands over the side view's figure, as the larger limit over the smaller.
    """
    lengths = [drawn(value, i) for i, value in enumerate(WIDTHS_IN)] if scaled else []
    height = Drawn((2050.0, BOTTOM), (2050.0, TOP), front)
    strokes, texts = draw([*lengths, height])
    beside, own = draw([Drawn((2900.0, BOTTOM), (2900.0, TOP), side)] if side else [])
    first = len(strokes.lines)
    lines = (*strokes.lines, *(replace(line, view="B") for line in beside.lines))
    heads = (*strokes.arrowheads, *(replace(head, line=first + (head.line or 0)) for head in beside.arrowheads))
    right = 2400.0 if arcs else 2700.0
    edges = (*box("A", 200, TOP, 1900, BOTTOM), *(() if arcs else box("B", 2400, TOP, right, BOTTOM)))
    views = View("A", "view", (0, 0, 2300, 3000)), View("B", "view", (2300, 0, 3000, 3000))
    drawn_edges = tuple(replace(line, role=Role.VISIBLE, std_px=0.05) for line in edges)
    larger = (Text(block_at((2900.0 - 1.4 * HEIGHT_PX, (TOP + BOTTOM) / 2), over, 90.0), sure(over), "drawn"),)
    strokes = Strokes((*lines, *drawn_edges), arcs, heads, views)
    return reconcile(level_sheet(), strokes, (*texts, *own, *(larger if over else ())), parse)


def heights(result: Reconciled) -> dict[str | None, Dimension]:
    """The row of each view that gives the height."""
    measured = [(row, row.geometry) for row in result.dimensions if row.geometry is not None]
    return {row.view: row for row, geometry in measured if abs(geometry.first[0] - geometry.second[0]) < 1.0}


def test_a_size_that_another_view_shows_is_measured_there_too() -> None:
    row = heights(two_views(sure('5"'), None))["A"]
    assert row.state is State.AGREED
    assert any(reason.startswith("view B shows the same size: 5.0") for reason in row.evidence)


def test_a_circle_in_plan_shows_the_width_of_its_section() -> None:
    middle = (TOP + BOTTOM) / 2
    face = Arc((2600.0, middle), (BOTTOM - TOP) / 2, 0.0, 360.0, 3.0, 0.02, 0.02, view="B")
    row = heights(two_views(sure('5"'), None, arcs=(face,)))["A"]
    assert any(reason.startswith("view B shows the same size: 5.0") for reason in row.evidence)


def test_two_figures_for_one_size_bear_each_other_out() -> None:
    rows = heights(two_views(sure('5"'), sure('5"')))
    assert {row.state for row in rows.values()} == {State.AGREED}
    assert Reason.ALSO_GIVEN.say(view="B", text='5"') in rows["A"].evidence
    assert Reason.ALSO_GIVEN.say(view="A", text='5"') in rows["B"].evidence


@pytest.mark.parametrize("wrong", ['4 1/2"', '6"', '8"'])
def test_a_figure_that_another_view_gives_otherwise_is_disputed_and_says_so(wrong: str) -> None:
    rows = heights(two_views(sure('5"'), sure(wrong)))
    assert rows["A"].state is State.AGREED
    assert rows["B"].state is State.DISPUTED
    assert Reason.GIVEN_OTHERWISE.say(view="A", text='5"') in rows["B"].evidence


def test_one_of_two_limits_in_another_view_contradicts_nothing() -> None:
    """ISO 129-1 (from memory): the larger limit stands over the smaller; read apart they are two sizes."""
    written = "5.002\n4.998"
    assert heights(two_views(sure(written), sure("4.998")))["A"].state is State.DISPUTED
    row = heights(two_views(sure(written), sure("4.998"), over="5.002"))["A"]
    assert row.state is not State.DISPUTED
    assert Reason.GIVEN_OTHERWISE.say(view="B", text="4.998") not in row.evidence


@few
@given(st.integers(-4, 4).filter(bool), st.booleans())
def test_what_only_a_figure_in_another_view_tells_apart_is_not_agreed(thousandths: int, scaled: bool) -> None:
    """A few thousandths are within the pen's width; the other view's figure is not."""
    written = f"{5 + thousandths / 1000:.3f}"
    rows = heights(two_views(sure("5.000"), sure(written), scaled=scaled))
    assert {row.state for row in rows.values()} == {State.DISPUTED}
    assert Reason.GIVEN_OTHERWISE.say(view="A", text="5.000") in rows["B"].evidence


def test_without_a_scale_two_figures_alike_are_still_one_reader() -> None:
    rows = heights(two_views(sure('5"'), sure('5"'), scaled=False))
    assert {row.state for row in rows.values()} == {State.UNPROVEN}
    assert Reason.ALSO_GIVEN.say(view="B", text='5"') in rows["A"].evidence


def test_a_reading_that_is_not_sure_disputes_nothing() -> None:
    rows = heights(two_views(sure('5"'), (Reading('6"', 0.6),)))
    assert rows["A"].state is State.AGREED


def test_two_measurements_weigh_more_than_one_and_less_than_two_that_have_nothing_in_common() -> None:
    both = together(100.0, 0.0, Shown("B", 101.0, 0.0), pen_px=2.0)
    assert both is not None
    assert both[0] == pytest.approx(100.5)
    assert both[1] == pytest.approx(4.0 * (1 + PROJECTED) / 2)
    assert 4.0 / 2 < both[1] < 4.0


def test_lengths_further_apart_than_the_pen_are_no_one_size() -> None:
    assert together(100.0, 0.1, Shown("B", 112.0, 0.1), pen_px=2.0) is None


def test_decimals_that_round_one_fraction_give_one_size() -> None:
    rows = heights(two_views(sure("5.0"), sure('5"')))
    assert all(row.state is State.AGREED for row in rows.values()) or Fraction(5) == rows["A"].value
