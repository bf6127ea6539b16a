"""The width of the pen lines."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray, GreyImage, InkImage

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
FINER_SHARE, FINER_RATIO, FINER_PX = 0.4, 1.3, 1.05
"""Another crowd this large, of a pen this much finer, is that of the fine lines. Pens differ by a root of two (ISO
128-2, from memory), by less once a scan has blurred them; a one-bit scan gives a single pen two widths, a pixel apart.
"""
ALONG_WIDTHS = (0.75, 1.5, 2.25)
"""A line goes on to both sides of its crossing for these many of its widths; a speck does not."""
LEAST_LASTING = 0.1
"""Where less of the runs goes on there are no lines: pure noise has 0.016, the worst edges of a scan leave 0.28."""
FULL_INK = 255.0
FEWEST_CROSSINGS = 20
BAND_ROWS = 64
"""Sampled rows worked on at a time."""


@dataclass(frozen=True)
class PenWidths:
    """Widths of a sheet's lines in pixels: the commonest, and that of the finest pen that drew many."""

    modal_px: float
    finest_px: float


def pen_widths(grey: GreyImage, ink: InkImage) -> PenWidths | None:
    """Find the width of the lines and the lettering, to a few hundredths of a pixel on clean ink.

    Each crossing of a line by a row or column gives a width: its summed darkness over full ink. Lines across the
    row crowd at the pen's width, slanting ones spread above it. A crossing counts by the inverse square of its width:
    a border, broad and long, seldom outvotes the fine lines that every drawing has, and where it does they still crowd
    at a width of their own. The specks of a dark edge are finer than any pen and many: only ink that goes on across the
    row counts.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper 255, full ink 0.
    ink : ndarray, bool, shape (H, W)

    Returns
    -------
    PenWidths or None
        None where there are too few crossings to tell.
    """
    widths = np.concatenate([_crossings(grey, ink), _crossings(grey.T, ink.T)])
    widths = widths[(widths > NARROWEST_PX) & (widths < WIDEST_PX)]
    if len(widths) < FEWEST_CROSSINGS:
        return None
    place = np.log(widths / NARROWEST_PX) / np.log(BIN_RATIO)
    counts = np.bincount(place.astype(np.intp), weights=widths**-2.0)
    smooth = np.convolve(counts, np.hanning(2 * SMOOTHING_BINS + 1), mode="full")[SMOOTHING_BINS:-SMOOTHING_BINS]
    crowds = int(np.argmax(smooth)), _finest_crowd(smooth)
    return PenWidths(*(float(np.median(widths[np.abs(place - crowd) < SMOOTHING_BINS])) for crowd in crowds))


def _finest_crowd(counts: FloatArray) -> int:
    """Bin of the finest pen's crowd among smoothed counts."""
    top = int(np.argmax(counts))
    is_peak = (counts[1:-1] >= counts[:-2]) & (counts[1:-1] > counts[2:]) & (counts[1:-1] >= FINER_SHARE * counts[top])
    finer = np.flatnonzero(is_peak) + 1
    width = NARROWEST_PX * BIN_RATIO ** np.arange(len(counts))
    finer = finer[width[finer] <= min(width[top] / FINER_RATIO, width[top] - FINER_PX)]
    return int(finer[0]) if len(finer) else top


def _crossings(grey: GreyImage, ink: InkImage) -> FloatArray:
    """Widths of all runs of ink along the sampled rows, in bands, which keep the running sums small."""
    tops = range(SCAN_STEP_PX // 2, len(ink), SCAN_STEP_PX * BAND_ROWS)
    bands = [_crossings_in_band(grey, ink, top) for top in tops]
    if not bands:
        return np.zeros(0)
    widths, lasting = (np.concatenate(parts) for parts in zip(*bands, strict=True))
    return widths[lasting] if len(widths) and lasting.mean() > LEAST_LASTING else widths


def _crossings_in_band(grey: GreyImage, ink: InkImage, top: int) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Widths of the runs along the sampled rows from ``top`` on, and which lie on ink that goes on across them."""
    rows = _sampled(ink.view(np.uint8), top).view(np.bool_)
    rows[:, : REACH_PX + 1] = rows[:, -REACH_PX - 1 :] = False
    total = np.diff(cv2.integral(cv2.bitwise_not(_sampled(grey, top))), axis=0).ravel()
    edges = np.flatnonzero(np.diff(rows.ravel()))
    starts, ends = edges[0::2], edges[1::2]
    first = starts // rows.shape[1] + 1  # the running sums of each row begin with a nought of their own
    widths = np.asarray((total[ends + REACH_PX + first] - total[starts - REACH_PX + first]) / FULL_INK, np.float64)
    return widths, _goes_on(ink, top, (starts + 1 + ends) // 2, ends - starts)


def _sampled(picture: GreyImage, top: int) -> GreyImage:
    """Every so many rows of a band, as a picture of their own; a transposed picture is turned over first."""
    band = picture[top : top + SCAN_STEP_PX * BAND_ROWS]
    if abs(band.strides[0]) < abs(band.strides[1]):
        band = np.asarray(cv2.transpose(band.T), np.uint8)
    return np.array(band[::SCAN_STEP_PX], order="C")


def _goes_on(ink: InkImage, top: int, middles: NDArray[np.intp], widths_px: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which runs lie on ink that goes on across the sampled rows; ``middles`` count along those from ``top`` on."""
    sampled, columns = np.divmod(middles, ink.shape[1])
    rows = top + sampled * SCAN_STEP_PX
    lasting = np.ones(len(rows), dtype=np.bool_)
    for along in ALONG_WIDTHS:
        step = np.ceil(along * widths_px).astype(np.intp)
        for there in (rows - step, rows + step):
            lasting &= ink[np.clip(there, 0, len(ink) - 1), columns]
    return lasting
