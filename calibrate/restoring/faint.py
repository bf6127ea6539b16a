"""Faint ink, which a threshold at half the full ink leaves out: worn places of lines, and lines that are too fine.

A thin line is seldom as dark as a broad one, and where grain or wear lightens it a pixel or two fall just below the
threshold. What lies between ink on two opposite sides and is nearly dark enough belongs to the line.

A line finer than two pixels is nowhere as dark as full ink, and may be nowhere half as dark. Where a sheet's pen is so
fine, or so much of it is drawn so fine that only the heavy lines were seen, the middle of a fine line is told by its
sides, which are lighter, and by going on.
"""

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import GreyImage, InkImage

FAINTEST_GREY = 150
"""A worn pixel is at least two fifths as dark as full ink."""
FINE_PEN_PX = 2.0
"""The finest line needs two pixels (archive guidance on scanning)."""
FINE_GREY, LIGHTER_SIDES = 178, 40
"""The middle of a fine line is as dark as the first, and darker than its sides by the second; what shows through from
the back is fainter."""
LEAST_FINE = 0.1
"""Fine lines make up at least this of what is drawn, by length: those of a pale pencil that a threshold lost made .19
and .62, grain, ringing and the edges of folds on 34 other scans at most .06."""
SAMPLE_PX, SAMPLE_STEP_PX = 32, 256
"""So many rows of every so many tell whether there are fine lines."""
REACH_PX = 2
"""Ink on one side lies next to a worn pixel, on the other side no further than this."""
BAND_PX = 512


def fill_worn_places(grey: GreyImage, ink: InkImage) -> InkImage:
    """Add the nearly dark pixels that lie between ink in their row or column.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper 255, full ink 0.
    ink : ndarray, bool, shape (H, W)
        Added to in place. The outermost `REACH_PX` rows and columns stay as they are.

    Returns
    -------
    ndarray, bool, shape (H, W)
        The same array.
    """
    height, width = grey.shape
    if min(height, width) <= 2 * REACH_PX:
        return ink
    worn = np.concatenate([_worn_in_band(grey, ink, top) for top in range(REACH_PX, height - REACH_PX, BAND_PX)])
    ink.ravel()[worn] = True
    return ink


def add_fine_lines(grey: GreyImage, ink: InkImage, pen_px: float) -> InkImage:
    """Add the middles of lines that are too fine to be half as dark as full ink, where the pen is that fine.

    Parameters
    ----------
    grey, ink : ndarray, shape (H, W)
        As in `fill_worn_places`.
    pen_px : float
        Width of the pen lines by their summed darkness.
    """
    height, width = grey.shape
    if min(height, width) <= 2 * REACH_PX or not (pen_px < FINE_PEN_PX or _has_fine_lines(grey, ink, pen_px)):
        return ink
    fine = np.concatenate(
        [_fine_in_band(grey, ink, top, BAND_PX) for top in range(REACH_PX, height - REACH_PX, BAND_PX)]
    )
    ink.ravel()[fine] = True
    return ink


def _has_fine_lines(grey: GreyImage, ink: InkImage, pen_px: float) -> bool:
    """Tell by a sample of rows whether fine lines that are not ink yet make up much of what is drawn."""
    tops = range(REACH_PX, len(grey) - REACH_PX, SAMPLE_STEP_PX)
    fine = sum(len(_fine_in_band(grey, ink, top, SAMPLE_PX)) for top in tops)
    seen = sum(np.count_nonzero(ink[top : top + SAMPLE_PX]) for top in tops) / pen_px
    return fine > LEAST_FINE * seen


def _worn_in_band(grey: GreyImage, ink: InkImage, top: int) -> NDArray[np.intp]:
    """Flat places of the worn pixels in a band of rows; in bands the candidates of a large sheet stay small."""
    place, width = _nearly_ink(grey, ink, top, FAINTEST_GREY, BAND_PX), grey.shape[1]
    pixels = ink.ravel()
    between = np.zeros(len(place), np.bool_)
    for step in (1, width):
        before, after = pixels[place - step], pixels[place + step]
        far_before, far_after = pixels[place - REACH_PX * step], pixels[place + REACH_PX * step]
        between |= (before & after) | (before & far_after) | (far_before & after)
    return np.asarray(place[between], np.intp)


def _fine_in_band(grey: GreyImage, ink: InkImage, top: int, rows: int) -> NDArray[np.intp]:
    """Flat places of the middles of fine lines in a band of rows."""
    place, width = _nearly_ink(grey, ink, top, FINE_GREY, rows), grey.shape[1]
    pixels = grey.ravel()
    own = pixels[place].astype(np.int16)
    middle = np.zeros(len(place), np.bool_)
    for across, along in ((1, width), (width, 1)):
        sides = np.minimum(pixels[place - REACH_PX * across], pixels[place + REACH_PX * across])
        darkest = own <= np.minimum(pixels[place - across], pixels[place + across])
        middle |= darkest & (sides >= own + LIGHTER_SIDES) & _goes_on(pixels, place, across, along)
    return np.asarray(place[middle], np.intp)


def _goes_on(pixels: GreyImage, place: NDArray[np.intp], across: int, along: int) -> NDArray[np.bool_]:
    """Which places have dark pixels ahead of them or behind, straight on or aslant."""

    def dark(step: int) -> NDArray[np.bool_]:
        there = [pixels[place + step * along + aside * across] for aside in range(-abs(step), abs(step) + 1)]
        return np.asarray(np.minimum.reduce(there) < FINE_GREY, np.bool_)

    return (dark(-1) & dark(-REACH_PX)) | (dark(1) & dark(REACH_PX))


def _nearly_ink(grey: GreyImage, ink: InkImage, top: int, faintest: int, rows: int) -> NDArray[np.intp]:
    """Flat places of the pixels in a band of so many rows that are no ink, but as dark as ``faintest``."""
    height, width = grey.shape
    band = np.s_[top : min(top + rows, height - REACH_PX), REACH_PX : width - REACH_PX]
    row, column = np.divmod(np.flatnonzero((grey[band] < faintest) & ~ink[band]), width - 2 * REACH_PX)
    return np.asarray((row + top) * width + column + REACH_PX, np.intp)
