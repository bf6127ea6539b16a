"""A block of two figures, of dimension lines that stand close together, cut in two."""

import numpy as np

from calibrate.sheet import LevelSheet
from digitize.lettering.crops import DEFAULT_MARGIN, INK_BELOW, crop_frame, cut
from digitize.lettering.reading.beside import stretched
from digitize.lettering.text import Text, TextBlock

SPLIT_GAP = 0.4
"""Paper, in figure heights, at which a row without a meaning may be two figures of neighbouring lines."""


LEAST_GAP, FEWEST_DIGITS = 0.001, 3
"""A whole number of so many digits may be two where the reader sees a gap in it with this probability (of five on 200
drawn sheets in which it saw one at all, the two that were two figures had .003 and .13, the others under .00005)."""


def may_be_two(text: Text) -> bool:
    """Is what reads as one whole number likely to be two that stand close together?"""
    best = text.readings[0].text if text.readings else ""
    if not best.isdigit() or len(best) < FEWEST_DIGITS:
        return False
    gapped = (r for r in text.readings[1:] if " " in r.text and r.text.replace(" ", "") == best)
    return any(reading.probability > LEAST_GAP for reading in gapped)


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
