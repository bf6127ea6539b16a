"""Worn places of lines, which a threshold at half the full ink leaves out.

A thin line is seldom as dark as a broad one, and where grain or wear lightens it a pixel or two fall just below the
threshold. What lies between ink on two opposite sides and is nearly dark enough belongs to the line.
"""

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import GreyImage, InkImage

FAINTEST_GREY = 150
"""A worn pixel is at least two fifths as dark as full ink."""
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


def _worn_in_band(grey: GreyImage, ink: InkImage, top: int) -> NDArray[np.intp]:
    """Flat places of the worn pixels in a band of rows; in bands the candidates of a large sheet stay small."""
    height, width = grey.shape
    rows, columns = slice(top, min(top + BAND_PX, height - REACH_PX)), slice(REACH_PX, width - REACH_PX)
    row, column = np.divmod(
        np.flatnonzero((grey[rows, columns] < FAINTEST_GREY) & ~ink[rows, columns]), width - 2 * REACH_PX
    )
    place = (row + top) * width + column + REACH_PX
    pixels = ink.ravel()
    between = np.zeros(len(place), np.bool_)
    for step in (1, width):
        before, after = pixels[place - step], pixels[place + step]
        far_before, far_after = pixels[place - REACH_PX * step], pixels[place + REACH_PX * step]
        between |= (before & after) | (before & far_after) | (far_before & after)
    return np.asarray(place[between], np.intp)
