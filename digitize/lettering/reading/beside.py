"""Ink left standing beside a block that may be a figure of it: a leading 1 cut off reads 3/4 for 1 3/4, and surely.

Such a block is read both ways and both readings are kept, neither of them sure.
"""

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import connected_pieces
from calibrate.sheet import FloatArray, apply_homography
from digitize.lettering.surroundings import LOOK_HEIGHTS, Surroundings
from digitize.lettering.text import Reading, Text, TextBlock, merged

GAP_HEIGHTS = 1.0
"""A figure of the block stands no further from it than this, in figure heights."""
FIGURE_HEIGHTS = 0.6, 1.3
"""Least and largest height of a figure, in heights of the block's own."""
WIDEST_HEIGHTS = 1.0
"""A figure is no wider than this, in figure heights: a sloping 2 takes .97."""
STACK_HEIGHTS = 1.4, 2.2
"""Height of a fraction run into its bar, behind a whole number, in heights of that."""
GROWN_SHARE = 0.6
"""Belief that the ink is a figure of the block."""
PLAIN_STROKE = 1.5
"""The ink of a plain stroke, in pens times its length."""
ROW_SHARE = 0.4
"""Belief that a block with a row beside it stands for itself."""
MOST_READINGS = 5


def grown(around: Surroundings, block: TextBlock, others: Sequence[TextBlock]) -> TextBlock | None:
    """The block with the figures that stand unclaimed beside it; None where there are none.

    Parameters
    ----------
    around : Surroundings
    block : TextBlock
    others : sequence of TextBlock
        All blocks of the sheet: ink of another is not unclaimed.
    """
    look = around.of(block)
    left, right = LOOK_HEIGHTS * block.height_px, look.ink.shape[1] - LOOK_HEIGHTS * block.height_px
    found = [
        box
        for box in _figures(look.ink, block, left, right, around.sheet.pen_px)
        if not claimed(middle_in_level(box, look.crop_from_level), block, others)
    ]
    if not found:
        return None
    start = min([left, *(box[0] for box in found)])
    end = max([right, *(box[0] + box[2] for box in found)])
    return stretched(block, (start - left) / (right - left), (end - left) / (right - left))


def doubted(text: Text) -> Text:
    """The text with its readings believed less: another row may belong to it."""
    return replace(text, readings=tuple(Reading(r.text, ROW_SHARE * r.probability) for r in text.readings))


Box = tuple[float, float, float, float]


def _figures(ink: NDArray[np.bool_], block: TextBlock, left: float, right: float, pen_px: float) -> list[Box]:
    """Boxes (x, y, width, height) of free-standing ink as large as a figure, beside the block and level with it."""
    stats = connected_pieces(ink).stats
    size, (height, width) = block.height_px, ink.shape
    # Beside a fraction the whole number stands as tall as numerator and denominator together.
    tallest = max(FIGURE_HEIGHTS[1] * size, height - 2 * LOOK_HEIGHTS * size)
    found = []
    for x, y, w, h, area in stats[1:].tolist():
        inside = x > 0 and y > 0 and x + w < width and y + h < height
        as_large = FIGURE_HEIGHTS[0] * size < h < tallest and w < WIDEST_HEIGHTS * max(size, 0.5 * tallest)
        is_stack = STACK_HEIGHTS[0] * size < h < STACK_HEIGHTS[1] * size and w < WIDEST_HEIGHTS * h
        as_large |= is_stack and x + w / 2 > right and area > PLAIN_STROKE * pen_px * float(np.hypot(w, h))
        before, behind = left - (x + w), x - right
        gap = before if x + w / 2 < left else behind
        beside = -0.1 * size < gap < GAP_HEIGHTS * size and (x + w <= left + 0.1 * size or x >= right - 0.1 * size)
        level = LOOK_HEIGHTS * size < y + h / 2 < height - LOOK_HEIGHTS * size
        if inside and as_large and beside and level:
            found.append((float(x), float(y), float(w), float(h)))
    return found


def middle_in_level(box: Box, crop_from_level: FloatArray) -> tuple[float, float]:
    """Middle of a box of a crop, in level pixels."""
    middle = np.array([[box[0] + box[2] / 2, box[1] + box[3] / 2]])
    full = np.vstack([crop_from_level[:2], [0.0, 0.0, 1.0]])
    x, y = apply_homography(np.linalg.inv(full).astype(np.float64), middle)[0]
    return float(x), float(y)


def claimed(point: tuple[float, float], block: TextBlock, others: Sequence[TextBlock]) -> bool:
    """Does the point lie in another block?"""
    return any(
        cv2.pointPolygonTest(np.array(other.quad, dtype=np.float32), point, False) >= 0
        for other in others
        if other is not block
    )


def stretched(block: TextBlock, start: float, end: float) -> TextBlock:
    """The block from ``start`` to ``end`` of its length, below 0 and above 1 where it grows."""
    corners = np.array(block.quad)
    top, bottom = corners[1] - corners[0], corners[2] - corners[3]
    quad = (corners[0] + start * top, corners[0] + end * top, corners[3] + end * bottom, corners[3] + start * bottom)
    points = [(float(x), float(y)) for x, y in quad]
    return replace(block, quad=(points[0], points[1], points[2], points[3]))


def both_ways(text: Text, larger: Text) -> Text:
    """One text with the readings of the grown block and of the block as found, shared between them."""
    shares = [Reading(reading.text, GROWN_SHARE * reading.probability) for reading in larger.readings]
    shares += [Reading(reading.text, (1 - GROWN_SHARE) * reading.probability) for reading in text.readings]
    return replace(larger, readings=merged(shares)[:MOST_READINGS])
