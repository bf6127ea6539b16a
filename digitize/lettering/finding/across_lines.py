"""Figures across a dimension line: a fraction whose bar lies in the line that it was written over.

Each of its figures reads surely by itself, as a size that nobody wrote. Nothing tells what stood there whole: a whole
number may be struck through by the line. So neither is believed.
"""

import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import connected_pieces
from digitize.lettering.surroundings import LOOK_HEIGHTS, Surroundings
from digitize.lettering.text import TextBlock

LINE_GAP_HEIGHTS = 0.45
"""Figures of a fraction stand this near to its bar, those of two dimension lines further apart, in figure heights."""
LINE_BEYOND_HEIGHTS = 0.9
"""The line goes on so far on one side: a bar of its own ends with its figures, in figure heights."""
UNDER_HEIGHTS = 0.35
"""The line is under so much of the figure at the block's end, in figure heights."""
FIGURE_HEIGHTS = 0.6, 1.4
LONGEST_HEIGHTS = 2.8
"""A numerator or denominator with its mark is no longer, in figure heights."""
INKED = 0.97


def has_figure_across_line(around: Surroundings, block: TextBlock) -> bool:
    """Does a figure stand right across a long level line from a short block?

    Parameters
    ----------
    around : Surroundings
    block : TextBlock
    """
    size = block.height_px
    ink = around.of(block).ink
    length, depth = (side - 2 * LOOK_HEIGHTS * size for side in ink.shape[::-1])
    if block.group is not None or length > LONGEST_HEIGHTS * size or depth > FIGURE_HEIGHTS[1] * size:
        return False
    return any(_is_across(side, size, around.sheet.pen_px) for side in (ink, ink[::-1]))


def _is_across(ink: NDArray[np.bool_], size: float, pen_px: float) -> bool:
    """Whether a line, and then a figure, lie over the block in the middle of a crop."""
    edge = round(LOOK_HEIGHTS * size)
    beyond = round(LINE_BEYOND_HEIGHTS * size)
    own = slice(edge, ink.shape[1] - edge)
    under = round(UNDER_HEIGHTS * size)  # an inch mark stands clear of the line
    spans = slice(edge - beyond, edge + under), slice(own.stop - under, own.stop + beyond)
    top = round(edge - LINE_GAP_HEIGHTS * size)
    rows = [row for row in range(top, edge) if any(ink[row, span].mean() > INKED for span in spans)]
    if not rows or rows[-1] - rows[0] > 3 * pen_px:
        return False
    over = ink[: rows[0] - 1]
    stats = connected_pieces(over).stats
    return any(
        y > 0
        and FIGURE_HEIGHTS[0] * size < h < FIGURE_HEIGHTS[1] * size
        and w < FIGURE_HEIGHTS[1] * size
        and own.start <= x + w / 2 <= own.stop
        and rows[0] - (y + h) < LINE_GAP_HEIGHTS * size
        for x, y, w, h, _area in stats[1:].tolist()
    )
