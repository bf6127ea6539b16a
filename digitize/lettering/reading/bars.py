"""A fraction's bar is seen or it isn't: figures over each other are a fraction with it, and limits without.

Readers judge by the figures too: 3 over 8 is likelier a fraction than limits, whatever lies between.
"""

import re
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import GreyImage, LevelSheet
from digitize.lettering.crops import cut
from digitize.lettering.reading.row_by_row import runs
from digitize.lettering.text import Layout, Reading, Text, merged

FRACTION = re.compile(r"(\d{1,3})/(\d{1,3}[\"'°]?)")
LIMITS = re.compile(r"(\d{1,3})\n(\d{1,3}[\"'°]?)")
PAPER_SHARE, INK_SHARE = 90.0, 1.0
"""Percentiles of grey that are the crop's paper and its full ink."""
INK_PART, TRACE_PART = 0.5, 0.2
"""Of the way from paper to full ink: what is surely ink, and what may be a trace of it."""
FIGURE_PART, THIN_PART = 0.6, 0.35
"""Height of a row of figures, at least, and of a bar, at most, in that of the taller row."""
LEAST_LENGTH, OVERHANG = 0.8, 1.05
"""A bar is so long at least, in widths of the narrower row; a level run so long is a bar that touches a figure, and no
foot of a 2."""


def with_bars_as_seen(sheet: LevelSheet, text: Text) -> Text:
    """The text with whole figures over each other told as a fraction or as limits, where the picture tells which.

    Parameters
    ----------
    sheet : LevelSheet
    text : Text
    """
    told = [reading for reading in text.readings if FRACTION.fullmatch(reading.text) or LIMITS.fullmatch(reading.text)]
    if text.block.layout is not Layout.STACK or not told:
        return text
    seen = has_bar(cut(sheet, text.block))
    if seen is None:
        return text
    wrong, joint = (LIMITS, r"\1/\2") if seen else (FRACTION, "\\1\n\\2")
    said = [Reading(re.sub(wrong.pattern, joint, r.text), r.probability) if wrong.fullmatch(r.text) else r
            for r in text.readings]  # fmt: skip
    return replace(text, readings=merged(said))


def has_bar(crop: GreyImage) -> bool | None:
    """Whether one bar lies between two rows of figures, and ends within the crop; None where that can't be told.

    Parameters
    ----------
    crop : ndarray, uint8, shape (H, W)
        Two rows of figures and no more.
    """
    paper, full = np.percentile(crop, (PAPER_SHARE, INK_SHARE))
    ink = crop < paper - INK_PART * (paper - full)
    rows = runs(ink.any(axis=1))
    tallest = max((end - start for start, end in rows), default=0)
    figures = [(start, end) for start, end in rows if end - start >= FIGURE_PART * tallest]
    if len(figures) != 2 or figures[0][0] == 0 or figures[1][1] == len(crop):
        return None
    (top, upper_end), (lower_start, foot) = figures
    narrower = min(np.ptp(np.flatnonzero(ink[a:b].any(axis=0))) for a, b in ((top, upper_end), (lower_start, foot)))
    if not (crop[upper_end + 1 : lower_start - 1] < paper - TRACE_PART * (paper - full)).any():
        thin = round(THIN_PART * tallest)
        inner = ink[max(upper_end - thin, top) : lower_start + thin]
        return None if max(_longest_run(row) for row in inner) > OVERHANG * narrower else False
    between = runs(ink[upper_end:lower_start].any(axis=1))
    if len(between) != 1 or between[0][1] - between[0][0] > THIN_PART * tallest:
        return None
    bar = ink[upper_end:lower_start].any(axis=0)
    whole = len(runs(bar)) == 1 and np.count_nonzero(bar) >= LEAST_LENGTH * narrower
    return True if whole and not bar[0] and not bar[-1] else None


def _longest_run(row: NDArray[np.bool_]) -> int:
    return max((end - start for start, end in runs(row)), default=0)
