"""Rows over and under a block: of limits, or of a fraction, it is one half and no size by itself."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import connected_pieces
from digitize.lettering.finding.high_marks import is_stroke
from digitize.lettering.reading.beside import FIGURE_HEIGHTS, claimed, middle_in_level
from digitize.lettering.surroundings import LOOK_HEIGHTS, Surroundings
from digitize.lettering.text import TextBlock

ROW_GAP_HEIGHTS = 0.9
"""Rows of one stack stand no further apart than this, in figure heights."""
OVERLAP_HEIGHTS = 0.35
"""A block's box may reach this far into its neighbour row, in figure heights."""
BAR_HEIGHTS = 0.4, 0.3
"""Least length and largest height of a fraction's bar, in figure heights."""
FUSED_WIDTH, FUSED_HEIGHT = 0.7, 1.7
"""Least width, in that of the block, and largest height, in figure heights, of figures run into a fraction's bar."""
FEWEST_IN_ROW = 2
"""One piece of ink is a mark; two as tall as figures are a row."""
SCATTERED_HEIGHTS = 2.0
"""Figures of one row stand nearer than this, even if one between them ran into something, in figure heights."""
BAR_LENGTH, BAR_GAP_HEIGHTS = (0.8, 2.2), 0.45
"""A fraction's bar is so long, in lengths of its denominator, and so near over it, in figure heights."""
ONE_WAY_DEG, STAGGERED_HEIGHTS = 5.0, 1.2
"""Blocks that read the same way to this; how far one begins, and ends, before another in its line, in heights."""

_Figure = tuple[bool, int, int]
"""Whether a piece stands over the block, and where it begins and ends along it, in pixels."""


def has_row_beside(around: Surroundings, block: TextBlock, others: Sequence[TextBlock]) -> bool:
    """Do figures stand right over or under a block, as the other one of two limits does, or across a fraction's bar?

    Rows of notes and tables stand so too; blocks that belong to one are not asked. Figures of neighbouring dimension
    lines stand so, staggered; limits begin or end in line.
    """
    if block.group is not None:
        return False
    look = around.of(block)
    staggered = [other for other in others if _is_staggered(block, other)]
    size = block.height_px
    length = look.ink.shape[1] - 2 * LOOK_HEIGHTS * size
    figures, strokes, free, bars = list[_Figure](), 0, set(), set()
    for x, y, w, h, area, is_over in _over_and_under(look.ink, size):
        middle = middle_in_level((x, y, w, h), look.crop_from_level)
        tall = FIGURE_HEIGHTS[0] * size < h
        if tall and h < FIGURE_HEIGHTS[1] * size and w < 1.3 * size:
            if not claimed(middle, block, staggered):
                figures.append((is_over, x, x + w))
                strokes += is_stroke(w, h, area)
            if not claimed(middle, block, others):
                free.add(is_over)
        elif w > BAR_HEIGHTS[0] * size and h < BAR_HEIGHTS[1] * size and not claimed(middle, block, others):
            bars.add(is_over)
        elif tall and h < FUSED_HEIGHT * size and w > FUSED_WIDTH * length and not claimed(middle, block, others):
            free.add(is_over)
            bars.add(is_over)
    if free & bars:
        return True
    on_both_sides = len({is_over for is_over, _, _ in figures}) > 1
    # Two strokes are an inch mark set high; more of them over and under a block are the dashes of a line.
    only_strokes = strokes == len(figures) and (strokes == FEWEST_IN_ROW or on_both_sides)
    return len(figures) >= FEWEST_IN_ROW and not only_strokes and not _are_scattered(figures, size)


def _are_scattered(figures: Sequence[_Figure], size: float) -> bool:
    """Do pieces as tall as figures stand on one side, all far from each other, as the heads of another line do?"""
    if len({is_over for is_over, _, _ in figures}) > 1:
        return False
    return all(
        after[1] - before[2] > SCATTERED_HEIGHTS * size
        for before, after in pairwise(sorted(figures, key=lambda f: f[1]))
    )


def _over_and_under(ink: NDArray[np.bool_], size: float) -> Iterator[tuple[int, int, int, int, int, bool]]:
    """Free-standing ink near over or under the block in the middle of a crop: its box, its area, whether it is over."""
    height, width = ink.shape
    edge = LOOK_HEIGHTS * size
    stats = connected_pieces(ink).stats
    for x, y, w, h, area in stats[1:].tolist():
        is_over = y + h / 2 < height / 2
        gap = edge - (y + h) if is_over else y - (height - edge)
        inside = x > 0 and x + w < width and y > 0 and y + h < height
        within = edge - size < x + w / 2 < width - edge + size
        outside = y + h < edge + OVERLAP_HEIGHTS * size or y > height - edge - OVERLAP_HEIGHTS * size
        if inside and within and outside and gap < ROW_GAP_HEIGHTS * size:
            yield x, y, w, h, area, is_over


def _is_staggered(block: TextBlock, other: TextBlock) -> bool:
    """Do two blocks read the same way, each beginning or ending well before the other?"""
    if other is block or abs(math.remainder(block.angle_deg - other.angle_deg, 360.0)) > ONE_WAY_DEG:
        return False
    turn = math.radians(block.angle_deg)
    shadows = [[x * math.cos(turn) - y * math.sin(turn) for x, y in each.quad] for each in (block, other)]
    steps = min(shadows[0]) - min(shadows[1]), max(shadows[0]) - max(shadows[1])
    return steps[0] * steps[1] > 0 and min(map(abs, steps)) > STAGGERED_HEIGHTS * block.height_px


def has_bar_over(around: Surroundings, block: TextBlock, others: Sequence[TextBlock]) -> bool:
    """Does a fraction's bar lie right over a block, whatever became of the numerator?

    A line of the drawing that runs through the numerator hides it, and the denominator reads well by itself. What lies
    under a figure may be the line by which it says that it is not to scale.
    """
    if block.group is not None:
        return False
    look = around.of(block)
    size, edge = block.height_px, LOOK_HEIGHTS * block.height_px
    length = look.ink.shape[1] - 2 * edge
    for x, y, w, h, _area, is_over in _over_and_under(look.ink, size):
        level = h < BAR_HEIGHTS[1] * size and BAR_LENGTH[0] * length < w < BAR_LENGTH[1] * length
        near = is_over and edge - (y + h) < BAR_GAP_HEIGHTS * size and x < look.ink.shape[1] / 2 < x + w
        if level and near and not claimed(middle_in_level((x, y, w, h), look.crop_from_level), block, others):
            return True
    return False
