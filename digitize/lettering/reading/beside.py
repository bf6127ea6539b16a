"""Ink left standing beside a block that may be a figure of it: a leading 1 cut off reads 3/4 for 1 3/4, and surely.

Such a block is read both ways and both readings are kept, neither of them sure.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray, LevelSheet, apply_homography
from digitize.lettering.crops import crop_frame, cut
from digitize.lettering.finding.high_marks import is_stroke
from digitize.lettering.text import Reading, Text, TextBlock, merged

LOOK_HEIGHTS = 1.7
"""How far beside a block ink is looked at, in figure heights: a whole figure and the paper round it."""
GAP_HEIGHTS = 1.0
"""A figure of the block stands no further from it than this, in figure heights."""
FIGURE_HEIGHTS = 0.6, 1.3
"""Least and largest height of a figure, in heights of the block's own."""
WIDEST_HEIGHTS = 0.9
"""A figure is no wider than this, in figure heights."""
STACK_HEIGHTS = 1.4, 2.2
"""Height of a fraction run into its bar, behind a whole number, in heights of that."""
GROWN_SHARE = 0.6
"""Belief that the ink is a figure of the block."""
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
ROW_SHARE = 0.4
"""Belief that a block with a row beside it stands for itself."""
ONE_WAY_DEG, STAGGERED_HEIGHTS = 5.0, 1.2
"""Blocks that read the same way to this; how far one begins, and ends, before another in its line, in heights."""
THROUGH = 0.95
STRIP_HEIGHTS, TOUCH_GAP, PLAIN_STROKE = 0.8, 0.45, 1.5
"""How far beside a block touched figures are looked for, how near they stand, in figure heights; and the ink of a plain
stroke, in pens times its length."""
LEVEL_RUN, ONE_LEVEL, ONE_WIDEST, ONE_LEAN = 0.4, 0.25, 0.6, 0.15
"""Level ink so long is a line; a 1 begins and ends with its figure to this, is no wider, and leans over it by no more;
in figure heights."""
INK_BELOW = 128
MOST_READINGS = 5

_Figure = tuple[bool, int, int]
"""Whether a piece stands over the block, and where it begins and ends along it, in pixels."""


def grown(sheet: LevelSheet, block: TextBlock, others: Sequence[TextBlock]) -> TextBlock | None:
    """The block with the figures that stand unclaimed beside it; None where there are none.

    Parameters
    ----------
    sheet : LevelSheet
    block : TextBlock
    others : sequence of TextBlock
        All blocks of the sheet: ink of another is not unclaimed.
    """
    if block.group is not None:
        return None
    crop = cut(sheet, block, LOOK_HEIGHTS)
    frame, width, _ = crop_frame(block, LOOK_HEIGHTS)
    left, right = LOOK_HEIGHTS * block.height_px, width - LOOK_HEIGHTS * block.height_px
    found = [
        box
        for box in _figures(crop < INK_BELOW, block, left, right, sheet.pen_px)
        if not _claimed(_middle_in_level(box, frame), block, others)
    ]
    if not found:
        return None
    start = min([left, *(box[0] for box in found)])
    end = max([right, *(box[0] + box[2] for box in found)])
    return stretched(block, (start - left) / (right - left), (end - left) / (right - left))


def has_row_beside(sheet: LevelSheet, block: TextBlock, others: Sequence[TextBlock]) -> bool:
    """Do figures stand right over or under a block, as the other one of two limits does, or across a fraction's bar?

    Rows of notes and tables stand so too; blocks that belong to one are not asked. Figures of neighbouring dimension
    lines stand so, staggered; limits begin or end in line.
    """
    if block.group is not None:
        return False
    crop = cut(sheet, block, LOOK_HEIGHTS)
    frame, _, _ = crop_frame(block, LOOK_HEIGHTS)
    staggered = [other for other in others if _is_staggered(block, other)]
    size = block.height_px
    length = crop.shape[1] - 2 * LOOK_HEIGHTS * size
    figures, strokes, free, bars = list[_Figure](), 0, set(), set()
    for x, y, w, h, area, is_over in _over_and_under(crop < INK_BELOW, size):
        middle = _middle_in_level((x, y, w, h), frame)
        tall = FIGURE_HEIGHTS[0] * size < h
        if tall and h < FIGURE_HEIGHTS[1] * size and w < 1.3 * size:
            if not _claimed(middle, block, staggered):
                figures.append((is_over, x, x + w))
                strokes += is_stroke(w, h, area)
            if not _claimed(middle, block, others):
                free.add(is_over)
        elif w > BAR_HEIGHTS[0] * size and h < BAR_HEIGHTS[1] * size and not _claimed(middle, block, others):
            bars.add(is_over)
        elif tall and h < FUSED_HEIGHT * size and w > FUSED_WIDTH * length and not _claimed(middle, block, others):
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
    _count, _labels, stats, _centres = cv2.connectedComponentsWithStats(ink.astype(np.uint8))
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


