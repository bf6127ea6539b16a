"""Figures beside a block that ran into something else: into a line of the drawing, or into its own dimension line.

Nobody knows where such a figure ends, so that it can't be taken in; but the block without it says another size.
"""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import connected_pieces
from digitize.lettering.reading.beside import (
    FIGURE_HEIGHTS,
    PLAIN_STROKE,
    claimed,
    middle_in_level,
)
from digitize.lettering.reading.row_by_row import runs
from digitize.lettering.surroundings import LOOK_HEIGHTS, Surroundings
from digitize.lettering.text import TextBlock

THROUGH = 0.95
STRIP_HEIGHTS, TOUCH_GAP = 0.8, 0.45
"""How far beside a block touched figures are looked for, how near they stand, in figure heights; and the ink of a plain
stroke, in pens times its length."""
LEVEL_RUN, ONE_LEVEL, ONE_WIDEST, ONE_LEAN = 0.4, 0.25, 0.6, 0.15
"""Level ink so long is a line; a 1 begins and ends with its figure to this, is no wider, and leans over it by no more;
in figure heights."""
IN_LINE_BEFORE, IN_LINE_INTO, LINE_HEIGHTS = 0.6, 0.35, 2.0
"""How far before a block, and into it, an upright line may hide a 1, and its least length, in figure heights."""
BROADER_PX, BROADER_PENS, BROADEST = 2, 0.4, 0.45
"""A 1 makes the line broader by so much at least, in pixels and in pens, and at most, in figure heights."""


def touched_figures_beside(around: Surroundings, block: TextBlock, others: Sequence[TextBlock]) -> tuple[bool, bool]:
    """Does ink of a figure's height and more than a plain stroke, run into something else, stand before or behind it?

    So does a figure that a leader touches: `grown` can't take it in, for nobody knows where it ends.
    """
    if block.group is not None:
        return False, False
    look = around.of(block)
    size, edge = block.height_px, LOOK_HEIGHTS * block.height_px
    rows = slice(round(edge - 0.1 * size), round(len(look.ink) - edge + 0.1 * size))
    ends = round(edge - 0.05 * size), round(look.ink.shape[1] - edge + 0.05 * size)
    reach = round(STRIP_HEIGHTS * size)
    found = []
    for first, last, near in ((ends[0] - reach, ends[0], ends[0]), (ends[1], ends[1] + reach, ends[1])):
        found.append(False)
        ink = _without_upright_lines(look.ink[rows, max(first, 0) : last])
        stats = connected_pieces(ink).stats
        for x, y, w, h, area in stats[1:].tolist():
            gap = min(abs(max(first, 0) + x - near), abs(max(first, 0) + x + w - near))
            plain = PLAIN_STROKE * around.sheet.pen_px * float(np.hypot(w, h))
            if h < FIGURE_HEIGHTS[0] * size or gap > TOUCH_GAP * size or area < plain or w < 2 * around.sheet.pen_px:
                continue
            box = (float(max(first, 0) + x), float(rows.start + y), float(w), float(h))
            found[-1] |= not claimed(middle_in_level(box, look.crop_from_level), block, others)
    return found[0], found[1]


def has_struck_one_beside(around: Surroundings, block: TextBlock, others: Sequence[TextBlock]) -> bool:
    """Does a plain stroke of figure height stand just before a block, run into a level line?

    So does a leading 1 at the end of its dimension line. Lines of the drawing are longer than figures are high.
    """
    if block.group is not None:
        return False
    size, edge = block.height_px, round(LOOK_HEIGHTS * block.height_px)
    look = around.of(block)
    ink = look.ink[:, : edge + round(ONE_LEAN * size)].astype(np.uint8)
    level = cv2.morphologyEx(ink, cv2.MORPH_OPEN, np.ones((1, max(round(LEVEL_RUN * size), 3)), np.uint8))
    mended = cv2.morphologyEx(
        cv2.subtract(ink, level), cv2.MORPH_CLOSE, np.ones((round(3 * around.sheet.pen_px), 1), np.uint8)
    )
    touching = cv2.dilate(level, np.ones((3, 3), np.uint8))
    pieces = connected_pieces(np.asarray(mended, np.uint8).view(np.bool_))
    bottom = len(look.ink) - edge
    for label, (x, y, w, h, _area) in enumerate(pieces.stats[1:].tolist(), start=1):
        as_figure = abs(y - edge) < ONE_LEVEL * size and abs(y + h - bottom) < ONE_LEVEL * size
        near = x > 0 and edge - TOUCH_GAP * size < x + w <= edge + ONE_LEAN * size and x + w / 2 < edge
        slender = w < ONE_WIDEST * size
        if as_figure and near and slender and bool(touching[pieces.labels == label].any()):
            box = (float(x), float(y), float(w), float(h))
            if not claimed(middle_in_level(box, look.crop_from_level), block, others):
                return True
    return False


def _without_upright_lines(ink: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Ink of a strip without what runs through it from top to bottom."""
    through = ink.mean(axis=0) > THROUGH
    return np.asarray(ink & ~cv2.dilate(through[None].astype(np.uint8), np.ones((1, 3), np.uint8)).view(np.bool_))


def has_one_in_line_beside(around: Surroundings, block: TextBlock) -> bool:
    """Is an upright line at the beginning of a block broader there, along the height of a figure?

    So it is where a leading 1 was written into an edge: 1 3/8 reads 3/8, and surely.
    """
    if block.group is not None:
        return False
    size, edge = block.height_px, LOOK_HEIGHTS * block.height_px
    ink = around.of(block).ink
    middle, half = len(ink) / 2, LINE_HEIGHTS / 2 * size
    window = ink[round(middle - half) : round(middle + half)]
    first, last = round(edge - IN_LINE_BEFORE * size), round(edge + IN_LINE_INTO * size)
    through = window.mean(axis=0) > THROUGH
    broader = max(BROADER_PX, round(BROADER_PENS * around.sheet.pen_px))
    reach = round(BROADEST * size)
    for left, right in runs(through):
        if not first <= left <= right <= last:
            continue
        for strip in (window[:, right : right + reach], window[:, max(left - reach, 0) : left][:, ::-1]):
            wide = np.cumprod(strip, axis=1).sum(axis=1)  # ink beside the line, row by row
            for top, bottom in runs((wide >= broader) & (wide < reach)):
                as_high = FIGURE_HEIGHTS[0] * size < bottom - top < FIGURE_HEIGHTS[1] * size
                if as_high and abs((top + bottom) / 2 - half) < ONE_LEVEL * size:
                    return True
    return False
