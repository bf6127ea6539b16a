"""Lettering that nobody read: what a figure that stands in for a block leaves of it.

Where a row ran on into a neighbour, or rows of a table were taken for one stack, the figure that wins the block may be
only one of several. The others are not known, but they are there: one of two limits beside which such a one stands must
not pass for a size.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibrate.restoring.connected import connected_pieces
from calibrate.sheet import FloatArray, LevelSheet
from digitize.lettering.crops import INK_BELOW, cut
from digitize.lettering.reading.candidates import areas_of, same_ink
from digitize.lettering.text import Layout, TextBlock

LEAST_LETTERS = 2
"""One piece alone may be of the figure beside it, or a stroke of the drawing."""
TALLEST, SHORTEST, BROADEST = 1.3, 0.6, 1.1
"""Extents of a letter, in figure heights."""
MARGIN = 0.4
"""A stroke of the drawing runs on beyond the row by this much, in figure heights; a letter does not."""


def left_over(sheet: LevelSheet, beaten: Sequence[TextBlock], won: Sequence[TextBlock]) -> list[TextBlock]:
    """The stretches and rows of blocks that hold letters and which no figure that stands in for them covers.

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
        if over:
            parts = (_over_and_under if block.layout is Layout.STACK else _between)(block, over)
            left += [part for part in parts if _letters(sheet, part) >= LEAST_LETTERS]
    return left


def _between(block: TextBlock, over: Sequence[TextBlock]) -> list[TextBlock]:
    """The stretches of a block before, between and behind what lies over it."""
    start, end, foot = (np.array(block.quad[i]) for i in (0, 1, 3))
    return [
        _block(block, start + first * (end - start), start + last * (end - start), foot - start)
        for first, last in _open(start, end, over, SHORTEST * block.height_px)
    ]


def _over_and_under(block: TextBlock, over: Sequence[TextBlock]) -> list[TextBlock]:
    """The rows of a block over, between and under what lies over it."""
    start, end, foot = (np.array(block.quad[i]) for i in (0, 1, 3))
    return [
        _block(block, start + first * (foot - start), end + first * (foot - start), (last - first) * (foot - start))
        for first, last in _open(start, foot, over, SHORTEST * block.height_px)
    ]


def _open(start: FloatArray, end: FloatArray, over: Sequence[TextBlock], least_px: float) -> list[tuple[float, float]]:
    """The stretches of a side that nothing lies over, as parts of its length."""
    length = max(float(np.hypot(*(end - start))), 1.0)
    way = (end - start) / length
    reaches = [[float((np.array(corner) - start) @ way) for corner in other.quad] for other in over]
    stretches, at = [], 0.0
    for first, last in (*sorted((min(reach), max(reach)) for reach in reaches), (length, length)):
        if first - at > least_px:
            stretches.append((at / length, min(first, length) / length))
        at = max(at, last)
    return stretches


def _block(block: TextBlock, first: FloatArray, last: FloatArray, down: FloatArray) -> TextBlock:
    quad = [(float(x), float(y)) for x, y in (first, last, last + down, first + down)]
    return replace(block, quad=(quad[0], quad[1], quad[2], quad[3]), layout=Layout.ROW, row=None, column=None)


def _letters(sheet: LevelSheet, block: TextBlock) -> int:
    """Pieces of ink as large as letters that end within the row."""
    crop = cut(sheet, block, MARGIN)
    stats = connected_pieces(crop < INK_BELOW).stats
    px = block.height_px
    return sum(
        SHORTEST * px < high < TALLEST * px
        and wide < BROADEST * px
        and 0 < top < len(crop) - high
        and MARGIN * px < left + wide / 2 < crop.shape[1] - MARGIN * px
        for left, top, wide, high, _ in stats[1:].tolist()
    )
