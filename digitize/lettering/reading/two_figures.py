"""A block of two figures, of dimension lines that stand close together, cut in two."""

import numpy as np

from calibrate.sheet import LevelSheet
from digitize.lettering.crops import DEFAULT_MARGIN, INK_BELOW, crop_frame, cut
from digitize.lettering.reading.beside import stretched
from digitize.lettering.text import TextBlock

SPLIT_GAP = 0.4
"""Paper, in figure heights, at which a row without a meaning may be two figures of neighbouring lines."""


def cut_in_two(sheet: LevelSheet, block: TextBlock) -> list[TextBlock] | None:
    """A block cut in two at its widest upright band of paper, or None where no band is wide."""
    crop = cut(sheet, block)
    edge = DEFAULT_MARGIN * block.height_px
    inked = (crop < INK_BELOW).any(axis=0)
    columns = np.flatnonzero(inked)
    if len(columns) < 2:
        return None
    gaps = np.diff(columns)
    widest = int(np.argmax(gaps))
    if gaps[widest] < SPLIT_GAP * block.height_px:
        return None
    _, width, _ = crop_frame(block)
    inner = width - 1 - 2 * edge
    left_end = (columns[widest] + 1 - edge) / inner
    right_start = (columns[widest + 1] - edge) / inner
    return [stretched(block, 0.0, float(left_end)), stretched(block, float(right_start), 1.0)]
