"""The dark, ragged band beside a book's page, or of a worn copy's margin, which is no drawing.

Such a band is speckled, does not reach the picture's edge everywhere and has blots along it, so that it is told by how
dark it is over a few millimetres, not pixel by pixel. Nothing drawn is half black over that width along half a side.
"""

import cv2
import numpy as np

from calibrate.restoring.connected import connected_pieces
from calibrate.restoring.polarity import counts_of_levels, median_level
from calibrate.sheet import GreyImage, InkImage

WINDOW_PX = 9
"""Of the reduced picture, over which the darkness is averaged: wider than any border line."""
BLACK_SHARE, SHADE_SHARE = 0.5, 0.14
"""Mean darkness, as part of the paper's brightness, of the band's core and of the shade along it."""
LEAST_SPAN, LEAST_BREADTH = 0.5, 0.01
"""The core runs along so much of a side, and is so broad on average, as part of the picture's longer side."""
MARGIN_SHARE = 0.25
"""The core lies within this part of the picture from its side."""
SHADE_REACH_PX = 8
"""Of the reduced picture: the shade along the core counts so far."""
QUARTERS = range(4)


def find_gutter(small: GreyImage) -> InkImage | None:
    """Find dark bands along the sides of a picture.

    Parameters
    ----------
    small : ndarray, uint8, shape (H, W)
        Reduced picture, dark ink on light paper.

    Returns
    -------
    ndarray, bool, shape (H, W), or None
        True from each band outward to the picture's side; None where there is no band.
    """
    paper = median_level(counts_of_levels(small))
    darkness = cv2.blur(np.clip(paper - small.astype(np.float32), 0, None), (WINDOW_PX, WINDOW_PX))
    black, shade = darkness > BLACK_SHARE * paper, darkness > SHADE_SHARE * paper
    pieces = connected_pieces(black)
    least_area = LEAST_SPAN * LEAST_BREADTH * small.size  # shorter side times longer side
    found = np.zeros(small.shape, np.bool_)
    for label in np.flatnonzero(pieces.stats[:, cv2.CC_STAT_AREA] >= least_area):
        core = pieces.labels == label
        for quarters in QUARTERS if label else ():
            if _is_at_the_right(np.rot90(core, quarters)):
                near = cv2.dilate(core.view(np.uint8), np.ones((2 * SHADE_REACH_PX + 1,) * 2, np.uint8)) > 0
                np.rot90(found, quarters)[:] |= _to_the_right(np.rot90(near & shade, quarters))
    return found if found.any() else None


def _is_at_the_right(core: InkImage) -> bool:
    """Tell whether a core is a band along the picture's right side."""
    height, width = core.shape
    columns, span = np.flatnonzero(core.any(axis=0)), int(core.any(axis=1).sum())
    breadth = int(core.sum()) / span
    return bool(
        span >= LEAST_SPAN * height
        and columns[0] >= (1 - MARGIN_SHARE) * width
        and breadth >= LEAST_BREADTH * max(core.shape)
    )


def _to_the_right(band: InkImage) -> InkImage:
    """Fill from a band's inner edge to the right side; rows in gaps of the band get the edge of their neighbours."""
    rows = np.flatnonzero(band.any(axis=1))
    between = np.arange(rows[0], rows[-1] + 1)
    edge = np.interp(between, rows, band.argmax(axis=1)[rows])
    filled = np.zeros_like(band)
    filled[between] = np.arange(band.shape[1]) >= edge[:, None]
    return filled
