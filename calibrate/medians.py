"""Medians of a few thousand numbers, many times over."""

import numpy as np

from calibrate.sheet import FloatArray


def median(values: FloatArray) -> float:
    """Median of numbers, shape (N,), at least one and none of them NaN.

    Notes
    -----
    `numpy.median` gives the same in four times the time: it looks for NaN, and takes a mean of the two middle ones.

    Examples
    --------
    >>> median(np.array([3.0, 1.0, 2.0])), median(np.array([4.0, 1.0, 2.0, 3.0]))
    (2.0, 2.5)
    """
    half = len(values) // 2
    if len(values) % 2:
        return float(np.partition(values, half)[half])
    parted = np.partition(values, (half - 1, half))
    return float(parted[half - 1] + parted[half]) / 2
