"""Level and upright bars of a picture, measured on its original grey."""

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from calibrate.medians import median
from calibrate.sheet import FloatArray, GreyImage, InkImage
from calibrate.straightening.bar_finding import Bar, find_bars
from calibrate.straightening.bars import TRACK_POINTS, Bars
from calibrate.transforms import quarter_turn

MOST_COLUMNS = 1500
"""Columns measured on one bar; more add nothing to the angle."""
REACH_PENS = 2.5
"""Half-height of the window in which a column's centre is taken: a broad line fits in."""
GROUND_SAMPLES, GROUND_COLUMNS = 3, 41
"""The ground beside a bar is the lightest of so many outer samples, averaged over so many columns, on each side."""
WIDTH_TOLERANCE = 0.35
"""Columns whose inked width strays from the bar's own by more than this are crossings or touching lettering."""
FIT_ROUNDS = 4
OUTLIER_SIGMAS = 2.5
SMALLEST_SIGMA_PX = 0.05
MEDIAN_OVER_MEAN = (np.pi / 2) ** 0.5
"""Standard error of a median over that of a mean, of normal errors."""
FEWEST_COLUMNS = 20


def measure_bars(grey: GreyImage, bars: list[Bar], pen_px: float) -> Bars:
    """Measure each bar's angle on the grey.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper 255, full ink 0.
    bars : list of Bar
    pen_px : float

    Returns
    -------
    Bars
        Those that could be measured.
    """
    found = [one for one in (_measured(grey, bar, pen_px) for bar in bars) if one is not None]
    return Bars(
        np.array([one[0][:4] for one in found], np.float64).reshape(-1, 2, 2),
        np.array([one[0][4] for one in found], np.float64),
        np.array([one[1] for one in found], np.float64).reshape(-1, TRACK_POINTS, 2),
        np.array([one[2] for one in found], np.float64),
    )


def _measured(grey: GreyImage, bar: Bar, pen_px: float) -> tuple[tuple[float, ...], FloatArray, float] | None:
    """End points of one bar and the standard error of its angle, its track and the standard error of that.

    None where the line is too ragged to fit.
    """
    x, middle, width = _columns(grey, bar, pen_px)
    typical = median(width) if len(width) else 0.0
    clean = np.abs(width - typical) <= WIDTH_TOLERANCE * typical
    fitted = _fitted(x[clean], middle[clean])
    return None if fitted is None else (fitted, *_track(x[clean], middle[clean]))


def _track(x: FloatArray, y: FloatArray) -> tuple[FloatArray, float]:
    """Medians of equal shares of the columns, shape (TRACK_POINTS, 2), and their standard error."""
    share = max(1, len(x) // TRACK_POINTS)
    lower, upper = (share - 1) // 2, share // 2
    chosen = np.linspace(0, len(x) - 1, share * TRACK_POINTS).round().astype(np.intp)
    columns = np.column_stack([x, y])[chosen].reshape(TRACK_POINTS, share, 2)
    points = np.asarray(np.partition(columns, (lower, upper), axis=1)[:, [lower, upper]].mean(axis=1), np.float64)
    spread = median(np.abs(columns[:, :, 1] - points[:, None, 1]).ravel())
    return points, max(1.4826 * MEDIAN_OVER_MEAN * spread, SMALLEST_SIGMA_PX) / share**0.5


def _columns(grey: GreyImage, bar: Bar, pen_px: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """For columns along a bar: x, the centre of its darkness, and its inked width, in pixels."""
    x0, x1 = int(np.ceil(bar.path[0, 0])), int(np.floor(bar.path[-1, 0]))
    x = np.arange(x0, x1 + 1, max(1, (x1 - x0) // MOST_COLUMNS))
    expected = np.interp(x, bar.path[:, 0], bar.path[:, 1])
    reach = int(np.ceil(REACH_PENS * pen_px))
    nearest = np.round(expected).astype(np.intp)
    inside = (nearest >= reach) & (nearest < grey.shape[0] - reach) & (x >= 0) & (x < grey.shape[1])
    x, nearest = x[inside], nearest[inside]
    steps = np.arange(-reach, reach + 1)
    darkness = _without_ground(255.0 - grey[nearest + steps[:, None], x], steps)
    total = darkness.sum(axis=0)
    middle = nearest + steps @ darkness / np.maximum(total, 1.0)
    return x.astype(np.float64), middle, total / 255.0


def _without_ground(darkness: FloatArray, steps: NDArray[np.intp]) -> FloatArray:
    """Take off what stains and shadows add on either side: unequal sides would pull the centre."""
    above, below = (
        uniform_filter1d(side.min(axis=0), GROUND_COLUMNS, mode="nearest")
        for side in (darkness[:GROUND_SAMPLES], darkness[-GROUND_SAMPLES:])
    )
    share = np.where(steps < 0, 0.0, np.where(steps > 0, 1.0, 0.5))[:, None]
    return np.asarray(np.maximum(darkness - (above * (1 - share) + below * share), 0.0), np.float64)


def _fitted(x: FloatArray, y: FloatArray) -> tuple[float, ...] | None:
    """Straight line through columns: end points x0, y0, x1, y1 and the angle's standard error in degrees."""
    sigma = np.inf
    for _ in range(FIT_ROUNDS):
        if len(x) < FEWEST_COLUMNS:
            return None
        centre = x.mean()
        across = np.square(x - centre).sum()
        slope = float(((x - centre) * y).sum() / across)
        residual = y - y.mean() - slope * (x - centre)
        sigma = max(1.4826 * median(np.abs(residual)), SMALLEST_SIGMA_PX)
        keep = np.abs(residual) <= OUTLIER_SIGMAS * sigma
        if keep.all():
            break
        x, y = x[keep], y[keep]
    first, last = float(x.min()), float(x.max())
    at = float(y.mean()) - slope * float(x.mean())
    return first, at + slope * first, last, at + slope * last, float(np.degrees(sigma / across**0.5))


def find_and_measure(grey: GreyImage, ink: InkImage, coarse_deg: float, pen_px: float) -> tuple[Bars, Bars]:
    """Find and measure the level and the upright bars of a picture, in its own pixels.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper 255, full ink 0.
    ink : ndarray, bool, shape (H, W)
    coarse_deg : float
    pen_px : float

    Returns
    -------
    tuple of Bars
        Level ones, upright ones.
    """
    level = measure_bars(grey, find_bars(ink, coarse_deg, pen_px), pen_px)
    # A quarter turn clockwise makes upright lines level and leaves the skew as it is.
    turned_ink = np.asarray(cv2.rotate(ink.view(np.uint8), cv2.ROTATE_90_CLOCKWISE), np.uint8).view(np.bool_)
    turned = measure_bars(np.rot90(grey, -1), find_bars(turned_ink, coarse_deg, pen_px), pen_px)
    back = quarter_turn(turned_ink.shape[0], turned_ink.shape[1], 1)
    return level, turned.mapped(back)
