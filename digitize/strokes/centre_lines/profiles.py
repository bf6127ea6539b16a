"""Centre and width of a stroke from the darkness along its normal.

Glossary
--------
profile
    Darkness along the normal of a chain at one of its pixels.
half level
    Half of the darkest value of a profile; its two crossings are the edges of the stroke. Their mean is the centre,
    their distance the width.
slit
    See `slits`; there an edge is found though the darkness does not fall to the half level.
"""

import numpy as np

from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled

RISE = 0.15
"""Where darkness rises again by this share beyond an edge, another stroke lies close by; paper is less uneven."""


@compiled
def darkness_at(dark: ByteImage, x: float, y: float) -> float:
    """Bilinear darkness at a point; 0 outside the picture."""
    rows, columns = dark.shape
    left, top = np.floor(x), np.floor(y)
    column, row = int(left), int(top)
    if column < 0 or row < 0 or column >= columns - 1 or row >= rows - 1:
        return 0.0
    fx, fy = x - left, y - top
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
def profile(
    dark: ByteImage, slitless: ByteImage, x: float, y: float, nx: float, ny: float, half: float
) -> tuple[float, float]:
    """Offset of the centre along the normal and width at one point; width -1 where the profile has no two edges."""
    reach = half + 1.0
    near = max(0.5 * reach + 0.6, half)
    peak = 0.0
    at = 0.0
    s = -reach
    while s <= reach:
        if abs(s) < near:
            here = darkness_at(dark, x + s * nx, y + s * ny)
            if here > peak:
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
    far, beside = _edge_by_area(slitless, x, y, nx, ny, at, ahead, behind)
    back, beside_too = _edge_by_area(slitless, x, y, -nx, -ny, -at, behind, ahead)
    return 0.5 * (far - back), far + back if beside or beside_too else ahead + behind


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
) -> tuple[float, bool]:
    """Distance along (nx, ny) of the edge from the darkness between the stroke's middle and the paper.

    A pixel holds the share of it that is inked. The sum of darkness from a place within the ink out to the paper, over
    full darkness, is therefore the distance to the edge wherever it lies between pixels; a half-level crossing is not.
    Where another stroke lies close by, which the second value tells, the sum goes half way into the paper between.
    """
    middle = at + 0.5 * (ahead - behind)
    inside = max(middle, at + ahead - 3.0)
    outside = at + ahead + 1.5
    count = int((outside - inside) / 0.25) + 1
    step = (outside - inside) / count
    full, total, least, half_way, here = 0.0, 0.0, np.inf, 0.0, 0.0
    for k in range(count + 1):
        here = darkness_at(dark, x + (inside + k * step) * nx, y + (inside + k * step) * ny)
        full = max(full, here)
        total += here * (0.5 if k == 0 or k == count else 1.0)
        if here < least:
            least, half_way = here, total - 0.5 * here
    is_beside = here > least + RISE * full
    return inside + (half_way if is_beside else total) * step / full, is_beside
