"""How wide the ink is at a pixel: twice its distance to the nearest paper."""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.thinning import IntArray
from digitize.strokes.compiled import compiled

WIDEST_HALF_PX = 48.0
"""No stroke is wider; in a blot the nearest paper is not sought further off."""


@compiled
def half_width(ink: NDArray[np.bool_], y: int, x: int) -> float:
    """Distance of an ink pixel to the nearest paper in px; `WIDEST_HALF_PX` where it is no nearer."""
    best = WIDEST_HALF_PX
    ring = 1
    while ring < best:
        for k in range(-ring, ring + 1):
            if ring * ring + k * k >= best * best:
                continue
            for dy, dx in ((k, -ring), (k, ring), (-ring, k), (ring, k)):
                row, column = y + dy, x + dx
                if 0 <= row < ink.shape[0] and 0 <= column < ink.shape[1] and not ink[row, column]:
                    best = min(best, math.sqrt(ring * ring + k * k))
        ring += 1
    return best


@compiled
def half_widths(ink: NDArray[np.bool_], ys: IntArray, xs: IntArray) -> NDArray[np.float64]:
    """Half width of the ink at some of its pixels; see `half_width`."""
    found = np.empty(len(ys))
    for n in range(len(ys)):
        found[n] = half_width(ink, ys[n], xs[n])
    return found
