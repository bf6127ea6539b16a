"""The boxes of a figure among the ink that is left in a window."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import connected_pieces

LEAST_FIGURE, LARGEST_FIGURE = 0.6, 1.7
"""Extent of one figure, in usual figure heights: some sheets have mostly fractions, or mostly whole numbers."""
NEAR_HEIGHTS = 0.6
"""Paper between parts of one figure."""
DASH_HEIGHT = 0.3
"""A level bar is no thicker, in usual figure heights."""
WORD_HEIGHTS = 1.3
"""A word stands no further from its figure than this, in usual figure heights."""

Box = tuple[float, float, float, float]
"""Left, top, right and bottom, in pixels of the window."""


def figure_boxes(ink: NDArray[np.uint8], usual: float) -> list[Box]:
    """Boxes of the parts that stand near the middle of a window, and of those that stand near them.

    What runs out of the window, or is larger than a figure, is no part of one. Where more stands in their row, there
    are none: of `1 5/8" DIA` half would be a length.
    """
    height, width = ink.shape
    stats = connected_pieces(ink.view(np.bool_)).stats
    whole = [
        (float(x), float(y), float(x + w), float(y + h))
        for x, y, w, h, _ in stats[1:].tolist()
        if x > 0 and y > 0 and x + w < width and y + h < height and max(w, h) < LARGEST_FIGURE * usual
    ]
    whole = [box for box in whole if not _is_dash(box, whole, usual)]
    figures = [box for box in whole if max(box[2] - box[0], box[3] - box[1]) > LEAST_FIGURE * usual]
    if not figures:
        return []
    middle = (width / 2, height / 2)
    chosen = [min(figures, key=lambda box: math.dist(((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), middle))]
    grew = True
    while grew:
        more = [b for b in whole if b not in chosen and any(_gap(b, c) < NEAR_HEIGHTS * usual for c in chosen)]
        chosen += more
        grew = bool(more)
    return [] if any(_goes_on(chosen, box, usual) for box in figures if box not in chosen) else chosen


def _is_dash(box: Box, others: Sequence[Box], usual: float) -> bool:
    """Is a piece a level bar with nothing over it and under it, as the dashes of a dimension line are?"""
    left, top, right, bottom = box
    if bottom - top > DASH_HEIGHT * usual or right - left < bottom - top:
        return False
    near = [other for other in others if other is not box and other[0] < right and other[2] > left]
    over = any(0 < (top + bottom) / 2 - other[3] < NEAR_HEIGHTS * usual for other in near)
    return not (over and any(0 < other[1] - (top + bottom) / 2 < NEAR_HEIGHTS * usual for other in near))


def _goes_on(chosen: Sequence[Box], other: Box, usual: float) -> bool:
    """Does another piece as large as a figure stand in the row, a word's space off? Then a sign or word may follow."""
    top, bottom = min(box[1] for box in chosen), max(box[3] for box in chosen)
    beside = min(max(other[0] - box[2], box[0] - other[2]) for box in chosen)
    return top < (other[1] + other[3]) / 2 < bottom and beside < WORD_HEIGHTS * usual


def _gap(one: Box, other: Box) -> float:
    """Paper between two boxes."""
    across = max(one[0], other[0]) - min(one[2], other[2])
    down = max(one[1], other[1]) - min(one[3], other[3])
    return math.hypot(max(across, 0.0), max(down, 0.0))
