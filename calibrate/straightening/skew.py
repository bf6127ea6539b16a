"""The fine turn of a sheet, from its long drawn lines.

Terms
-----
skew
    Degrees by which the sheet lies turned counter-clockwise, as seen; what has to be taken off again.
bar
    A long, thin, nearly level piece of ink: a ruled line, or a part of one.

A coarse skew comes from the sharpness of the ink's projections. With it removed, an opening keeps the bars; each is
then measured on the original grey, column by column, to a few hundredths of a pixel. Level and upright bars vote
separately and are compared. Lettering is never used: its words follow the pen, not the square.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import ink_places
from calibrate.sheet import FloatArray, GreyImage, InkImage
from calibrate.straightening.bar_measuring import find_and_measure
from calibrate.straightening.bars import Bars

LARGEST_SKEW_DEG = 8.0
"""Sheets laid by hand on a scanner are straighter than this."""
COARSE_STEP_DEG, FINE_STEP_DEG, FINE_REACH_DEG = 0.2, 0.02, 0.12
"""The best of the coarse steps lies within half a step of the sharpest turn; the reach of the fine ones holds that."""
COARSE_LOOK_PX = 2000
"""Longer side of the picture projected for the coarse angle."""
MOST_POINTS, ROUGHLY = 60_000, 3
"""Every third of the points tells which of the coarse steps is best."""
MODE_WIDTH_DEG = 0.03
"""Ruled lines of one sheet agree to about this; drawn tapers do not crowd so."""
TUKEY = 4.7
"""Tuning constant of the biweight at 95 % efficiency (Tukey; from memory)."""
LEAST_SPREAD_DEG = 0.002
MOST_STRAYING_PENS = 1.5
"""Sideways, between the ends of a ruled line: 0.45 mm, for a pen off by 0.3 mm at either end (common practice)."""
FEWEST_FREE = 0.5
"""Effective number of bars beyond one, at least: where one long bar outweighs all, its scatter says little."""
FEWEST_SQUARE = 5
"""Bars of a direction from which it says whether it lies square to the other."""
REFINEMENTS = 10
COARSE_STD_DEG = 0.1
"""Of what the projections of a sheet with long lines say."""
UNTOLD_STD_DEG = LARGEST_SKEW_DEG / 3**0.5
"""Of a sheet without one, which may lie at any turn up to the largest: projections of curves peak anywhere."""


@dataclass(frozen=True)
class Skew:
    """Skew with its standard error, and how it was found.

    ``out_of_square`` is the skew of the level bars less that of the upright ones, with its standard error, None where
    a direction has too few bars. ``bar_count`` is the number of bars behind the figure.
    """

    skew_deg: float
    std_deg: float
    out_of_square: tuple[float, float] | None
    bar_count: int


@dataclass(frozen=True)
class Ruled:
    """The long lines of a picture: coarse skew, level bars and upright bars, width of the pen lines."""

    coarse_deg: float
    level: Bars
    upright: Bars
    pen_px: float


def find_ruled(grey: GreyImage, ink: InkImage, pen_px: float) -> Ruled:
    """Find and measure the long lines of a sheet that stands upright to within `LARGEST_SKEW_DEG`.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper 255, full ink 0.
    ink : ndarray, bool, shape (H, W)
    pen_px : float
        Width of the pen lines.

    Returns
    -------
    Ruled
    """
    coarse = coarse_skew_deg(ink)
    return Ruled(coarse, *find_and_measure(grey, ink, coarse, pen_px), pen_px)


def coarse_skew_deg(ink: InkImage) -> float:
    """Find the turn at which the ink's projections on the two axes are sharpest, to about 0.05 degrees."""
    height, width = ink.shape
    step = max(1, round(max(height, width) / COARSE_LOOK_PX))
    rows, columns = ink_places(ink[::step, ::step], MOST_POINTS)
    if len(rows) == 0:
        return 0.0
    x, y = columns.astype(np.float32), rows.astype(np.float32)
    tried = np.arange(-LARGEST_SKEW_DEG, LARGEST_SKEW_DEG + COARSE_STEP_DEG / 2, COARSE_STEP_DEG)
    best = tried[np.argmax([_sharpness(x[::ROUGHLY], y[::ROUGHLY], angle) for angle in tried])]
    tried = np.arange(best - FINE_REACH_DEG, best + FINE_REACH_DEG, FINE_STEP_DEG)
    return float(tried[np.argmax([_sharpness(x, y, angle) for angle in tried])])


def _sharpness(x: NDArray[np.float32], y: NDArray[np.float32], angle_deg: float) -> float:
    slope = np.float32(np.tan(np.radians(angle_deg)))
    return _energy(y + slope * x) + _energy(x - slope * y)


def _energy(position: NDArray[np.float32]) -> float:
    counts = np.bincount((position - position.min()).astype(np.int32)).astype(np.float64)
    return float(np.square(counts).sum())


def combined_skew(ruled: Ruled) -> Skew:
    """Combine measured bars into one skew; a sheet without any is left as it was scanned.

    Parameters
    ----------
    ruled : Ruled
    """
    straying_px = MOST_STRAYING_PENS * ruled.pen_px
    parts = [
        _agreed(bars, straying_px) if bars.count >= FEWEST_SQUARE else None for bars in (ruled.level, ruled.upright)
    ]
    out_of_square = None
    if parts[0] is not None and parts[1] is not None:
        out_of_square = (parts[0][0] - parts[1][0], float(np.hypot(parts[0][1], parts[1][1])))
    both = ruled.level.joined(ruled.upright)
    if both.count == 0:
        return Skew(0.0, UNTOLD_STD_DEG, None, 0)
    return Skew(*_agreed(both, straying_px), out_of_square, both.count)


def _agreed(bars: Bars, most_straying_px: float) -> tuple[float, float]:
    """Robust mean angle of bars, and its standard error, both in degrees.

    Starts at the densest angle and refines by Tukey's biweight. A pen that strays sideways by a fixed amount turns a
    line by that over its length: the spread is one straying, found from the bars and at most ``most_straying_px``,
    over each bar's length, and a bar weighs as its length squared.
    """
    angle, length = bars.angle_deg, bars.length_px
    weight = length**2
    kernel = np.exp(-0.5 * np.square((angle[:, None] - angle[None, :]) / MODE_WIDTH_DEG))
    centre = float(angle[np.argmax(kernel @ weight)])
    for _ in range(REFINEMENTS):
        straying_px = 1.4826 * _weighted_median(np.radians(np.abs(angle - centre)) * length, weight)
        spread = np.degrees(min(straying_px, most_straying_px) / length)
        spread = np.maximum(spread, LEAST_SPREAD_DEG)
        part = np.clip(1 - np.square((angle - centre) / (TUKEY * spread)), 0, None) ** 2 * weight
        centre = float((part * angle).sum() / part.sum())
    return centre, _standard_error(angle - centre, part, bars.std_deg)


def _standard_error(deviation: FloatArray, weight: FloatArray, std_deg: FloatArray) -> float:
    """Standard error of a weighted mean, from the scatter with one degree of freedom spent, not below the bars' own."""
    total = float(weight.sum())
    bars = total**2 / float((weight**2).sum())
    scatter = float((weight**2 * deviation**2).sum()) / total**2 * bars / max(bars - 1, FEWEST_FREE)
    within = float((weight**2 * std_deg**2).sum()) / total**2
    return math.sqrt(max(scatter, within))


def _weighted_median(values: FloatArray, weight: FloatArray) -> float:
    order = np.argsort(values)
    total = np.cumsum(weight[order])
    return float(values[order][np.searchsorted(total, total[-1] / 2)])
