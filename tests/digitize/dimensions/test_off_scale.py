"""Views marked not to scale, or found to be, keep a scale of their own or have none."""

from dataclasses import replace
from fractions import Fraction

import pytest

from calibrate.scaling.nominal import Length
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.scales.view_scales import _group
from digitize.dimensions.table import Reconciled, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from digitize.report.frame import main_scale
from digitize.strokes.primitives import Strokes, View
from tests.digitize.dimensions.drawn import EXTENT_PX, Drawn, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, figure

MIDDLE_PX, BOTTOM_PX = EXTENT_PX / 2, 2750.0
VALUES_IN = tuple(Fraction(n, 8) for n in (9, 13, 17, 20, 22, 26, 29, 31))


def length(value: Fraction, row: int, left_px: float, drawn_as: float) -> Drawn:
    """A level length of a figure, drawn a factor off."""
    y = 150.0 + 320.0 * row
    return Drawn((left_px, y), (left_px + float(value) * PX_PER_INCH * drawn_as, y), sure(figure(value)))


def sheet_of(
    factors: tuple[float, ...],
    marked: bool,
    in_a: int = 8,
    strain_std: float = 0.0,
    views: tuple[View, ...] = (),
    texts: tuple[Text, ...] = (),
) -> Reconciled:
    """View A true to scale; view B to its right with each length drawn its own factor off; then what else there is."""
    a, a_texts = draw([length(value, i, 100.0, 1.0) for i, value in enumerate(VALUES_IN[:in_a])])
    pairs = zip(VALUES_IN, factors, strict=True)
    b, b_texts = draw([length(value, i, MIDDLE_PX + 100.0, factor) for i, (value, factor) in enumerate(pairs)])
    shift = len(a.lines)
    strokes = Strokes(
        a.lines + tuple(replace(line, view="B") for line in b.lines),
        (),
        a.arrowheads + tuple(replace(head, line=(head.line or 0) + shift) for head in b.arrowheads),
        (
            View("A", "view", (0, 0, MIDDLE_PX, BOTTOM_PX)),
            View("B", "view", (MIDDLE_PX, 0, EXTENT_PX, BOTTOM_PX)),
            *views,
        ),
        strain_std=strain_std,
    )
    words = sure("NOT TO SCALE")
    note = (Text(block_at((MIDDLE_PX + 700.0, 2860.0), "NOT TO SCALE"), words, "drawn"),) if marked else ()
    return reconcile(level_sheet(), strokes, (*a_texts, *b_texts, *note, *texts), parse)


def about_b(found: Reconciled) -> str:
    (said,) = (warning for warning in found.warnings if "iew B" in warning)
    return said


def states_in(found: Reconciled, view: str) -> set[State]:
    return {row.state for row in found.dimensions if row.view == view and row.value is not None}


SAME, ANY = (0.9,) * 8, (0.7, 1.3, 0.86, 1.12, 0.95, 1.21, 0.8, 1.06)


def test_a_marked_view_keeps_its_own_scale() -> None:
    found = sheet_of(SAME, marked=True)
    scales = {scale.view: scale for scale in found.scales}
    assert scales["B"].marked_not_to_scale
    assert scales["B"].x_mm_per_px == pytest.approx(scales["A"].x_mm_per_px / 0.9, rel=1e-3)
    assert "of their own" in about_b(found)
    assert states_in(found, "A") == states_in(found, "B") == {State.AGREED}


def test_a_marked_view_does_not_lend_the_sheet_its_scale() -> None:
    """Marked, but drawn true: still on its own."""
    found = sheet_of((1.0,) * 8, marked=True)
    witnesses = {scale.view: scale.witnesses for scale in found.scales}
    assert witnesses == {"A": 8, "B": 8}


def test_a_marked_view_with_most_of_the_figures_is_not_the_main_one() -> None:
    found = sheet_of(SAME, marked=True, in_a=4)
    assert [scale.view for scale in found.scales] == ["A", "B"]
    assert main_scale(found) is None
    found = sheet_of(SAME, marked=True, in_a=7)
    main = main_scale(found)
    assert main is not None
    assert main.view == "A"


def test_where_no_figure_of_another_view_was_read_the_sheet_has_no_scale_rather_than_that_of_a_marked_one() -> None:
    found = sheet_of(SAME, marked=True, in_a=0)
    assert [scale.view for scale in found.scales] == ["A", "B"]
    assert main_scale(found) is None
    assert states_in(found, "B") == {State.AGREED}


@pytest.mark.parametrize("rows", [("MATERIAL C.I.", "DRG. NO. A-42"), ("NUMBER OF TEETH 30", "DIAMETRAL PITCH 5")])
def test_a_title_names_no_block_or_table_whose_rules_were_lost(rows: tuple[str, str]) -> None:
    """It was taken for a view, and lies nearer to the words than the view they name."""
    block = View("C", "view", (MIDDLE_PX + 100.0, 2880.0, EXTENT_PX, 3000.0))
    places = (MIDDLE_PX + 400.0, 2920.0), (MIDDLE_PX + 400.0, 2970.0)
    lettered = tuple(Text(block_at(at, row), sure(row), "drawn") for at, row in zip(places, rows, strict=True))
    found = sheet_of(SAME, marked=True, views=(block,), texts=lettered)
    assert {scale.view: scale.marked_not_to_scale for scale in found.scales} == {"A": False, "B": True}


def test_what_is_hardly_known_does_not_give_its_view_the_scale_of_another() -> None:
    """A length known to a third of itself fits any scale; beside it one that does not fit has the say."""
    vague = Length(1, 26.0, 9.0, 60.0, cos2=1.0, trust=0.9)
    told = Length(1, 80.0, 0.01, 85.0, cos2=1.0, trust=0.9)
    true = [Length(0, mm, 0.01, mm, cos2=1.0, trust=0.9) for mm in (20.0, 35.0, 70.0, 108.0)]
    groups, _ = _group([*true, vague, told], 2, (), {})
    assert groups[0] == 0
    assert groups[1] is None


def test_nothing_is_agreed_in_a_marked_view_without_a_scale() -> None:
    found = sheet_of(ANY, marked=True)
    assert "marked not to scale" in about_b(found)
    assert State.AGREED not in states_in(found, "B")
    assert states_in(found, "A") == {State.AGREED}


def test_a_view_is_found_to_be_not_to_scale() -> None:
    found = sheet_of(ANY, marked=False)
    assert {scale.view: scale.not_to_scale for scale in found.scales} == {"A": False, "B": True}
    assert "Nothing in it is measured" in about_b(found)
    assert not states_in(found, "B") & {State.AGREED, State.DISPUTED}


@pytest.mark.parametrize(("strain_std", "shared"), [(0.0, False), (0.02, True)])
def test_views_of_a_sheet_that_bows_share_a_scale_as_far_as_its_lengths_are_known(
    strain_std: float, *, shared: bool
) -> None:
    found = sheet_of((1.03, 1.025, 1.035, 1.03, 1.03, 1.025, 1.035, 1.03), marked=False, strain_std=strain_std)
    scales = {scale.view: scale.part_per_paper for scale in found.scales}
    assert (scales["A"] == scales["B"]) is shared
