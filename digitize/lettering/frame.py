"""A crop of lettering as the reader's network sees it: 64 rows, paper 0, ink 1."""

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.lettering.text import Layout

HEIGHT_PX = 64
ROW_HEIGHT_PX = 44  # a row is set smaller than a stack, so that plain figures come out about equally tall in both
STRIDE_PX = 4  # columns of the picture to one column of the network's output
WIDTH_STEP_PX = 32  # widths are rounded up to this, so that crops can share a batch
MAX_WIDTH_PX = 2048  # some 80 letters; a longer row is no dimension
SIDE_PX = 8  # clear paper left and right, so that a stack's marks have columns to fall on
PAPER_SHARE, INK_SHARE = 0.9, 0.01  # of the crop's pixels that are darker than its paper; than its full ink
LEAST_CONTRAST = 40.0  # grey levels; less is paper's own unevenness and must not be stretched into ink


def framed(crop: NDArray[np.uint8], layout: Layout) -> NDArray[np.uint8]:
    """Bring a grey crop to the network's frame.

    Parameters
    ----------
    crop : ndarray, uint8, shape (H, W)
        Upright, dark on light, some 0.3 figure heights of margin.
    layout : Layout
        Sets the height that the crop is brought to.

    Returns
    -------
    ndarray, uint8, shape (64, W')
        255 for ink, 0 for paper; W' a multiple of 32.
    """
    height = ROW_HEIGHT_PX if layout is Layout.ROW else HEIGHT_PX
    ink = _ink(crop)
    scale = height / ink.shape[0]
    width = int(np.clip(round(ink.shape[1] * scale), STRIDE_PX, MAX_WIDTH_PX - 2 * SIDE_PX))
    sized = cv2.resize(ink, (width, height), interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR)
    full = np.zeros((HEIGHT_PX, _rounded_up(width + 2 * SIDE_PX)), np.uint8)
    top = (HEIGHT_PX - height) // 2
    full[top : top + height, SIDE_PX : SIDE_PX + width] = sized
    return full


def _ink(crop: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Share of ink, 0 to 255, from the crop's own paper and its own darkest ink."""
    shares = np.cumsum(np.bincount(crop.ravel(), minlength=256)) / crop.size
    paper = float(np.searchsorted(shares, PAPER_SHARE))
    darkest = min(float(np.searchsorted(shares, INK_SHARE)), paper - LEAST_CONTRAST)
    table = np.clip((paper - np.arange(256)) * (255.0 / (paper - darkest)), 0, 255).astype(np.uint8)
    return np.asarray(cv2.LUT(crop, table), np.uint8)


def _rounded_up(width: int) -> int:
    return -(-width // WIDTH_STEP_PX) * WIDTH_STEP_PX
