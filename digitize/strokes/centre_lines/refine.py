"""Sub-pixel centre and width along every chain, from the grey profile across it.

Glossary
--------
profile
    See `profiles`.
trail
    All chain points after refinement, with a weight that is small where the profile can't be trusted: near a
    junction, or where the width strays from that of the chain.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.ink_width import half_widths
from digitize.strokes.centre_lines.profiles import profile
from digitize.strokes.centre_lines.seeds import CLOSED, FREE_END, Chains
from digitize.strokes.centre_lines.thinning import ByteImage, IntArray
from digitize.strokes.compiled import compiled

FloatArray = NDArray[np.float64]

STRAY = 0.3
"""A width that differs from the chain's median by more than this share, and by `STRAY_PX`, is not trusted."""
STRAY_PX = 0.7
DOUBTFUL = 0.01
"""Weight of a doubtful point: it counts only where there is nothing better."""


@dataclass(frozen=True)
class Trail:
    """Refined points of all chains.

    Attributes
    ----------
    x, y, width : ndarray, float64, shape (N,)
        Centre and width of the stroke at each chain pixel, in working pixels.
    weight : ndarray, float64, shape (N,)
        Length of trail that a point stands for, in pixels; a hundredth of it where the point is doubtful.
    first, nodes : ndarray, int32
        As in `Chains`.
    """

    x: FloatArray
    y: FloatArray
    width: FloatArray
    weight: FloatArray
    first: IntArray
    nodes: IntArray


@compiled
def _refine_chain(
    dark: ByteImage,
    slitless: ByteImage,
    x: FloatArray,
    y: FloatArray,
    half: FloatArray,
    loop: bool,
    reach: int,
    width: FloatArray,
) -> None:
    """Move the points of one chain to the centre of their profiles, in place."""
    n = len(x)
    old_x, old_y = x.copy(), y.copy()
    for i in range(n):
        if loop:
            a, b = (i - reach) % n, (i + reach) % n
        else:
            near = min(reach, max(i, n - 1 - i))
            a, b = max(i - near, 0), min(i + near, n - 1)
        tx, ty = old_x[b] - old_x[a], old_y[b] - old_y[a]
        norm = np.sqrt(tx * tx + ty * ty)
        if norm < 1e-9:
            width[i] = -1.0
            continue
        nx, ny = -ty / norm, tx / norm
        offset, wide = profile(dark, slitless, old_x[i], old_y[i], nx, ny, half[i])
        width[i] = wide
        if wide > 0.0:
            x[i] = old_x[i] + offset * nx
            y[i] = old_y[i] + offset * ny


@compiled
def _weigh_chain(
    x: FloatArray,
    y: FloatArray,
    width: FloatArray,
    half: FloatArray,
    from_node: bool,
    to_node: bool,
    weight: FloatArray,
) -> None:
    """Weight of every point of one chain: its step length, or a hundredth of it where it is doubtful."""
    n = len(x)
    good = width[width > 0.0]
    usual = np.median(good) if len(good) else 2.0 * np.median(half)
    for i in range(n):
        a, b = max(i - 1, 0), min(i + 1, n - 1)
        step = 0.5 * np.sqrt((x[b] - x[a]) ** 2 + (y[b] - y[a]) ** 2)
        weight[i] = min(max(step, 0.5), 1.5)
        stray = abs(width[i] - usual)
        clear = 0.5 * usual + 1.0
        near_node = (from_node and i < clear) or (to_node and n - 1 - i < clear)
        near_end = i < 0.4 * usual or n - 1 - i < 0.4 * usual
        if width[i] < 0.0:
            width[i] = usual
            weight[i] *= DOUBTFUL
        elif (stray > STRAY * usual and stray > STRAY_PX) or near_node or near_end:
            weight[i] *= DOUBTFUL


@compiled
def _refine_all(
    dark: ByteImage,
    slitless: ByteImage,
    x: FloatArray,
    y: FloatArray,
    half: FloatArray,
    first: IntArray,
    nodes: IntArray,
    reach: int,
    width: FloatArray,
    weight: FloatArray,
) -> None:
    for k in range(len(first) - 1):
        a, b = first[k], first[k + 1]
        loop = nodes[k, 0] == CLOSED
        for _ in range(2):
            _refine_chain(dark, slitless, x[a:b], y[a:b], half[a:b], loop, reach, width[a:b])
        _weigh_chain(x[a:b], y[a:b], width[a:b], half[a:b], nodes[k, 0] > FREE_END, nodes[k, 1] > FREE_END, weight[a:b])


def refine_chains(dark: ByteImage, slitless: ByteImage, ink: NDArray[np.bool_], chains: Chains, pen_px: float) -> Trail:
    """Refine all chains on the grey picture.

    Parameters
    ----------
    dark : ndarray, uint8, shape (H, W)
        Darkness: 0 on paper, near 255 on full ink, 0 where lettering and slits were taken out.
    slitless : ndarray, uint8, shape (H, W)
        The same with the slits left as they are.
    ink : ndarray, bool, shape (H, W)
        That the chains run in.
    chains : Chains
    pen_px : float
        Modal width of the pen lines; directions are taken over twice that length.
    """
    x, y, half = chains.x.astype(np.float64), chains.y.astype(np.float64), half_widths(ink, chains.y, chains.x)
    width, weight = np.zeros_like(x), np.zeros_like(x)
    reach = max(3, round(1.5 * pen_px))
    _refine_all(dark, slitless, x, y, half, chains.first, chains.nodes, reach, width, weight)
    return Trail(x, y, width, weight, chains.first, chains.nodes)
