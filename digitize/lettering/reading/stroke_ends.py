"""How far a line that runs through a figure goes on beyond it: a pen that strikes out begins before what it strikes."""

import numpy as np

from calibrate.sheet import FloatArray, InkImage

INSIDE = 0.3
"""An end is followed from so far within the columns looked at, in figure heights: it may lie there."""
ASIDE = 0.08
"""From one column to the next a line strays by no more, in figure heights."""
THIN = 0.3
"""Ink that is no deeper in a column than this, in figure heights, is the line alone."""
GAP = 0.05
"""Its ink may fail for so long, in figure heights."""


def beyond(ink: InkImage, across: FloatArray, line: FloatArray, height_px: float) -> tuple[float, float]:
    """How far a line goes on alone at its two ends, in figure heights, the freer one last.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
        The figure with paper round it, reading to the right.
    across : ndarray, shape (S,)
        Columns looked at, left to right.
    line : ndarray, shape (S,)
        Rows of the line there.
    height_px : float
    """
    rise = float(line[-1] - line[0]) / float(across[-1] - across[0])
    left = _alone_px(ink, float(across[0]), float(line[0]), (-1, -rise), height_px)
    right = _alone_px(ink, float(across[-1]), float(line[-1]), (1, rise), height_px)
    return min(left, right) / height_px, max(left, right) / height_px


def _alone_px(ink: InkImage, column: float, row: float, step: tuple[int, float], height_px: float) -> int:
    """Over how many columns a line followed to its end is alone there."""
    near, inside = max(1, round(ASIDE * height_px)), round(INSIDE * height_px)
    at, row = round(column) - step[0] * inside, row - step[1] * inside
    alone = missed = 0
    while 0 <= at < ink.shape[1] and missed <= max(2, GAP * height_px):
        top = max(round(row) - near, 0)
        inked = np.flatnonzero(ink[top : round(row) + near + 1, at]) if round(row) + near >= 0 else np.empty(0, int)
        if len(inked) == 0:
            missed += 1
        else:
            first, last = _run(ink[:, at], top + int(inked[np.argmin(np.abs(inked + top - row))]))
            thin = last - first < THIN * height_px
            alone = alone + 1 + missed if thin else 0
            row = (first + last) / 2 if thin else row
            missed = 0
        at, row = at + step[0], row + step[1]
    return alone


def _run(column: InkImage, at: int) -> tuple[int, int]:
    """The first and the last pixel of the ink of a column that one of its pixels belongs to."""
    paper = np.flatnonzero(~column)
    before, behind = paper[paper < at], paper[paper > at]
    return int(before[-1]) + 1 if len(before) else 0, int(behind[0]) - 1 if len(behind) else len(column) - 1
