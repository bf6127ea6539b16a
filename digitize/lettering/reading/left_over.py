"""Lettering that nobody read: what a figure that stands in for a block leaves of it.

Where a row ran on into a neighbour, the figure that wins it may be only one of the two. The other is not known, but it
is there: one of two limits beside which it stands must not pass for a size.
"""

from collections.abc import Sequence

import cv2
import numpy as np

from calibrate.sheet import LevelSheet
from digitize.lettering.crops import cut
from digitize.lettering.reading.candidates import areas_of, same_ink
from digitize.lettering.text import Layout, TextBlock

INK_BELOW = 128
LEAST_LETTERS = 2
"""One piece alone may be of the figure beside it, or a stroke of the drawing."""
TALLEST, SHORTEST, BROADEST = 1.3, 0.6, 1.1
"""Extents of a letter, in figure heights."""
MARGIN = 0.4
"""A stroke of the drawing runs on beyond the row by this much, in figure heights; a letter does not."""


def left_over(sheet: LevelSheet, beaten: Sequence[TextBlock], won: Sequence[TextBlock]) -> list[TextBlock]:
    """The stretches of blocks that hold letters and which no figure that stands in for them covers.

    Parameters
    ----------
    sheet : LevelSheet
    beaten : sequence of TextBlock
        What the finder found and rivals were read in place of.
    won : sequence of TextBlock
        Those rivals.
    """
    areas, left = areas_of(won), []
    for block, area in zip(beaten, areas_of(beaten), strict=True):
        over = [other for other, its in zip(won, areas, strict=True) if same_ink(area, its)]
        if over and block.layout is Layout.ROW:
            left += [part for part in _between(block, over) if _letters(sheet, part) >= LEAST_LETTERS]
    return left


def _between(block: TextBlock, over: Sequence[TextBlock]) -> list[TextBlock]:
    """The stretches of a row before, between and behind what lies over it."""
    start, end, foot = (np.array(block.quad[i]) for i in (0, 1, 3))
    length = float(np.hypot(*(end - start)))
    way, down = (end - start) / max(length, 1.0), foot - start
    covered = sorted(
        (min(reach), max(reach))
        for reach in ([float((np.array(corner) - start) @ way) for corner in other.quad] for other in over)
    )
    parts, at = [], 0.0
    for first, last in (*covered, (length, length)):
        if first - at > SHORTEST * block.height_px:
            near, far = start + at * way, start + min(first, length) * way
            quad = [(float(x), float(y)) for x, y in (near, far, far + down, near + down)]
            parts.append(TextBlock((quad[0], quad[1], quad[2], quad[3]), block.angle_deg, block.height_px, Layout.ROW))
        at = max(at, last)
    return parts


def _letters(sheet: LevelSheet, block: TextBlock) -> int:
    """Pieces of ink as large as letters that end within the row."""
    crop = cut(sheet, block, MARGIN)
    count, _, stats, _ = cv2.connectedComponentsWithStats((crop < INK_BELOW).astype(np.uint8))
    px = block.height_px
    return sum(
        SHORTEST * px < high < TALLEST * px
        and wide < BROADEST * px
        and 0 < top < len(crop) - high
        and MARGIN * px < left + wide / 2 < crop.shape[1] - MARGIN * px
        for left, top, wide, high, _ in stats[1:count].tolist()
    )
