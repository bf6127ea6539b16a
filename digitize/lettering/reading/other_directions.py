"""Where else a block that reads poorly may be read from: its shape tells its direction only so far."""

import math

from digitize.lettering.crops import turned
from digitize.lettering.meaning.lone_letters import is_surely_letter
from digitize.lettering.text import Layout, Text, TextBlock

SQUARE = 2.1
"""Blocks no longer than this, in their own heights, may lie a quarter turn off: a stack with its mark is so high."""
SIDEWAYS = 1.5
"""A row deeper than this, in figure heights, and deeper than long, is doubted, and read from the side as well."""
LEVEL_DEG = 10.0
"""A letter that names something stands as the sheet does, to this."""


def other_directions(text: Text) -> list[TextBlock]:
    """The block of a text turned to where else it may be read from."""
    block = text.block
    stands = abs(block.angle_deg) < LEVEL_DEG and is_surely_letter(text)
    other = [] if stands else [turned(block, 2)]
    width, height = math.dist(block.quad[1], block.quad[0]), math.dist(block.quad[3], block.quad[0])
    if width < SQUARE * height:
        other += [turned(block, 1), turned(block, 3)]
    return other


def is_sideways(block: TextBlock) -> bool:
    """Whether a row is deeper than its letters are high: two of them over each other, read from the wrong side."""
    length, depth = math.dist(block.quad[0], block.quad[1]), math.dist(block.quad[0], block.quad[3])
    return block.layout is Layout.ROW and depth > max(length, SIDEWAYS * block.height_px)
