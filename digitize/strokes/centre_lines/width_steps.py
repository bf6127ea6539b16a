"""Places in one straight line where one pen ends and another goes on."""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.centre_lines.refine import FloatArray, Trail
from digitize.strokes.compiled import compiled

WIDTH_STEP_SHARE, WIDTH_STEP_PX = 0.25, 0.6
"""Two pens in one line differ by this share of the wider one, and by this much."""
WIDTH_PERCENTILES = np.array([15.0, 50.0, 85.0])


def cut_at_width_steps(trail: Trail, cuts: NDArray[np.int64], least_points: int) -> NDArray[np.int64]:
    """Cut straight pieces where one pen ends and another goes on in the same line.

    Parameters
    ----------
    trail : Trail
    cuts : ndarray, int64, shape (M, 3)
        As from `cut_chains`.
    least_points : int
        Points on either side of a step; a shorter change of width is a junction or an arrowhead.
    """
    return _cut_all(trail.width, cuts, least_points)


@compiled
def _cut_all(width: FloatArray, cuts: NDArray[np.int64], least_points: int) -> NDArray[np.int64]:
    """See `cut_at_width_steps`."""
    found, count = np.empty((2 * len(cuts), 3), np.int64), 0
    for a, b, kind in cuts:
        at = _width_step(width[a:b], least_points) if kind == LINE else -1
        for first, end in ((a, a + at), (a + at, b)) if at >= 0 else ((a, b), (b, b)):
            if end > first:
                found[count] = first, end, kind
                count += 1
    return found[:count]


@compiled
def _width_step(width: FloatArray, least_points: int) -> int:
    """Place where the mean width changes most, if both sides are even in themselves and clearly differ; else -1."""
    n = len(width)
    if n < 2 * least_points:
        return -1
    total = np.cumsum(width)
    best, at = -1.0, -1
    for left in range(least_points, n - least_points + 1):
        step = total[left - 1] / left - (total[-1] - total[left - 1]) / (n - left)
        if step * step * left * (n - left) > best:
            best, at = step * step * left * (n - left), left
    low1, first, high1 = np.percentile(width[:at], WIDTH_PERCENTILES)
    low2, second, high2 = np.percentile(width[at:], WIDTH_PERCENTILES)
    step, wider = abs(first - second), max(first, second)
    if step < WIDTH_STEP_SHARE * wider + WIDTH_STEP_PX or max(high1 - low1, high2 - low2) > 0.5 * step:
        return -1
    return at
