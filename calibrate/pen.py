"""The width of the pen lines."""

import numpy as np

from calibrate.sheet import GreyImage, InkImage

SCAN_STEP_PX = 5
"""Every fifth row and column is looked along: thousands of crossings on any drawing."""
REACH_PX = 2
"""Beyond the threshold's edge a line's darkness still counts for this far."""
NARROWEST_PX, WIDEST_PX = 1.2, 60.0
"""Thinner crossings are noise: the finest line needs about two pixels."""
BIN_RATIO = 1.02
"""Widths are counted by ratio, two percent a bin."""
SMOOTHING_BINS = 8
"""Crossings of one pen scatter by about this many bins to either side."""
FULL_INK = 255.0
FEWEST_CROSSINGS = 20


def modal_pen_px(grey: GreyImage, ink: InkImage) -> float | None:
    """Find the commonest width of the fine lines and the lettering, to a few hundredths of a pixel on clean ink.

    Each crossing of a line by a row or column gives a width: its summed darkness over full ink. Lines across the
    row crowd at the pen's width, slanting ones spread above it. A crossing counts by the inverse square of its width:
    a border, broad and long, does not outvote the fine lines that every drawing has.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper 255, full ink 0.
    ink : ndarray, bool, shape (H, W)

    Returns
    -------
    float or None
        Pixels; None where there are too few crossings to tell.
    """
    widths = np.concatenate([_crossings(grey, ink), _crossings(grey.T, ink.T)])
    widths = widths[(widths > NARROWEST_PX) & (widths < WIDEST_PX)]
    if len(widths) < FEWEST_CROSSINGS:
        return None
    place = np.log(widths / NARROWEST_PX) / np.log(BIN_RATIO)
    counts = np.bincount(place.astype(np.intp), weights=widths**-2.0)
    smooth = np.convolve(counts, np.hanning(2 * SMOOTHING_BINS + 1), mode="full")[SMOOTHING_BINS:-SMOOTHING_BINS]
    near = widths[np.abs(place - np.argmax(smooth)) < SMOOTHING_BINS]
    return float(np.median(near))


def _crossings(grey: GreyImage, ink: InkImage) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Widths of all runs of ink along the sampled rows."""
    rows = np.ascontiguousarray(ink[SCAN_STEP_PX // 2 :: SCAN_STEP_PX])
    rows[:, : REACH_PX + 1] = rows[:, -REACH_PX - 1 :] = False
    darkness = 255 - grey[SCAN_STEP_PX // 2 :: SCAN_STEP_PX]
    total = np.cumsum(darkness.ravel(), dtype=np.int64)
    edges = np.flatnonzero(np.diff(rows.ravel()))
    starts, ends = edges[0::2], edges[1::2]
    return np.asarray((total[ends + REACH_PX] - total[starts - REACH_PX]) / FULL_INK, np.float64)
