"""Which slot a figure goes to, by where it stands alone."""

import pytest

from digitize.dimensions.linking.link import Figure, link
from digitize.dimensions.linking.spans import Span
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
