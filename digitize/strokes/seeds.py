"""Seeds of strokes: the ink thinned to one pixel, and the chains that run along it.

Glossary
--------
skeleton
    Ink thinned to lines one pixel wide, without corners that could be left out.
junction
    Skeleton pixels with three or more skeleton neighbours; touching ones count as one.
chain
    A run of skeleton pixels from one junction or free end to the next, or a closed loop.
spur
    A short chain with a free end that thinning leaves where ink is thick.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled

ByteImage = NDArray[np.uint8]
IntArray = NDArray[np.int32]
LongArray = NDArray[np.int64]

SPUR_HALF_WIDTHS = 1.3
"""A chain with a free end is a spur below this many half-widths of the ink at its junction (from trials)."""
SPUR_SLACK_PX = 1.0
"""Thinning stops half a pixel short or long at either end."""
PRUNING_ROUNDS = 2
WIDEST_HALF_PX = 48.0
"""No stroke is wider; in a blot the nearest paper is not sought further off."""
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
def _around(image: ByteImage, y: int, x: int) -> int:
    """Eight neighbours as bits, from the one above clockwise."""
    return (
        int(image[y - 1, x])
        | int(image[y - 1, x + 1]) << 1
        | int(image[y, x + 1]) << 2
        | int(image[y + 1, x + 1]) << 3
        | int(image[y + 1, x]) << 4
        | int(image[y + 1, x - 1]) << 5
        | int(image[y, x - 1]) << 6
        | int(image[y - 1, x - 1]) << 7
    )


def _thinning_table() -> ByteImage:
    """What may be taken from a neighbourhood: bit 0 and 1 in the two half-steps of thinning, bit 2 when made strict.

    Half-steps after Guo and Hall, Communications of the ACM 32 (1989) 359 (from memory), which, unlike the better known
    ones of Zhang and Suen, keep a sloping line of even width; the strict step removes a pixel whose neighbours stay
    joined without it and that is no end.
    """
    table = np.zeros(256, np.uint8)
    for code in range(256):
        p = [code >> k & 1 for k in range(8)]
        count = sum(p)
        north, north_east, east, south_east, south, south_west, west, north_west = p
        pairs = [(p[k] | p[k + 1]) for k in range(0, 8, 2)], [(p[k - 1] | p[k]) for k in range(0, 8, 2)]
        joined = sum(not p[k] and (p[(k + 1) % 8] or p[(k + 2) % 8]) for k in range(0, 8, 2))
        if joined == 1 and 2 <= min(sum(pairs[0]), sum(pairs[1])) <= 3:
            first = not ((south or south_west or not north_west) and west)
            second = not ((north or north_east or not south_east) and east)
            table[code] |= np.uint8(first) | np.uint8(second) << 1
        if count >= 2 and _groups(p) == 1 and not (p[0] and p[2] and p[4] and p[6]):
            table[code] |= 4
    return table


def _groups(p: list[int]) -> int:
    """Count the 8-connected groups in a ring of neighbours whose even places are the direct ones."""
    ring = list(p)
    for k in range(1, 8, 2):
        if p[k - 1] and p[(k + 1) % 8]:
            ring[k] = 1
    rises = sum(ring[k] == 0 and ring[(k + 1) % 8] == 1 for k in range(8))
    return rises if rises or not any(ring) else 1


@compiled
def _thin(image: ByteImage, table: ByteImage, ys: IntArray, xs: IntArray, queued: ByteImage) -> None:
    """Thin the given pixels of a padded picture in place, looking only at those whose neighbours changed.

    ``queued`` is blank, and is left so.
    """
    active = []
    for n in range(len(ys)):
        if _around(image, ys[n], xs[n]) != 255:
            active.append((ys[n], xs[n]))
    everything = active.copy()
    while len(active):
        fresh = active[:0]
        for half in range(2):
            gone = active[:0]
            for y, x in active:
                if image[y, x] and table[_around(image, y, x)] >> half & 1:
                    gone.append((y, x))
            for y, x in gone:
                image[y, x] = 0
            before = len(fresh)
            for y, x in gone:
                for dy in range(-1, 2):
                    for dx in range(-1, 2):
                        if image[y + dy, x + dx] and not queued[y + dy, x + dx]:
                            queued[y + dy, x + dx] = 1
                            fresh.append((np.int32(y + dy), np.int32(x + dx)))
            if half == 0:
                for k in range(before, len(fresh)):
                    active.append(fresh[k])
        for y, x in fresh:
            queued[y, x] = 0
        everything.extend(fresh)
        active = fresh
    for y, x in everything:
        if image[y, x] and table[_around(image, y, x)] & 4:
            image[y, x] = 0


_TABLE = _thinning_table()


def skeleton(ink: NDArray[np.bool_]) -> ByteImage:
    """Thin ink to strict one-pixel lines.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)

    Returns
    -------
    ndarray, uint8, shape (H + 2, W + 2)
        1 on the skeleton; one pixel of margin all round.

    Examples
    --------
    >>> import numpy as np
    >>> bar = np.zeros((7, 12), bool); bar[2:5, 1:11] = True
    >>> int(skeleton(bar).sum(axis=0).max())
    1
    """
    return _thinned(ink)[0]


def _thinned(ink: NDArray[np.bool_]) -> tuple[ByteImage, IntArray, IntArray]:
    """See `skeleton`; with the rows and columns of its pixels, in reading order."""
    image = np.asarray(cv2.copyMakeBorder(ink.view(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0), np.uint8)
    ys, xs = _pixels(image)
    _thin(image, _TABLE, ys, xs, np.zeros_like(image))
    return image, *_left(image, ys, xs)


def _left(image: ByteImage, ys: IntArray, xs: IntArray) -> tuple[IntArray, IntArray]:
    """Rows and columns of those of some pixels that are not 0."""
    stays = image[ys, xs] > 0
    return ys[stays], xs[stays]


@compiled
def _neighbour_count(image: ByteImage, y: int, x: int) -> int:
    count = 0
    for dy in range(-1, 2):
        for dx in range(-1, 2):
            count += image[y + dy, x + dx]
    return count - 1


def _pixels(image: ByteImage) -> tuple[IntArray, IntArray]:
    """Rows and columns of all pixels that are not 0, in reading order."""
    if not cv2.countNonZero(image):
        return np.zeros(0, np.int32), np.zeros(0, np.int32)
    xs, ys = cv2.findNonZero(image).reshape(-1, 2).T
    return np.ascontiguousarray(ys), np.ascontiguousarray(xs)


@compiled
def _find_junctions(image: ByteImage, ys: IntArray, xs: IntArray, flags: ByteImage) -> tuple[LongArray, IntArray]:
    """Mark junctions in ``flags``, which is blank; return their places in the flat picture, rising, and their numbers.

    Numbers run from 1; pixels of one junction touch and share its number.
    """
    columns = image.shape[1]
    places = [np.int64(0)]
    places.pop()
    for n in range(len(ys)):
        if _neighbour_count(image, ys[n], xs[n]) >= 3:
            flags[ys[n], xs[n]] = 1
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
                    if flags[y + dy, x + dx]:
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
def _next_pixel(image: ByteImage, taken: ByteImage, junctions: ByteImage, y: int, x: int) -> tuple[int, int]:
    """Step to a free neighbour, direct ones first; (-1, -1) where the chain ends."""
    for diagonal in range(2):
        for dy in range(-1, 2):
            for dx in range(-1, 2):
                if (dy != 0 and dx != 0) != (diagonal == 1) or (dy == 0 and dx == 0):
                    continue
                if image[y + dy, x + dx] and not taken[y + dy, x + dx] and not junctions[y + dy, x + dx]:
                    return y + dy, x + dx
    return -1, -1


@compiled
def _junction_beside(junctions: ByteImage, y: int, x: int, not_at_y: int, not_at_x: int) -> tuple[int, int]:
    """A junction pixel beside (y, x), direct ones first, other than the given one; (-1, -1) if none."""
    for diagonal in range(2):
        for dy in range(-1, 2):
            for dx in range(-1, 2):
                if (dy != 0 and dx != 0) != (diagonal == 1) or (dy == 0 and dx == 0):
                    continue
                if junctions[y + dy, x + dx] and not (y + dy == not_at_y and x + dx == not_at_x):
                    return y + dy, x + dx
    return -1, -1


@compiled
def _walk(
    image: ByteImage,
    junctions: ByteImage,
    place: LongArray,
    number: IntArray,
    pixel_y: IntArray,
    pixel_x: IntArray,
    taken: ByteImage,
) -> tuple[list[int], list[int], list[int], list[tuple[int, int]]]:
    """Walk every chain once: from junctions, then from free ends, then round closed loops. ``taken`` is blank."""
    columns = image.shape[1]
    xs, ys, first = [0], [0], [0]
    xs.pop()
    ys.pop()
    nodes = [(0, 0)]
    nodes.pop()
    for stage in range(3):
        for n in range(len(pixel_y)):
            y0, x0 = pixel_y[n], pixel_x[n]
            if taken[y0, x0] or junctions[y0, x0]:
                continue
            beside_y, beside_x = _junction_beside(junctions, y0, x0, -1, -1)
            if stage == 0 and beside_y < 0:
                continue
            if stage == 1 and _neighbour_count(image, y0, x0) > 1:
                continue
            start = 0
            if beside_y >= 0:
                start = _number_at(place, number, columns, beside_y, beside_x)
                xs.append(beside_x)
                ys.append(beside_y)
            elif stage == 2:
                start = -1
            y, x = y0, x0
            length = 0
            while y >= 0:
                taken[y, x] = 1
                xs.append(x)
                ys.append(y)
                length += 1
                last_y, last_x = y, x
                met_y, met_x = _junction_beside(junctions, y, x, beside_y, beside_x)
                met = _number_at(place, number, columns, met_y, met_x) if met_y >= 0 else 0
                if length > 1 and met and (met != start or length > 3):
                    break
                y, x = _next_pixel(image, taken, junctions, y, x)
            end = -1 if start == -1 else 0
            if start != -1:
                end_y, end_x = _junction_beside(junctions, last_y, last_x, beside_y, beside_x)
                if end_y >= 0:
                    end = _number_at(place, number, columns, end_y, end_x)
                    xs.append(end_x)
                    ys.append(end_y)
            first.append(len(xs))
            nodes.append((start, end))
    return xs, ys, first, nodes


def _trace(image: ByteImage, pixel_y: IntArray, pixel_x: IntArray) -> Chains:
    """Trace the chains of a padded skeleton, whose pixels are given, in the coordinates of the unpadded picture."""
    # blank pages that the system hands out as they are touched: filled by hand they would cost more than the walk
    junctions, taken = np.zeros_like(image), np.zeros_like(image)
    place, number = _find_junctions(image, pixel_y, pixel_x, junctions)
    xs, ys, first, nodes = _walk(image, junctions, place, number, pixel_y, pixel_x, taken)
    return Chains(
        np.array(xs, np.int32) - 1,
        np.array(ys, np.int32) - 1,
        np.array(first, np.int32),
        np.array(nodes, np.int32).reshape(-1, 2),
    )


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
    image, ys, xs = _thinned(ink)
    chains = _trace(image, ys, xs)
    for _ in range(PRUNING_ROUNDS):
        spurs = _spurs(chains, ink)
        for k in spurs:
            inner = slice(chains.first[k] + (chains.nodes[k, 0] > 0), chains.first[k + 1] - (chains.nodes[k, 1] > 0))
            image[chains.y[inner] + 1, chains.x[inner] + 1] = 0
        if not spurs:
            break
        # thinned again, so that old junctions become plain pixels
        ys, xs = _left(image, ys, xs)
        _thin(image, _TABLE, ys, xs, np.zeros_like(image))
        ys, xs = _left(image, ys, xs)
        chains = _trace(image, ys, xs)
    return chains
