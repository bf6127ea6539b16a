"""Chains are found from where lengths lie."""

from digitize.dimensions.witnesses.chains import Interval, find_chains
from tests.digitize.dimensions.drawn import MM_PER_PX


def interval(index: int, low: float, high: float, y: float, view: str = "A") -> Interval:
    return Interval(index, (low, y), (high, y), view)


def test_one_length_is_no_chain() -> None:
    assert find_chains([interval(0, 0, 100, 0)], MM_PER_PX) == ()


def test_a_repeated_length_is_no_chain() -> None:
    assert find_chains([interval(0, 0, 400, 0), interval(1, 0, 400, 90)], MM_PER_PX) == ()


def test_parts_that_fill_a_total_are_a_chain() -> None:
    found = find_chains(
        [interval(0, 0, 400, 0), interval(1, 0, 150, 90), interval(2, 150, 400, 90), interval(3, 150, 300, 180)],
        MM_PER_PX,
    )
    assert [(chain.parts, chain.total) for chain in found] == [((1, 2), 0)]


def test_a_gap_or_another_view_breaks_a_chain() -> None:
    gap = [interval(0, 0, 400, 0), interval(1, 0, 150, 90), interval(2, 180, 400, 90)]
    other = [interval(0, 0, 400, 0), interval(1, 0, 150, 90), interval(2, 150, 400, 90, "B")]
    assert find_chains(gap, MM_PER_PX) == ()
    assert find_chains(other, MM_PER_PX) == ()
