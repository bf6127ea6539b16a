"""Which rivals are let into a contest."""

from digitize.lettering.reading.candidates import areas_of
from digitize.lettering.reading.let_in import MOST_WAYS, fullest
from digitize.lettering.text import TextBlock


def _block(left: float, right: float) -> TextBlock:
    return TextBlock(((left, 0.0), (right, 0.0), (right, 40.0), (left, 40.0)), 0.0, 40.0)


def test_of_many_ways_to_part_a_block_the_fullest_are_let_in() -> None:
    poor = [_block(0.0, 1000.0), _block(2000.0, 2100.0)]
    ways = [_block(0.0, 300.0 + 7.0 * n) for n in range(MOST_WAYS + 12)]
    beside, alone = _block(2000.0, 2050.0), _block(3000.0, 3010.0)
    kept = fullest(areas_of(poor), [beside, *ways, alone])
    assert kept == [beside, *ways[12:], alone]


def test_few_ways_are_all_let_in() -> None:
    ways = [_block(0.0, 300.0 + 7.0 * n) for n in range(MOST_WAYS)]
    assert fullest(areas_of([_block(0.0, 1000.0)]), ways) == ways
    assert fullest([], ways) == ways
