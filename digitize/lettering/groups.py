"""Rows of notes and tables, told that they belong together.

Words make a group, figures only join one: rows of words under each other with nothing or one ruled line between, and
figures that stand in line with a word, in the next column. Dimension figures that happen to lie near each other are
left alone.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibrate.sheet import FloatArray, LevelSheet
from digitize.lettering.rows import frame_axes
from digitize.lettering.text import TextBlock

WORD_LETTERS = 5
"""A row with this many letters is words."""
ROW_GAP = 2.6
"""Widest paper between rows of a table, in figure heights."""
COLUMN_GAP = 14.0
LIKE_HEIGHT = 1.45
LEVEL = 0.6


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
            if _belong(blocks, boxes, letters, first, second):
                _join(parent, first, second)
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
    blocks: Sequence[TextBlock], boxes: Sequence[FloatArray], letters: Sequence[int], first: int, second: int
) -> bool:
    one, two = blocks[first], blocks[second]
    if abs(one.angle_deg - two.angle_deg) > 1.0:
        return False
    height = max(one.height_px, two.height_px)
    if height > LIKE_HEIGHT * min(one.height_px, two.height_px):
        return False
    a, b = boxes[first], boxes[second]
    across = max(a[0], b[0]) - min(a[2], b[2])
    down = max(a[1], b[1]) - min(a[3], b[3])
    words = [letters[first] >= WORD_LETTERS, letters[second] >= WORD_LETTERS]
    under = across < 0 and -0.3 * height < down < ROW_GAP * height
    level = abs(a[1] + a[3] - b[1] - b[3]) / 2 < LEVEL * height
    beside = level and 0 <= across < COLUMN_GAP * height
    return (all(words) and under) or (any(words) and beside)


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
