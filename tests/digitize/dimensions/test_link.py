"""Which slot a figure goes to, by where it stands alone."""

from dataclasses import replace

import pytest

from digitize.dimensions.linking.link import Figure, link
from digitize.dimensions.linking.span import Span
from digitize.lettering.text import Kind, TextBlock
from tests.digitize.dimensions.drawn import MM_PER_PX, block_at

UPRIGHT = Span((500.0, 500.0), (500.0, 600.0), 0.1, True, ((500.0, 400.0), (500.0, 700.0)))


def cost_of(*blocks: TextBlock) -> float:
    """Cost, in heights, of the first block at an upright length measured from outside."""
    found = link([Figure(i, block, Kind.LINEAR) for i, block in enumerate(blocks)], [UPRIGHT], MM_PER_PX)
    return next(each.cost for each in found if each.text == 0)


def test_a_level_figure_at_an_upright_line_is_likely_only_where_none_stands_upright() -> None:
    """ISO 129 has figures either all level or each along its line (from memory)."""
    level = block_at((500.0, 380.0), "5")
    far = block_at((2000.0, 2000.0), "16", 90.0)
    assert cost_of(level) + 0.9 < cost_of(level, far)
    upright = block_at((500.0, 380.0), "5", 90.0)
    assert cost_of(upright) == pytest.approx(cost_of(upright, far))


def test_a_figure_between_a_sure_length_and_one_that_may_be_none_goes_to_the_sure_one() -> None:
    """The figure stands in the tail of the sure one, and on a line that two strangers' heads happen to end."""
    sure = Span((500.0, 500.0), (560.0, 500.0), 0.1, True, ((400.0, 500.0), (660.0, 500.0)))
    chance = Span((340.0, 500.0), (500.0, 500.0), 0.1, False, ((500.0, 500.0), (340.0, 500.0)))
    figure = Figure(0, block_at((372.0, 500.0), "5"), Kind.LINEAR)

    def taken(other: Span) -> Span:
        (found,) = link([figure], [sure, other], MM_PER_PX)
        assert isinstance(found.slot, Span)
        return found.slot

    assert taken(chance) is chance
    assert taken(replace(chance, loose=True)) is sure
