"""How likely a known size is, if a prediction were true.

A written size is the prediction, rounded. A size from a part is the prediction with the error of turning, wear and
caliper. Either may be plainly wrong (a misprint, a misread figure, a slip): a small broad share keeps one wrong size
from ruling out the truth. All densities are per unit of the size, so that hypotheses compare.
"""

from math import erf, exp, log, pi, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy import special

from digitize.gears.identifying.evidence import Known, Quantity

WRONG_SHARE = {Known.WRITTEN: 0.003, Known.ON_PART: 0.02, Known.SCALED: 0.02, Known.UNSAID: 0.02}
"""How often a size is plainly wrong, by how it is known (common practice, no source)."""
WRONG_RANGE = log(100.0)
"""A wrong size lies anywhere within two decades, evenly in its logarithm."""
WRITTEN_STD = 2e-5
"""Of a written size, as a share of it, besides its rounding: arithmetic carried with five figures."""
ZEROS_DROPPED = 0.7
"""How often a written size is exact to ``FINE_PLACE`` though fewer places are written: 5 1/2, or 5.5 for 5.500."""
FINE_PLACE_MM = 0.0254
"""One thousandth of an inch: what a gear's exact size is written to when it is not a round one."""
RIVAL_SHARE = {"pressure angle": 0.25, "diametral pitch": 0.02, "module": 0.02}
"""Of sizes that come from a short list: how often a wrong one is some given other of the list."""
FAR_TAIL = 0.1
"""Share of part measurements whose error is three times the usual (worn tips, a burr)."""
BROADER = 3.0
"""The error of those, as a multiple."""

Array = NDArray[np.float64]


def listed_density(size: Quantity, matches: bool, rival_share: float) -> float:
    """Probability of a size from a short list of values: right, or wrong and by chance this very one."""
    wrong = max(WRONG_SHARE[size.known], 1 - size.probability)
    return 1 - wrong if matches else wrong * rival_share


def density(size: Quantity, predicted: float, part_std: float) -> float:
    """Density of a known size under a prediction, the share of wrong ones included.

    Parameters
    ----------
    size : Quantity
    predicted : float
        In the unit of the size.
    part_std : float
        Standard error of such a size on a part, where the size carries none of its own.
    """
    wrong = max(WRONG_SHARE[size.known], 1 - size.probability)
    return (1 - wrong) * _right(size, size.value - predicted, part_std) + wrong * broad_density(size)


def log_densities(size: Quantity, predicted: Array, std: float) -> Array:
    """Logarithms of a size's density under many predictions, its error being ``std`` besides rounding.

    Parameters
    ----------
    predicted : ndarray, shape (M,)
        In the unit of the size.
    """
    wrong = max(WRONG_SHARE[size.known], 1 - size.probability)
    scale = std * sqrt(2)
    half = max(size.place / 2, std / 10)
    off = size.value - predicted
    right = (special.erf((off + half) / scale) - special.erf((off - half) / scale)) / (4 * half)
    return np.asarray(np.log((1 - wrong) * right + wrong * broad_density(size)), dtype=np.float64)


def broad_density(size: Quantity) -> float:
    """Density of a size of which nothing is known."""
    return 1 / (WRONG_RANGE * max(abs(size.value), 1e-6))


def _right(size: Quantity, off: float, part_std: float) -> float:
    if size.std is not None:
        return _rounded(off, size.place / 2, size.std)
    if size.known is Known.WRITTEN:
        return _written(size, off)
    on_part = (1 - FAR_TAIL) * _rounded(off, 0.0, part_std) + FAR_TAIL * _rounded(off, 0.0, BROADER * part_std)
    if size.known is Known.UNSAID:
        return 0.5 * on_part + 0.5 * _written(size, off)
    return on_part


def _written(size: Quantity, off: float) -> float:
    std = WRITTEN_STD * abs(size.value) + 1e-9
    fine = min(size.place, FINE_PLACE_MM) / 2
    return ZEROS_DROPPED * _rounded(off, fine, std) + (1 - ZEROS_DROPPED) * _rounded(off, size.place / 2, std)


def _rounded(off: float, half_place: float, std: float) -> float:
    """Normal error of ``std`` on top of rounding by up to ``half_place`` either way."""
    if half_place < std / 100:
        return exp(-0.5 * (off / std) ** 2) / (std * sqrt(2 * pi))
    scale = std * sqrt(2)
    inside = erf((off + half_place) / scale) - erf((off - half_place) / scale)
    return inside / (4 * half_place)


def allowed_error(size: Quantity, part_std: float) -> float:
    """How far a size may lie from the truth before it contradicts it: its rounding and four standard errors."""
    if size.std is not None:
        return size.place / 2 + 4 * size.std
    if size.known is Known.WRITTEN:
        return size.place / 2 + 4 * WRITTEN_STD * abs(size.value)
    return size.place / 2 + 4 * part_std
