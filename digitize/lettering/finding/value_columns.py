"""Tables without rules: values in line under each other, each level with a row of words, are a column of the table."""

from collections import Counter
from collections.abc import Sequence

import numpy as np

from calibrate.sheet import FloatArray
from digitize.lettering.text import TextBlock

FARTHEST = 30.0
"""Widest paper between a label and its value, in figure heights."""
LEVEL, IN_LINE, LIKE_HEIGHT = 0.4, 0.7, 1.45
"""A value is level with its label, and begins or ends in line with the others, to this, in figure heights."""
FEWEST, LEAST_SHARE = 3, 0.6
"""A column has so many values, and stands beside this share of the rows of words, from the first that has one to the
last: two sizes beside two lines of a note may be level with them by chance."""
ALONG_DEG = 2.0


def values_beside(
    blocks: Sequence[TextBlock], boxes: Sequence[FloatArray], groups: Sequence[int]
) -> list[tuple[int, int]]:
    """Find rows of words with a column of values beside them.

    Parameters
    ----------
    blocks : sequence of TextBlock
    boxes : sequence of ndarray
        (left, top, right, bottom) of each in its own frame.
    groups : sequence of int
        What each belongs to so far; rows of words are of one group.

    Returns
    -------
    list of (int, int)
        Label and value by their places.
    """
    sizes = Counter(groups)
    loose = [i for i, group in enumerate(groups) if sizes[group] == 1 and _is_along(blocks[i])]
    found: list[tuple[int, int]] = []
    for group in (group for group, size in sizes.items() if size >= FEWEST):
        labels = [i for i, its in enumerate(groups) if its == group]
        pairs = [(label, value) for label in labels if (value := _beside(blocks, boxes, label, loose)) is not None]
        for side in (0, 2):
            column = _in_line(blocks, boxes, pairs, side)
            tops = [boxes[label][1] for label, _ in column]
            rows = [label for label in labels if column and min(tops) <= boxes[label][1] <= max(tops)]
            if len(column) >= FEWEST and len(column) >= LEAST_SHARE * len(rows):
                found += column
                break
    return found


def _is_along(block: TextBlock) -> bool:
    return abs((block.angle_deg + 180.0) % 360.0 - 180.0) < ALONG_DEG


def _beside(blocks: Sequence[TextBlock], boxes: Sequence[FloatArray], label: int, loose: Sequence[int]) -> int | None:
    """The nearest loose block to the right of a label, level with it and about as high."""
    a, height = boxes[label], blocks[label].height_px
    near = []
    for i in loose:
        b = boxes[i]
        level = abs(a[1] + a[3] - b[1] - b[3]) / 2 < LEVEL * height
        alike = 1 / LIKE_HEIGHT < blocks[i].height_px / height < LIKE_HEIGHT
        if level and alike and 0 < b[0] - a[2] < FARTHEST * height:
            near.append((float(b[0]), i))
    return min(near)[1] if near else None


def _in_line(
    blocks: Sequence[TextBlock], boxes: Sequence[FloatArray], pairs: Sequence[tuple[int, int]], side: int
) -> list[tuple[int, int]]:
    """The pairs whose values begin (side 0) or end (2) in line with most."""
    if not pairs:
        return []
    edges = np.array([boxes[value][side] for _, value in pairs])
    slack = IN_LINE * float(np.median([blocks[value].height_px for _, value in pairs]))
    counts = (np.abs(edges[:, None] - edges[None, :]) < slack).sum(axis=1)
    middle = edges[int(np.argmax(counts))]
    return [pair for pair, edge in zip(pairs, edges, strict=True) if abs(edge - middle) < slack]
