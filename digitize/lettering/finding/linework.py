"""Long straight pen lines, taken out of the ink so that lettering that touches them comes free.

A line is told from a letter by its length: no stroke of a letter runs straight for as long as a line does. Where
something crosses the line, the ink there is thicker across than a pen line and stays.
"""

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from calibrate.restoring.connected import Counts, runs_of
from calibrate.sheet import InkImage, LevelSheet

LONGEST_LETTER_STROKE_MM = 10.0
"""No stroke of a letter, and no fraction bar, runs straight for longer (ISO 3098 lettering is mostly 2.5 to 7 mm)."""
THICKEST_LINE_PENS = 2.4
"""A line drawn heavy, in widths of the sheet's usual pen; what is thicker across stands on the line or crosses it."""
RIM_OF_THICK = 0.6
"""A line's rim is no more ragged than this, in widths of the thickest line."""


CORE, UNDER, OVER = 1, 2, 4
"""What a pixel is: of a long run, or where strokes come to a line from under it or from over it."""


def without_lines(sheet: LevelSheet) -> InkImage:
    """The level ink without its long level and upright lines (ndarray, bool, shape (H, W))."""
    length_px = max(int(sheet.px(LONGEST_LETTER_STROKE_MM)), 3)
    thick_px = max(round(THICKEST_LINE_PENS * sheet.pen_px), 2)
    left = sheet.ink & ~line_ink(sheet.ink, length_px, thick_px, axis=1)
    left &= ~line_ink(sheet.ink, length_px, thick_px, axis=0)
    return np.asarray(left)


def line_ink(ink: InkImage, length_px: int, thick_px: int, axis: int) -> InkImage:
    """Ink of the straight lines along an axis.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
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
    >>> line_ink(ink, length_px=8, thick_px=2, axis=1)[3].astype(int)
    array([1, 1, 1, 1, 1, 0, 1, 1, 1, 1, 1, 1])
    """
    upright = axis == 0
    turned = _transposed(ink) if upright else ink  # the line lies level here
    rows, starts, ends = runs_of(turned)
    long = np.flatnonzero(ends - starts >= length_px)
    lying = np.searchsorted(rows, long, side="right") - 1
    # Made by numpy, which leaves paper untouched; compiled code would write it all.
    found, marks = np.zeros(turned.shape, np.bool_), np.zeros(turned.shape, np.uint8)
    rim_px = max(round(RIM_OF_THICK * thick_px), 2)
    _mark_level_lines(turned, (lying, starts[long], ends[long]), thick_px, rim_px, found, marks)
    return _transposed(found) if upright else found


@njit(cache=True)
def _mark_level_lines(
    ink: InkImage,
    runs: tuple[NDArray[np.int64], Counts, Counts],
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
    crossed = np.zeros((height, 2), np.bool_)
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
                    crossed[y, 0] = True
            if over >= top and not marks[over, x] & CORE:
                for y in range(over, bottom + 1 if is_line else over + 1):
                    marks[y, x] |= OVER
                    crossed[y, 1] = True
    for crossing in np.flatnonzero(crossed[:, 0] & crossed[:, 1]):
        _take_crossings(marks[crossing], found[crossing], thick_px)


@njit(cache=True)
def _take_crossings(marks: NDArray[np.uint8], found: InkImage, reach_px: int) -> None:
    """Take away from a row of lines what strokes come to on both sides within so many pixels."""
    width = len(marks)
    under, over = -reach_px - 1, -reach_px - 1  # where the last ones are
    for ahead in range(width + reach_px):
        if ahead < width and marks[ahead] & UNDER:
            under = ahead
        if ahead < width and marks[ahead] & OVER:
            over = ahead
        x = ahead - reach_px
        if x >= 0 and min(under, over) >= x - reach_px:
            found[x] = False


def _transposed(ink: InkImage) -> InkImage:
    return np.asarray(cv2.transpose(ink.view(np.uint8)), np.uint8).view(np.bool_)
