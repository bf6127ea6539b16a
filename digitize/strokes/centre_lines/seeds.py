"""Seeds of strokes: the chains that run along the skeleton of the ink.

Glossary
--------
skeleton
    See `thinning`.
junction
    Skeleton pixels with three or more skeleton neighbours; touching ones count as one.
chain
    A run of skeleton pixels from one junction or free end to the next, or a closed loop.
spur
    A short chain with a free end that thinning leaves where ink is thick.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.ink_width import half_widths
from digitize.strokes.centre_lines.neighbourhoods import INKED
from digitize.strokes.centre_lines.thinning import ByteImage, IntArray, thinned, thinned_again
from digitize.strokes.compiled import compiled

LongArray = NDArray[np.int64]

SPUR_HALF_WIDTHS = 1.3
"""A chain with a free end is a spur below this many half-widths of the ink at its junction (from trials)."""
SPUR_SLACK_PX = 1.0
"""Thinning stops half a pixel short or long at either end."""
PRUNING_ROUNDS = 2
JUNCTION, TAKEN = np.uint8(2), np.uint8(4)
"""What a pixel of the skeleton says while chains are traced: on a large sheet a second picture costs more than that."""
FREE_END = 0
CLOSED = -1


@dataclass(frozen=True)
class Chains:
    """All chains of a skeleton, one after the other.

    Attributes
    ----------
    x, y : ndarray, int32, shape (N,)
        Pixels of all chains, each chain in walking order and with its junction pixels at either end.
    first : ndarray, int32, shape (M + 1,)
        Chain ``k`` is ``x[first[k]:first[k + 1]]``.
    nodes : ndarray, int32, shape (M, 2)
        Number of the junction at its start and end; `FREE_END`, or `CLOSED` for a loop.
    """

    x: IntArray
    y: IntArray
    first: IntArray
    nodes: IntArray

    def __len__(self) -> int:
        """Count the chains."""
        return len(self.nodes)


@compiled
def _neighbour_count(image: ByteImage, y: int, x: int) -> int:
    count = 0
    for dy in range(-1, 2):
        for dx in range(-1, 2):
            count += image[y + dy, x + dx] & INKED
    return count - 1


@compiled
def _find_junctions(image: ByteImage, ys: IntArray, xs: IntArray) -> tuple[LongArray, IntArray]:
    """Mark junctions in the picture; return their places in the flat picture, rising, and their numbers.

    Numbers run from 1; pixels of one junction touch and share its number.
    """
    columns = image.shape[1]
    places = [np.int64(0)]
    places.pop()
    for n in range(len(ys)):
        if _neighbour_count(image, ys[n], xs[n]) >= 3:
            image[ys[n], xs[n]] |= JUNCTION
            places.append(np.int64(ys[n]) * columns + xs[n])
    place = np.array(places, np.int64)
    number = np.zeros(len(place), np.int32)
    count = 0
    for n in range(len(place)):
        if number[n]:
            continue
        count += 1
        number[n] = count
        stack = [n]
        while len(stack):
            y, x = divmod(place[stack.pop()], columns)
            for dy in range(-1, 2):
                for dx in range(-1, 2):
                    if image[y + dy, x + dx] & JUNCTION:
                        k = np.searchsorted(place, (y + dy) * columns + x + dx)
                        if not number[k]:
                            number[k] = count
                            stack.append(k)
    return place, number


@compiled
def _number_at(place: LongArray, number: IntArray, columns: int, y: int, x: int) -> int:
    """Number of the junction at a pixel of one."""
    return int(number[np.searchsorted(place, y * columns + x)])


@compiled
def _next_pixel(image: ByteImage, y: int, x: int) -> tuple[int, int]:
    """Step to a free neighbour, direct ones first; (-1, -1) where the chain ends."""
    for diagonal in range(2):
        for dy in range(-1, 2):
            for dx in range(-1, 2):
                if (dy != 0 and dx != 0) != (diagonal == 1) or (dy == 0 and dx == 0):
                    continue
                if image[y + dy, x + dx] == INKED:
                    return y + dy, x + dx
    return -1, -1


@compiled
def _junction_beside(image: ByteImage, y: int, x: int, not_at_y: int, not_at_x: int) -> tuple[int, int]:
    """A junction pixel beside (y, x), direct ones first, other than the given one; (-1, -1) if none."""
    for diagonal in range(2):
        for dy in range(-1, 2):
            for dx in range(-1, 2):
                if (dy != 0 and dx != 0) != (diagonal == 1) or (dy == 0 and dx == 0):
                    continue
                if image[y + dy, x + dx] & JUNCTION and not (y + dy == not_at_y and x + dx == not_at_x):
                    return y + dy, x + dx
    return -1, -1


@compiled
def _walk(
    image: ByteImage, place: LongArray, number: IntArray, pixel_y: IntArray, pixel_x: IntArray
) -> tuple[IntArray, IntArray, IntArray, IntArray]:
    """Walk every chain once: from junctions, then from free ends, then round closed loops.

    Returns what `Chains` holds, and leaves the picture without marks.
    """
    columns = image.shape[1]
    most = len(pixel_y)  # of chains, each of which has a pixel of its own and two of junctions at most
    xs, ys = np.empty(3 * most, np.int32), np.empty(3 * most, np.int32)
    first, nodes = np.zeros(most + 1, np.int32), np.empty((most, 2), np.int32)
    count, chains = 0, 0
    for stage in range(3):
        for n in range(len(pixel_y)):
            y0, x0 = pixel_y[n], pixel_x[n]
            if image[y0, x0] != INKED:
                continue
            beside_y, beside_x = _junction_beside(image, y0, x0, -1, -1)
            if stage == 0 and beside_y < 0:
                continue
            if stage == 1 and _neighbour_count(image, y0, x0) > 1:
                continue
            start = 0
            if beside_y >= 0:
                start = _number_at(place, number, columns, beside_y, beside_x)
                xs[count], ys[count] = beside_x - 1, beside_y - 1
                count += 1
            elif stage == 2:
                start = -1
            y, x = y0, x0
            length = 0
            while y >= 0:
                image[y, x] |= TAKEN
                xs[count], ys[count] = x - 1, y - 1
                count += 1
                length += 1
                last_y, last_x = y, x
                met_y, met_x = _junction_beside(image, y, x, beside_y, beside_x)
                met = _number_at(place, number, columns, met_y, met_x) if met_y >= 0 else 0
                if length > 1 and met and (met != start or length > 3):
                    break
                y, x = _next_pixel(image, y, x)
            end = -1 if start == -1 else 0
            if start != -1:
                end_y, end_x = _junction_beside(image, last_y, last_x, beside_y, beside_x)
                if end_y >= 0:
                    end = _number_at(place, number, columns, end_y, end_x)
                    xs[count], ys[count] = end_x - 1, end_y - 1
                    count += 1
            nodes[chains] = start, end
            chains += 1
            first[chains] = count
    for n in range(len(pixel_y)):
        image[pixel_y[n], pixel_x[n]] = INKED
    return xs[:count].copy(), ys[:count].copy(), first[: chains + 1].copy(), nodes[:chains].copy()


def _trace(image: ByteImage, pixel_y: IntArray, pixel_x: IntArray) -> Chains:
    """Trace the chains of a padded skeleton, whose pixels are given, in the coordinates of the unpadded picture."""
    place, number = _find_junctions(image, pixel_y, pixel_x)
    return Chains(*_walk(image, place, number, pixel_y, pixel_x))


def _spurs(chains: Chains, ink: NDArray[np.bool_]) -> list[int]:
    """Chains with one free end that are no longer than the ink at their junction is wide."""
    at_node = chains.nodes > 0
    open_ = np.flatnonzero(at_node[:, 0] != at_node[:, 1])
    at = np.where(at_node[open_, 0], chains.first[open_], chains.first[open_ + 1] - 1)
    limit = SPUR_HALF_WIDTHS * half_widths(ink, chains.y[at], chains.x[at]) + SPUR_SLACK_PX
    return [int(k) for k in open_[np.diff(chains.first)[open_] - 1 < limit]]


def trace_chains(ink: NDArray[np.bool_]) -> Chains:
    """Thin ink, cut spurs and trace the chains that are left.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
    """
    image, ys, xs = thinned(ink)
    chains = _trace(image, ys, xs)
    for _ in range(PRUNING_ROUNDS):
        spurs = _spurs(chains, ink)
        for k in spurs:
            inner = slice(chains.first[k] + (chains.nodes[k, 0] > 0), chains.first[k + 1] - (chains.nodes[k, 1] > 0))
            image[chains.y[inner] + 1, chains.x[inner] + 1] = 0
        if not spurs:
            break
        # thinned again, so that old junctions become plain pixels
        ys, xs = thinned_again(image, ys, xs)
        chains = _trace(image, ys, xs)
    return chains
