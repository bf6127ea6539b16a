"""Two lines over each other read one at a time: what the reader makes of each alone, joined as limits are written."""

from dataclasses import replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import LevelSheet
from digitize.lettering.crops import DEFAULT_MARGIN, INK_BELOW, cut
from digitize.lettering.meaning.lone_letters import is_surely_letter
from digitize.lettering.reading.worth import figure_worth
from digitize.lettering.text import Layout, Reading, Text, TextBlock

MIDDLE = 0.3, 0.7
"""The paper between two lines lies here, in shares of the stack's height."""
LEAST_PAPER = 0.12
"""Paper between the lines, in figure heights."""
MOST_READINGS = 5
SURE_SIZE = 0.9
"""A size that a letter stands over or under, as at a cutting plane, reads so well by itself."""


def lines_of(sheet: LevelSheet, block: TextBlock) -> tuple[TextBlock, TextBlock] | None:
    """The upper and the lower line of a stack; None where no band of bare paper parts them."""
    bare = np.asarray(~(cut(sheet, block) < INK_BELOW).any(axis=1), np.bool_)
    edge = DEFAULT_MARGIN * block.height_px
    inner = len(bare) - 1 - 2 * edge
    low, high = (round(edge + share * inner) for share in MIDDLE)
    start, end = _widest_band(bare, low, high)
    if end - start < LEAST_PAPER * block.height_px:
        return None
    upper, lower = ((row - edge) / inner for row in (start, end))
    return _slice(block, 0.0, float(upper)), _slice(block, float(lower), 1.0)


def joined_lines(block: TextBlock, upper: Text, lower: Text) -> Text:
    """The text of a stack from those of its lines; each must be right for the whole to be."""
    pairs = [
        Reading(f"{one.text}\n{two.text}", one.probability * two.probability)
        for one, two in product(upper.readings, lower.readings)
    ]
    best = sorted(pairs, key=lambda reading: -reading.probability)[:MOST_READINGS]
    return Text(block, tuple(best), upper.reader)


def letter_and_size(upper: Text, lower: Text) -> tuple[Text, Text] | None:
    """Of two lines that make no sense together the letter that names a plane and the size; None where they are not."""
    for letter, size in ((upper, lower), (lower, upper)):
        if is_surely_letter(letter) and figure_worth(size) > SURE_SIZE:
            return letter, size
    return None


def _widest_band(bare: np.ndarray, low: int, high: int) -> tuple[int, int]:
    """First and past-last row of the widest run of bare rows that begins or ends between two rows."""
    bands = [(start, end) for start, end in runs(bare) if start < high and end > low and start > 0 and end < len(bare)]
    return max(bands, key=lambda band: band[1] - band[0], default=(0, 0))


def runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and past-last place of each run of true values.

    Examples
    --------
    >>> runs(np.array([True, False, True, True]))
    [(0, 1), (2, 4)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [(int(start), int(end)) for start, end in zip(edges[::2], edges[1::2], strict=True)]


def _slice(block: TextBlock, start: float, end: float) -> TextBlock:
    """A block from ``start`` to ``end`` of its depth, as one row."""
    corners = np.array(block.quad)
    left, right = corners[3] - corners[0], corners[2] - corners[1]
    quad = (corners[0] + start * left, corners[1] + start * right, corners[1] + end * right, corners[0] + end * left)
    points = [(float(x), float(y)) for x, y in quad]
    return replace(block, quad=(points[0], points[1], points[2], points[3]), layout=Layout.ROW)
