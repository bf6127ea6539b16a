"""Rows of notes and tables, told that they belong together.

Words make a group, figures only join one: rows of words under each other that begin in line or have a ruled line
between them, and figures in the next column of a ruled row, or of one without rules where they stand in line under each
other. Dimension figures that happen to lie near each other are left alone, and so is all that does not read along the
sheet.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibrate.sheet import FloatArray, LevelSheet
from digitize.lettering.finding.placing import frame_axes
from digitize.lettering.finding.value_columns import values_beside
from digitize.lettering.text import TextBlock

WORD_LETTERS = 5
"""A row with this many letters is words."""
ROW_GAP = 2.6
"""Widest paper between rows of a table, in figure heights."""
COLUMN_GAP, RULED_COLUMN_GAP = 14.0, 40.0
"""Widest paper between cells of a row that has one ruled line over or under it, and of one ruled on both sides."""
LIKE_HEIGHT = 1.45
LEVEL = 0.6
ALONG_DEG = 2.0
MARGIN = 1.2
"""Rows of one note begin within this of each other, in figure heights."""
RULE_REACH = 2.0
RULED = 0.95


def with_groups(sheet: LevelSheet, blocks: Sequence[TextBlock], letters: Sequence[int]) -> tuple[TextBlock, ...]:
    """Give the rows of notes and tables their group, row and column.

    Parameters
    ----------
    sheet : LevelSheet
    blocks : sequence of TextBlock
    letters : sequence of int
        How many letters each block has.
    """
    boxes = [_box(block) for block in blocks]
    parent = list(range(len(blocks)))
    for first in range(len(blocks)):
        for second in range(first + 1, len(blocks)):
            if _belong(sheet, blocks, boxes, letters, first, second):
                _join(parent, first, second)
    for label, value in values_beside(blocks, boxes, [_root(parent, index) for index in range(len(blocks))]):
        _join(parent, label, value)
    members: dict[int, list[int]] = {}
    for index in range(len(blocks)):
        members.setdefault(_root(parent, index), []).append(index)
    out = list(blocks)
    groups = [items for items in members.values() if len(items) > 1]
    for number, items in enumerate(groups, start=1):
        for index, row, column in _places([boxes[item] for item in items], [blocks[item] for item in items], items):
            out[index] = replace(blocks[index], group=f"group-{number}", row=row, column=column)
    return tuple(out)


def _box(block: TextBlock) -> FloatArray:
    """(left, top, right, bottom) in the block's own frame."""
    turned = np.array(block.quad) @ frame_axes(block.angle_deg).T
    return np.concatenate([turned.min(axis=0), turned.max(axis=0)])


def _belong(
    sheet: LevelSheet,
    blocks: Sequence[TextBlock],
    boxes: Sequence[FloatArray],
    letters: Sequence[int],
    first: int,
    second: int,
) -> bool:
    one, two = blocks[first], blocks[second]
    height = max(one.height_px, two.height_px)
    along_sheet = all(abs((block.angle_deg + 180.0) % 360.0 - 180.0) < ALONG_DEG for block in (one, two))
    if not along_sheet or height > LIKE_HEIGHT * min(one.height_px, two.height_px):
        return False
    a, b = boxes[first], boxes[second]
    across = max(a[0], b[0]) - min(a[2], b[2])
    down = max(a[1], b[1]) - min(a[3], b[3])
    words = [letters[first] >= WORD_LETTERS, letters[second] >= WORD_LETTERS]
    if all(words) and across < 0 and -0.3 * height < down < ROW_GAP * height:
        return bool(abs(a[0] - b[0]) < MARGIN * height) or _is_ruled_between(sheet, a, b)
    level = abs(a[1] + a[3] - b[1] - b[3]) / 2 < LEVEL * height
    if not level or not 0 <= across < RULED_COLUMN_GAP * height:
        return False
    if not any(words):
        return _rules_of_row(sheet, a, b, height) == 2 and _is_wall_between(sheet, a, b)
    return _rules_of_row(sheet, a, b, height) >= (1 if across < COLUMN_GAP * height else 2)


def _is_ruled_between(sheet: LevelSheet, one: FloatArray, two: FloatArray) -> bool:
    """Whether a level line runs between two rows, as far as both reach."""
    top, bottom = min(one[3], two[3]), max(one[1], two[1])
    return _has_level_line(sheet, max(one[0], two[0]), min(one[2], two[2]), top, bottom)


def _rules_of_row(sheet: LevelSheet, one: FloatArray, two: FloatArray, height: float) -> int:
    """How many level lines, one under and one over, run along two cells and the paper between them."""
    left, right = min(one[0], two[0]), max(one[2], two[2])
    top, bottom = min(one[1], two[1]), max(one[3], two[3])
    under = _has_level_line(sheet, left, right, bottom, bottom + RULE_REACH * height)
    return under + _has_level_line(sheet, left, right, top - RULE_REACH * height, top)


def _is_wall_between(sheet: LevelSheet, one: FloatArray, two: FloatArray) -> bool:
    """Whether an upright line parts two cells of a row: so short a label as D.P. has its value behind one."""
    left, right = min(one[2], two[2]), max(one[0], two[0])
    top, bottom = min(one[1], two[1]), max(one[3], two[3])
    window = sheet.ink[max(round(top), 0) : max(round(bottom) + 1, 0), max(round(left), 0) : max(round(right) + 1, 0)]
    pen = max(round(sheet.pen_px), 1)
    columns = range(0, window.shape[1], pen)
    return any(window[:, column : column + 2 * pen].any(axis=1).mean() > RULED for column in columns)


def _has_level_line(sheet: LevelSheet, left: float, right: float, top: float, bottom: float) -> bool:
    window = sheet.ink[max(round(top), 0) : max(round(bottom) + 1, 0), max(round(left), 0) : max(round(right) + 1, 0)]
    if not window.size:
        return False
    pen = max(round(sheet.pen_px), 1)
    # A line may lie a pixel or two off level from end to end, so that rows are taken together, a pen's width at a time.
    stacked = [window[row : row + 2 * pen].any(axis=0).mean() for row in range(0, window.shape[0], pen)]
    return bool(max(stacked) > RULED)


def _places(
    boxes: Sequence[FloatArray], blocks: Sequence[TextBlock], indices: Sequence[int]
) -> list[tuple[int, int, int]]:
    """(index, row, column) of each block of a group, rows from the top and columns from the left."""
    levels = [(box[1] + box[3]) / 2 for box in boxes]
    order = sorted(range(len(boxes)), key=lambda item: levels[item])
    rows: list[list[int]] = []
    for item in order:
        if rows and levels[item] - levels[rows[-1][-1]] < LEVEL * blocks[item].height_px:
            rows[-1].append(item)
        else:
            rows.append([item])
    return [
        (indices[item], row, column)
        for row, items in enumerate(rows)
        for column, item in enumerate(sorted(items, key=lambda item: float(boxes[item][0])))
    ]


def _root(parent: list[int], index: int) -> int:
    while parent[index] != index:
        index = parent[index]
    return index


def _join(parent: list[int], one: int, two: int) -> None:
    first, second = sorted((_root(parent, one), _root(parent, two)))
    parent[second] = first
