"""Thick and thin pens: where a sheet's stroke widths fall into two classes.

The parting width is Otsu's (IEEE SMC 9 (1979) 62, from memory) on widths weighted by length.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

LEAST_RATIO = 1.35
"""Thick lines are at least this much wider than thin ones (ISO 128-20: twice; old prints less)."""
LEAST_SHARE = 0.04
"""Each class must hold this share of the length drawn."""
BINS = 64


@dataclass(frozen=True)
class Pens:
    """The widths of a sheet's pens in px; ``parting`` is None where one pen drew everything."""

    thin: float
    thick: float
    parting: float | None

    def is_thick(self, width: float) -> bool:
        """Whether a width is of the thick pen; with one pen every line counts as thick."""
        return self.parting is None or width > self.parting


def pens_of(width: FloatArray, length: FloatArray) -> Pens:
    """Part stroke widths into two classes.

    Parameters
    ----------
    width, length : ndarray, shape (N,)
        Of all strokes, in px.

    Examples
    --------
    >>> import numpy as np
    >>> pens_of(np.array([2.0, 2.1, 4.0, 4.2]), np.array([100.0, 50.0, 80.0, 90.0])).parting
    3.1
    """
    if len(width) == 0 or float(length.sum()) <= 0.0:
        return Pens(0.0, 0.0, None)
    order = np.argsort(width)
    sorted_width, weight = width[order], length[order] / length.sum()
    cut = otsu_cut(sorted_width, weight)
    usual = weighted_median(sorted_width, weight)
    if cut is None:
        return Pens(usual, usual, None)
    thin = weighted_median(sorted_width[:cut], weight[:cut])
    thick = weighted_median(sorted_width[cut:], weight[cut:])
    shares = float(weight[:cut].sum()), float(weight[cut:].sum())
    if thick < LEAST_RATIO * thin or min(shares) < LEAST_SHARE:
        return Pens(usual, usual, None)
    return Pens(thin, thick, round(0.5 * (thin + thick), 6))


def otsu_cut(width: FloatArray, weight: FloatArray) -> int | None:
    """Number of the first thick width among sorted ones."""
    if len(width) < 2:
        return None
    below = np.cumsum(weight)[:-1]
    mean = np.cumsum(weight * width)
    spread = (mean[-1] * below - mean[:-1]) ** 2 / np.maximum(below * (1 - below), 1e-12)
    return int(np.argmax(spread)) + 1


def weighted_median(width: FloatArray, weight: FloatArray) -> float:
    """Width below and above which lies half of the weight; widths in rising order."""
    total = np.cumsum(weight)
    return float(width[int(np.searchsorted(total, 0.5 * total[-1]))])
