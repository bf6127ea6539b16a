"""A length that a person gives is one witness of the scale among others."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from calibrate.scaling.known import parse_known, with_known
from calibrate.sheet import KnownOf, LevelSheet
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Reconciled, State
from digitize.lettering.grammar import parse
from tests.digitize.dimensions.drawn import draw, level_sheet
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn

THREE = WIDTHS_IN[5:]
SPAN_PX = 8.0 * PX_PER_INCH


def given(inches: float, of: KnownOf = KnownOf.PART) -> LevelSheet:
    """A sheet with a length given between two points 8 in apart on the part."""
    known = parse_known(f"{inches}in 300,500 {300 + SPAN_PX},500")
    return with_known(replace(level_sheet(), level_from_working=np.eye(3)), [known], of)


def found_with(sheet: LevelSheet, values: tuple[Fraction, ...]) -> Reconciled:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(values)])
    return reconcile(sheet, strokes, texts, parse)


def test_it_is_named_where_the_scale_is_told() -> None:
    (scale,) = found_with(given(8.0), WIDTHS_IN).scales
    assert scale.known == "8 dimensions and 1 given length"
    assert scale.witnesses == 8


def test_it_makes_a_scale_that_dimensions_alone_do_not() -> None:
    (without,), (scale,) = found_with(level_sheet(), THREE).scales, found_with(given(8.0), THREE).scales
    assert not without.known
    assert scale.known
    assert scale.x_mm_per_px == pytest.approx(25.4 / PX_PER_INCH, rel=1e-3)


FAR = tuple(zip(WIDTHS_IN[:5], (1.4, 0.55, 1.9, 0.7, 2.3), strict=True))
"""Figures tied to lines that are not theirs, as on a crowded print: drawn so many times as long as they say."""


def test_with_one_figure_that_bears_it_out_it_makes_the_scale_of_a_view_whose_other_figures_fit_nothing() -> None:
    sound = drawn(WIDTHS_IN[5], 5)
    wrong = [drawn(value, i, pen_px=(f - 1) * float(value) * PX_PER_INCH) for i, (value, f) in enumerate(FAR)]
    strokes, texts = draw([*wrong, sound])
    assert not any(scale.known for scale in reconcile(level_sheet(), strokes, texts, parse).scales)
    found = reconcile(given(8.0), strokes, texts, parse)
    assert [scale.known for scale in found.scales] == ["1 dimension and 1 given length"]
    assert [row.text for row in found.dimensions if row.state is State.AGREED] == [sound.readings[0].text]


def test_one_that_no_figure_bears_out_makes_no_scale() -> None:
    wrong = [drawn(value, i, pen_px=(f - 1) * float(value) * PX_PER_INCH) for i, (value, f) in enumerate(FAR)]
    strokes, texts = draw(wrong)
    found = reconcile(given(8.0), strokes, texts, parse)
    assert not any(scale.known for scale in found.scales)
    assert State.AGREED not in {row.state for row in found.dimensions}


def test_one_that_contradicts_the_dimensions_does_not_move_the_scale() -> None:
    """A length 4 % off, such as one measured on another copy."""
    found = found_with(given(8.3), WIDTHS_IN)
    (scale,) = found.scales
    assert scale.known == "8 dimensions"
    assert scale.x_mm_per_px == pytest.approx(25.4 / PX_PER_INCH, rel=1e-4)
    assert {row.state for row in found.dimensions} == {State.AGREED}


def test_one_of_the_paper_is_no_length_of_the_part() -> None:
    (scale,) = found_with(given(4.0, KnownOf.PAPER), WIDTHS_IN).scales
    assert scale.known == "8 dimensions"
    assert scale.part_per_paper == pytest.approx(2.0, rel=1e-3)
