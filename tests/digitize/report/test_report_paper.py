"""Nominal scale and shrink of the paper."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hand_drawn import blank_sheet, flange, stepped_shaft
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.sheet import Resolution, ResolutionStatus
from digitize.report.paper import paper
from digitize.report.summary import scale_words


@settings(max_examples=30)
@given(st.floats(0.985, 1.005), st.floats(0.985, 1.005))
def test_shrink_comes_back(x: float, y: float) -> None:
    found = paper(blank_sheet(), stepped_shaft(x_shrink=x, y_shrink=y).reconciled())
    assert found.drawn_over_real == 1
    assert found.shrink_percent == pytest.approx(((1 - x) * 100, (1 - y) * 100), abs=1e-6)
    assert found.difference_percent == pytest.approx((y / x - 1) * 100)


def test_half_size_is_told_without_a_note() -> None:
    print_ = flange(x_shrink=0.99)
    found = paper(blank_sheet(), print_.reconciled(title_block={}))
    assert found.drawn_over_real == Fraction(1, 2)
    assert "nearest" in found.nominal_known


def test_note_that_the_dimensions_deny_is_not_used() -> None:
    found = paper(blank_sheet(), flange().reconciled(title_block={"scale": "FULL SIZE"}))
    assert found.drawn_over_real == Fraction(1, 2)


def test_unknown_resolution_leaves_the_difference_only() -> None:
    sheet = replace(blank_sheet(), resolution=Resolution(ResolutionStatus.UNKNOWN, None, None, "no figure"))
    found = paper(sheet, stepped_shaft(x_shrink=0.99).reconciled())
    assert found.shrink_percent is None
    assert found.difference_percent == pytest.approx(1.0101, abs=1e-3)


@pytest.mark.parametrize(
    ("status", "of_paper", "lengths"),
    [
        (ResolutionStatus.STATED, True, "are those of the paper"),
        (ResolutionStatus.UNKNOWN, False, "are in pixels; no figure"),
    ],
)
def test_nothing_is_said_of_paper_whose_size_is_not_known(
    status: ResolutionStatus, of_paper: bool, lengths: str
) -> None:
    dpi = None if status is ResolutionStatus.UNKNOWN else 300.0
    sheet = replace(blank_sheet(), resolution=Resolution(status, dpi, dpi, "no figure"))
    print_ = stepped_shaft()
    assert ("times the paper" in scale_words(print_.reconciled(), sheet)) is of_paper
    assert lengths in scale_words(print_.reconciled(scales=(print_.scale(known=""),)), sheet)


def test_no_scale() -> None:
    print_ = stepped_shaft()
    found = paper(blank_sheet(), print_.reconciled(scales=(print_.scale(known=""),)))
    assert found.drawn_over_real is None
    assert found.difference_percent is None