def touched_figures_beside(sheet: LevelSheet, block: TextBlock, others: Sequence[TextBlock]) -> tuple[bool, bool]:
    """Does ink of a figure's height and more than a plain stroke, run into something else, stand before or behind it?

    So does a figure that a leader touches: `grown` can't take it in, for nobody knows where it ends.
    """
    if block.group is not None:
        return False, False
    crop = cut(sheet, block, LOOK_HEIGHTS)
    frame, _, _ = crop_frame(block, LOOK_HEIGHTS)
    size, edge = block.height_px, LOOK_HEIGHTS * block.height_px
    rows = slice(round(edge - 0.1 * size), round(len(crop) - edge + 0.1 * size))
    ends = round(edge - 0.05 * size), round(crop.shape[1] - edge + 0.05 * size)
    reach = round(STRIP_HEIGHTS * size)
    found = []
    for first, last, near in ((ends[0] - reach, ends[0], ends[0]), (ends[1], ends[1] + reach, ends[1])):
        found.append(False)
        ink = _without_upright_lines(crop[rows, max(first, 0) : last] < INK_BELOW)
        _count, _labels, stats, _centres = cv2.connectedComponentsWithStats(ink.astype(np.uint8))
        for x, y, w, h, area in stats[1:].tolist():
            gap = min(abs(max(first, 0) + x - near), abs(max(first, 0) + x + w - near))
            plain = PLAIN_STROKE * sheet.pen_px * float(np.hypot(w, h))
            if h < FIGURE_HEIGHTS[0] * size or gap > TOUCH_GAP * size or area < plain or w < 2 * sheet.pen_px:
                continue
            box = (float(max(first, 0) + x), float(rows.start + y), float(w), float(h))
            found[-1] |= not _claimed(_middle_in_level(box, frame), block, others)
    return found[0], found[1]


def has_struck_one_beside(sheet: LevelSheet, block: TextBlock, others: Sequence[TextBlock]) -> bool:
    """Does a plain stroke of figure height stand just before a block, run into a level line?

    So does a leading 1 at the end of its dimension line. Lines of the drawing are longer than figures are high.
    """
    if block.group is not None:
        return False
    size, edge = block.height_px, round(LOOK_HEIGHTS * block.height_px)
    crop = cut(sheet, block, LOOK_HEIGHTS)
    frame, _, _ = crop_frame(block, LOOK_HEIGHTS)
    ink = (crop[:, : edge + round(ONE_LEAN * size)] < INK_BELOW).astype(np.uint8)
    level = cv2.morphologyEx(ink, cv2.MORPH_OPEN, np.ones((1, max(round(LEVEL_RUN * size), 3)), np.uint8))
    mended = cv2.morphologyEx(
        cv2.subtract(ink, level), cv2.MORPH_CLOSE, np.ones((round(3 * sheet.pen_px), 1), np.uint8)
    )
    touching = cv2.dilate(level, np.ones((3, 3), np.uint8))
    _count, labels, stats, _centres = cv2.connectedComponentsWithStats(mended)
    bottom = len(crop) - edge
    for label, (x, y, w, h, _area) in enumerate(stats[1:].tolist(), start=1):
        as_figure = abs(y - edge) < ONE_LEVEL * size and abs(y + h - bottom) < ONE_LEVEL * size
        near = x > 0 and edge - TOUCH_GAP * size < x + w <= edge + ONE_LEAN * size and x + w / 2 < edge
        slender = w < ONE_WIDEST * size
        if as_figure and near and slender and bool(touching[labels == label].any()):
            box = (float(x), float(y), float(w), float(h))
            if not _claimed(_middle_in_level(box, frame), block, others):
                return True
    return False


def _without_upright_lines(ink: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Ink of a strip without what runs through it from top to bottom."""
    through = ink.mean(axis=0) > THROUGH
    return np.asarray(ink & ~cv2.dilate(through[None].astype(np.uint8), np.ones((1, 3), np.uint8)).view(np.bool_))


def doubted(text: Text) -> Text:
    """The text with its readings believed less: another row may belong to it."""
    return replace(text, readings=tuple(Reading(r.text, ROW_SHARE * r.probability) for r in text.readings))


Box = tuple[float, float, float, float]


def _figures(ink: NDArray[np.bool_], block: TextBlock, left: float, right: float, pen_px: float) -> list[Box]:
    """Boxes (x, y, width, height) of free-standing ink as large as a figure, beside the block and level with it."""
    _count, _labels, stats, _centres = cv2.connectedComponentsWithStats(ink.astype(np.uint8))
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


def _middle_in_level(box: Box, crop_from_level: FloatArray) -> tuple[float, float]:
    middle = np.array([[box[0] + box[2] / 2, box[1] + box[3] / 2]])
    full = np.vstack([crop_from_level[:2], [0.0, 0.0, 1.0]])
    x, y = apply_homography(np.linalg.inv(full).astype(np.float64), middle)[0]
    return float(x), float(y)


def _claimed(point: tuple[float, float], block: TextBlock, others: Sequence[TextBlock]) -> bool:
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
