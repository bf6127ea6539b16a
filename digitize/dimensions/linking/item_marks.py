"""Numbers of items in circles: they name a part or a change, and measure nothing (ISO 6433, from memory)."""

import math
from collections.abc import Sequence

from digitize.lettering.text import Text, TextBlock
from digitize.strokes.primitives import Arc, Role, Strokes

FULL_DEG = 360.0 * 0.9
OFF_CENTRE = 0.4
"""A number stands in its circle with its middle no further from the centre, in radii, ..."""
WITHIN = 1.1
"""... and its box reaches no further from it: a box has a margin."""


def item_marks(texts: Sequence[Text], strokes: Strokes) -> frozenset[int]:
    """Texts that stand in a circle which the trace gave to an item, as indices."""
    circles = [arc for arc in strokes.arcs if arc.role is Role.LEADER and arc.sweep_deg >= FULL_DEG]
    return frozenset(i for i, text in enumerate(texts) if any(_stands_in(text.block, circle) for circle in circles))


def _stands_in(block: TextBlock, circle: Arc) -> bool:
    within = all(math.dist(corner, circle.centre) <= WITHIN * circle.radius_px for corner in block.quad)
    return within and math.dist(block.centre, circle.centre) <= OFF_CENTRE * circle.radius_px
