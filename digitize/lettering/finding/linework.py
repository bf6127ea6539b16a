"""Long straight pen lines, taken out of the ink so that lettering that touches them comes free.

A line is told from a letter by its length: no stroke of a letter runs straight for as long as a line does. Where
something crosses the line, the ink there is thicker across than a pen line and stays.
"""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from calibrate.restoring.connected import Counts, Runs, runs_of, without
from calibrate.sheet import InkImage, LevelSheet

LONGEST_LETTER_STROKE_MM = 10.0
"""No stroke of a letter, and no fraction bar, runs straight for longer (ISO 3098 lettering is mostly 2.5 to 7 mm)."""
THICKEST_LINE_PENS = 2.4
"""A line drawn heavy, in widths of the sheet's usual pen; what is thicker across stands on the line or crosses it."""
RIM_OF_THICK = 0.6
"""A line's rim is no more ragged than this, in widths of the thickest line."""


LongRuns = tuple[NDArray[np.int64], Counts, Counts]
"""Row, first and past-last column of each, shape (N,)."""
CORE, UNDER, OVER = 1, 2, 4
"""What a pixel is: of a long run, or where strokes come to a line from under it or from over it."""


@dataclass(frozen=True)
class Lines:
    """What lines take of a sheet's ink: ``thinned`` is what they leave (both ndarray, bool, shape (H, W))."""

    ink: InkImage
    thinned: InkImage

    def within(self, rows: slice, columns: slice) -> InkImage:
        """Their ink in a window."""
        return np.asarray(self.ink[rows, columns] & ~self.thinned[rows, columns])


def without_lines(sheet: LevelSheet) -> InkImage:
    """The level ink without its long level and upright lines (ndarray, bool, shape (H, W))."""
    length_px = max(int(sheet.px(LONGEST_LETTER_STROKE_MM)), 3)
    thick_px = max(round(THICKEST_LINE_PENS * sheet.pen_px), 2)
    runs = runs_of(sheet.ink)
    left = without(sheet.ink, runs, line_ink(sheet.ink, runs, length_px, thick_px, axis=1))
    return without(left, runs, line_ink(sheet.ink, runs, length_px, thick_px, axis=0))


def line_ink(ink: InkImage, runs: Runs, length_px: int, thick_px: int, axis: int) -> InkImage:
    """Ink of the straight lines along an axis.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
    runs : tuple of three ndarray
        Its runs, see `calibrate.restoring.connected.runs_of`.
    length_px : int
        Shortest run that counts as a line.
    thick_px : int
        Ink that runs further than this across the line is no part of it.
    axis : int
        0 for upright lines, 1 for level ones.

    Returns
    -------
    ndarray, bool, shape (H, W)

    Examples
    --------
    >>> ink = np.zeros((7, 12), bool)
    >>> ink[3, :] = True
    >>> ink[:, 5] = True
    >>> line_ink(ink, runs_of(ink), length_px=8, thick_px=2, axis=1)[3].astype(int)
    array([1, 1, 1, 1, 1, 0, 1, 1, 1, 1, 1, 1])
    """
    # Made by numpy, which leaves paper untouched; compiled code would write it all.
    found, marks = np.zeros(ink.shape, np.bool_), np.zeros(ink.shape, np.uint8)
    rim_px = max(round(RIM_OF_THICK * thick_px), 2)
    if axis == 1:
        _mark_level_lines(ink, _level_runs(*runs, length_px), thick_px, rim_px, found, marks)
    else:  # a line lies level on the side of a picture that is turned over its diagonal
        _mark_level_lines(ink.T, _upright_runs(*runs, ink.shape[1], length_px), thick_px, rim_px, found.T, marks.T)
    return found


def _level_runs(rows: Counts, starts: Counts, ends: Counts, length_px: int) -> LongRuns:
    long = np.flatnonzero(ends - starts >= length_px)
    return np.searchsorted(rows, long, side="right") - 1, starts[long], ends[long]


