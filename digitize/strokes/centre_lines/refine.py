"""Sub-pixel centre and width along every chain, from the grey profile across it.

Glossary
--------
profile
    Darkness along the normal of a chain at one of its pixels.
half level
    Half of the darkest value of a profile; its two crossings are the edges of the stroke. Their mean is the centre,
    their distance the width.
trail
    All chain points after refinement, with a weight that is small where the profile can't be trusted: near a
    junction, or where the width strays from that of the chain.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.ink_width import half_widths
from digitize.strokes.centre_lines.seeds import Chains
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
def darkness_at(dark: ByteImage, x: float, y: float) -> float:
    """Bilinear darkness at a point; 0 outside the picture."""
    rows, columns = dark.shape
    column, row = int(np.floor(x)), int(np.floor(y))
    if column < 0 or row < 0 or column >= columns - 1 or row >= rows - 1:
        return 0.0
    fx, fy = x - column, y - row
    above = dark[row, column] * (1.0 - fx) + dark[row, column + 1] * fx
    below = dark[row + 1, column] * (1.0 - fx) + dark[row + 1, column + 1] * fx
    return float(above * (1.0 - fy) + below * fy)


@compiled
def _edge(dark: ByteImage, x: float, y: float, nx: float, ny: float, level: float, reach: float) -> float:
    """Distance along (nx, ny) at which the darkness falls through ``level``; -1 where it does not within reach."""
    step = 0.5
    before = darkness_at(dark, x, y)
    s = step
    while s <= reach:
        here = darkness_at(dark, x + s * nx, y + s * ny)
        if here < level:
            return float(s - step * (level - here) / max(before - here, 1e-9))
        before = here
        s += step
    return -1.0


@compiled
def profile(dark: ByteImage, x: float, y: float, nx: float, ny: float, half: float) -> tuple[float, float]:
    """Offset of the centre along the normal and width at one point; width -1 where the profile has no two edges."""
    reach = half + 1.0
    peak = 0.0
    at = 0.0
    s = -reach
    while s <= reach:
        here = darkness_at(dark, x + s * nx, y + s * ny)
        if here > peak and (abs(s) < 0.5 * reach + 0.6 or abs(s) < half):
            peak, at = here, s
        s += 0.5
    if peak < 24.0:
        return 0.0, -1.0
    level = 0.5 * peak
    if darkness_at(dark, x, y) >= level:
        at = 0.0
    ahead = _edge(dark, x + at * nx, y + at * ny, nx, ny, level, 2.0 * half + 4.0)
    behind = _edge(dark, x + at * nx, y + at * ny, -nx, -ny, level, 2.0 * half + 4.0)
    if ahead < 0.0 or behind < 0.0:
        return 0.0, -1.0
    if ahead + behind < 2.5:
        return _centre_of_darkness(dark, x, y, nx, ny, at - behind - 1.25, at + ahead + 1.25), ahead + behind
    far = _edge_by_area(dark, x, y, nx, ny, at, ahead, behind)
    near = _edge_by_area(dark, x, y, -nx, -ny, -at, behind, ahead)
    return 0.5 * (far - near), ahead + behind


@compiled
def _centre_of_darkness(dark: ByteImage, x: float, y: float, nx: float, ny: float, low: float, high: float) -> float:
    """Offset of the centre of gravity of darkness: for lines so thin that they hold no full ink to measure by."""
    total, moment = 1e-9, 0.0
    count = int((high - low) / 0.25) + 1
    for k in range(count + 1):
        s = low + k * (high - low) / count
        here = darkness_at(dark, x + s * nx, y + s * ny)
        total += here
        moment += here * s
    return moment / total


@compiled
def _edge_by_area(
    dark: ByteImage, x: float, y: float, nx: float, ny: float, at: float, ahead: float, behind: float
) -> float:
    """Distance along (nx, ny) of the edge from the darkness between the stroke's middle and the paper.

    A pixel holds the share of it that is inked. The sum of darkness from a place within the ink out to the paper, over
    full darkness, is therefore the distance to the edge wherever it lies between pixels; a half-level crossing is not.
    """
    middle = at + 0.5 * (ahead - behind)
    inside = max(middle, at + ahead - 3.0)
    outside = at + ahead + 1.5
    count = int((outside - inside) / 0.25) + 1
    step = (outside - inside) / count
    full, total = 0.0, 0.0
    for k in range(count + 1):
        here = darkness_at(dark, x + (inside + k * step) * nx, y + (inside + k * step) * ny)
        full = max(full, here)
        total += here * (0.5 if k == 0 or k == count else 1.0)
    return inside + total * step / full


@compiled
def _refine_chain(
    dark: ByteImage, x: FloatArray, y: FloatArray, half: FloatArray, loop: bool, reach: int, width: FloatArray
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
        offset, wide = profile(dark, old_x[i], old_y[i], nx, ny, half[i])
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
            weight[i] *= 0.01
        elif (stray > 0.3 * usual and stray > 0.7) or near_node or near_end:
            weight[i] *= 0.01


@compiled
def _refine_all(
    dark: ByteImage,
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
        loop = nodes[k, 0] == -1
        for _ in range(2):
            _refine_chain(dark, x[a:b], y[a:b], half[a:b], loop, reach, width[a:b])
        _weigh_chain(x[a:b], y[a:b], width[a:b], half[a:b], nodes[k, 0] > 0, nodes[k, 1] > 0, weight[a:b])


def refine_chains(dark: ByteImage, ink: NDArray[np.bool_], chains: Chains, pen_px: float) -> Trail:
    """Refine all chains on the grey picture.

    Parameters
    ----------
    dark : ndarray, uint8, shape (H, W)
        Darkness: 0 on paper, near 255 on full ink, 0 where lettering was taken out.
    ink : ndarray, bool, shape (H, W)
        That the chains run in.
    chains : Chains
    pen_px : float
        Modal width of the pen lines; directions are taken over twice that length.
    """
    x, y, half = chains.x.astype(np.float64), chains.y.astype(np.float64), half_widths(ink, chains.y, chains.x)
    width, weight = np.zeros_like(x), np.zeros_like(x)
    reach = max(3, round(1.5 * pen_px))
    _refine_all(dark, x, y, half, chains.first, chains.nodes, reach, width, weight)
    return Trail(x, y, width, weight, chains.first, chains.nodes)
