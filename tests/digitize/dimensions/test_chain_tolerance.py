"""Worked tolerance chains from published texts: worst case, root sum of squares, and what is left for the total."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.witnesses.chain_tolerance import Link, stack
from digitize.lettering.grammar import parse
from tests.digitize.dimensions.drawn import Drawn, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn


def symmetric(allowed: str, sign: int = 1) -> Link:
    return Link(Fraction(allowed), -Fraction(allowed), sign)


def test_a_bore_filled_by_spacer_ring_and_shoulder() -> None:
    """metricmech.com, "Tolerance stack-up: a worked example using worst-case and RSS": 40.00 +-0.10 less 25.00 +-0.05,
    2.00 +-0.03 and 10.00 +-0.05 mm leaves 3.00 mm; the sums by its rule (worst case: all add)."""
    nominal = Fraction(40) - 25 - 2 - 10
    added = stack([symmetric("0.10"), *(symmetric(each, -1) for each in ("0.05", "0.03", "0.05"))])
    assert nominal == 3
    assert (added.upper, added.lower) == (Fraction("0.23"), Fraction("-0.23"))
    assert added.root_sum_square == pytest.approx((0.0100 + 0.0025 + 0.0009 + 0.0025) ** 0.5)


def test_three_parts_in_a_housing() -> None:
    """ficientdesign.com, "Tolerance Stack-Up Analysis": parts of 2.000 +-.005, 1.500 +-.003, .500 +-.002 make
    4.000 +-.010, +-.00616 by root sum of squares; in a housing of 4.020 +-.005 a gap of .020 +-.015, +-.00794."""
    parts = [symmetric(each) for each in (".005", ".003", ".002")]
    assert stack(parts).half == Fraction("0.010")
    assert stack(parts).root_sum_square == pytest.approx(0.00616, abs=5e-6)
    gap = stack([symmetric(".005"), *(symmetric(each, -1) for each in (".005", ".003", ".002"))])
    assert gap.half == Fraction("0.015")
    assert gap.root_sum_square == pytest.approx(0.00794, abs=5e-6)


def test_unequal_deviations_move_the_middle() -> None:
    """Common practice, no source: a link of 23 +0 -0.12 that closes the chain opens it by 0.06 on average."""
    added = stack([Link(Fraction(0), Fraction("-0.12"), -1)])
    assert (added.upper, added.lower, added.middle) == (Fraction("0.12"), Fraction(0), Fraction("0.06"))


@given(st.lists(st.tuples(st.integers(0, 99), st.integers(-99, 0), st.sampled_from((1, -1))), min_size=1, max_size=9))
def test_chance_leaves_no_more_than_the_worst_case(links: list[tuple[int, int, int]]) -> None:
    added = stack([Link(Fraction(upper), Fraction(lower), sign) for upper, lower, sign in links])
    assert added.root_sum_square <= float(added.half) + 1e-9
    assert added.lower <= added.middle <= added.upper


def test_a_closed_chain_says_what_its_links_allow_and_what_its_total_does() -> None:
    """The parts of the second text above, as a row of dimensions with its total."""
    written = ("2.000 ±.005", "1.500 ±.003", ".500 ±.002", "4.000 ±.005")
    stations = (0.0, 2.0, 3.5, 4.0)
    ends = [*pairwise(stations), (0.0, 4.0)]
    row = []
    for k, ((first, last), text) in enumerate(zip(ends, written, strict=True)):
        y = 2500.0 + 150 * (k == 3)
        row.append(Drawn((200 + first * PX_PER_INCH, y), (200 + last * PX_PER_INCH, y), sure(text)))
    strokes, texts = draw([*(drawn(value, i) for i, value in enumerate(WIDTHS_IN)), *row])
    (said,) = reconcile(level_sheet(), strokes, texts, parse).excess
    assert "2 + 1.5 + 0.5 = 4" in said
    assert "+0.01 -0.01 in" in said
    assert "+-0.0062" in said
    assert "+0.005 -0.005 in" in said
