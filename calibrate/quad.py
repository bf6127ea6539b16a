"""Four-cornered figures: how nearly parallel their opposite sides are."""

import numpy as np

from calibrate.sheet import FloatArray

LEAST_CONVERGENCE_DEG = 0.5
"""Edges of paper are cut and found to better than this."""


def convergence_deg(quad: FloatArray) -> float:
    """Largest angle between opposite sides of a four-cornered figure, shape (4, 2), in degrees.

    >>> round(convergence_deg(np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 101.0], [0.0, 100.0]])), 2)
    0.57
    """
    sides = np.roll(quad, -1, axis=0) - quad
    angle = np.degrees(np.arctan2(sides[:, 1], sides[:, 0]))
    opposite = np.abs((angle[:2] - angle[2:]) % 180.0)
    return float(np.minimum(opposite, 180.0 - opposite).max())


def has_parallel_sides(quad: FloatArray) -> bool:
    """Tell whether opposite sides of a sheet's corners, shape (4, 2), are as parallel as those of one that is flat."""
    return convergence_deg(quad) < LEAST_CONVERGENCE_DEG