@njit(cache=True)
def _upright_runs(rows: Counts, starts: Counts, ends: Counts, width: int, length_px: int) -> LongRuns:
    """Long runs of ink in the columns of a picture, given by the runs of its rows."""
    most = (ends - starts).sum() // length_px + 1
    found = np.empty(most, np.int64), np.empty(most, np.int32), np.empty(most, np.int32)
    first, last = np.zeros(width, np.int32), np.full(width, -2, np.int32)  # of the latest run in each column
    count = 0
    for y in range(len(rows) - 1):
        for run in range(rows[y], rows[y + 1]):
            for x in range(starts[run], ends[run]):
                if last[x] != y - 1:
                    if last[x] + 1 - first[x] >= length_px:
                        found[0][count], found[1][count], found[2][count] = x, first[x], last[x] + 1
                        count += 1
                    first[x] = y
                last[x] = y
    for x in range(width):
        if last[x] + 1 - first[x] >= length_px:
            found[0][count], found[1][count], found[2][count] = x, first[x], last[x] + 1
            count += 1
    return found[0][:count], found[1][:count], found[2][:count]


@njit(cache=True)
def _mark_level_lines(
    ink: InkImage,
    runs: LongRuns,
    thick_px: int,
    rim_px: int,
    found: InkImage,
    marks: NDArray[np.uint8],
) -> None:
    """Mark level lines about long runs, given by rows, starts and ends.

    Where a stroke comes to a line on one side and leaves it on the other none is marked.
    The rim of a line is ragged, so that its outer rows hold no long run: what lies upright on one is of the line as
    well, where that is not too thick. Ink on one side of it, beyond a ragged rim, is a stroke that comes to it.
    """
    rows, starts, ends = runs
    height = len(ink)
    for n in range(len(rows)):
        marks[rows[n], starts[n] : ends[n]] = CORE
    width = ink.shape[1]
    firsts, lasts = np.full((height, 2), width), np.full((height, 2), -1)  # of what comes to each row from either side
    for n in range(len(rows)):
        row = rows[n]
        for x in range(starts[n], ends[n]):
            top, bottom = row, row
            while row - top <= thick_px and top > 0 and ink[top - 1, x]:
                top -= 1
            while bottom - row <= thick_px and bottom + 1 < height and ink[bottom + 1, x]:
                bottom += 1
            is_line = bottom - top < thick_px
            if is_line:
                for y in range(top, bottom + 1):
                    found[y, x] = True
            under, over = row + rim_px, row - rim_px
            if under <= bottom and not marks[under, x] & CORE:
                for y in range(top if is_line else under, under + 1):
                    marks[y, x] |= UNDER
                    firsts[y, 0], lasts[y, 0] = min(firsts[y, 0], x), max(lasts[y, 0], x)
            if over >= top and not marks[over, x] & CORE:
                for y in range(over, bottom + 1 if is_line else over + 1):
                    marks[y, x] |= OVER
                    firsts[y, 1], lasts[y, 1] = min(firsts[y, 1], x), max(lasts[y, 1], x)
    for crossing in np.flatnonzero((lasts[:, 0] >= 0) & (lasts[:, 1] >= 0)):
        first, last = firsts[crossing].max() - thick_px, lasts[crossing].min() + thick_px
        _take_crossings(marks[crossing], found[crossing], thick_px, max(first, 0), min(last, width - 1))


@njit(cache=True)
def _take_crossings(marks: NDArray[np.uint8], found: InkImage, reach_px: int, first: int, last: int) -> None:
    """Take away from a row of lines what strokes come to on both sides within so many pixels, from first to last."""
    width, start = len(marks), max(first - reach_px, 0)
    under, over = start - 2 * reach_px - 1, start - 2 * reach_px - 1  # where the last ones are
    for ahead in range(start, last + reach_px + 1):
        if ahead < width and marks[ahead] & UNDER:
            under = ahead
        if ahead < width and marks[ahead] & OVER:
            over = ahead
        x = ahead - reach_px
        if x >= first and min(under, over) >= x - reach_px:
            found[x] = False
