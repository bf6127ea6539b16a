"""The width of the pen lines."""

import numpy as np

from calibrate.sheet import GreyImage, InkImage

SCAN_STEP_PX = 5
"""Every fifth row and column is looked along: thousands of crossings on any drawing."""
REACH_PX = 2
"""Beyond the threshold's edge a line's darkness still counts for this far."""
BIN_PX = 0.1
WIDEST_PX = 60.0
SMOOTHING_BINS = 5
FULL_INK = 255.0
FEWEST_CROSSINGS = 20


def modal_pen_px(grey: GreyImage, ink: InkImage) -> float | None:
    """Find the commonest width of line, to a tenth of a pixel.

    Each crossing of a line by a row or column gives a width: its summed darkness over full ink. Lines across the
    row crowd at the pen's width, slanting ones spread above it.

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
    widths = widths[(widths > BIN_PX) & (widths < WIDEST_PX)]
    if len(widths) < FEWEST_CROSSINGS:
        return None
    counts, _ = np.histogram(widths, bins=round(WIDEST_PX / BIN_PX), range=(0.0, WIDEST_PX))
    smooth = np.convolve(counts, np.hanning(2 * SMOOTHING_BINS + 1), mode="same")
    middle = (int(np.argmax(smooth)) + 0.5) * BIN_PX
    near = widths[np.abs(widths - middle) < SMOOTHING_BINS * BIN_PX]
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
