"""Corners within a chain: their ink is rounded, so that the middle of it leaves the strokes that meet there.

On the inner side of a corner the edge of one stroke gives way to that of the other half a width, times the tangent of
half the turn, before their centre lines meet. Centres so near to a corner are drawn inwards.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.refine import DOUBTFUL, FloatArray, Trail
from digitize.strokes.compiled import compiled

LEAST_TURN_DEG = 15.0
"""Less of a turn draws no centre further in than their noise."""
HEADING_POINTS = 6
"""The heading of a stroke is taken over so many points beyond the rounded ones."""
BLUR_PX = 1.0
MOST_SHARE = 0.3
"""A short stroke keeps most of its points: those near a corner are better than none."""


def with_doubtful_corners(trail: Trail, cuts: NDArray[np.int64]) -> Trail:
    """Doubt the points beside the corners of a trail.

    Parameters
    ----------
    trail : Trail
    cuts : ndarray, int64, shape (M, 3)
        As from `fit.cut_chains`: a corner is where two pieces of one chain meet at an angle.
    """
    weight = trail.weight.copy()
    _doubt_corners(trail.x, trail.y, trail.width, weight, cuts)
    return replace(trail, weight=weight)


@compiled
def _doubt_corners(
    x: FloatArray, y: FloatArray, width: FloatArray, weight: FloatArray, cuts: NDArray[np.int64]
) -> None:
    for k in range(len(cuts) - 1):
        start, at, end = cuts[k, 0], cuts[k, 1], cuts[k + 1, 1]
        if cuts[k + 1, 0] != at:
            continue
        wide = np.median(width[max(start, at - 12) : min(at + 12, end)])
        turn = _turn_at(x, y, start, at, end, int(0.5 * wide))
        if turn < np.radians(LEAST_TURN_DEG):
            continue
        reach = 0.5 * wide * np.tan(0.5 * min(turn, 0.5 * np.pi)) + BLUR_PX
        for side, length in ((-1, at - start), (1, end - at)):
            most = MOST_SHARE * length
            n = at - 1 if side < 0 else at
            for _ in range(int(min(reach, most))):
                weight[n] = min(weight[n], DOUBTFUL)
                n += side


@compiled
def _turn_at(x: FloatArray, y: FloatArray, start: int, at: int, end: int, clear: int) -> float:
    """Turn from the piece before a cut to the one behind it, in radians, from points ``clear`` of the corner."""
    a1 = max(at - 1 - clear, start + 1)
    a0 = max(a1 - HEADING_POINTS, start)
    b0 = min(at + clear, end - 2)
    b1 = min(b0 + HEADING_POINTS, end - 1)
    ux, uy, vx, vy = x[a1] - x[a0], y[a1] - y[a0], x[b1] - x[b0], y[b1] - y[b0]
    return float(abs(np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy)))
