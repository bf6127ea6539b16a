"""Ink thinned to one pixel.

Glossary
--------
skeleton
    Ink thinned to lines one pixel wide, without corners that could be left out.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled

ByteImage = NDArray[np.uint8]
IntArray = NDArray[np.int32]


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
    return thinned(ink)[0]


def thinned(ink: NDArray[np.bool_]) -> tuple[ByteImage, IntArray, IntArray]:
    """See `skeleton`; with the rows and columns of its pixels, in reading order."""
    image = np.asarray(cv2.copyMakeBorder(ink.view(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0), np.uint8)
    ys, xs = _pixels(image)
    return image, *thinned_again(image, ys, xs)


def _left(image: ByteImage, ys: IntArray, xs: IntArray) -> tuple[IntArray, IntArray]:
    """Rows and columns of those of some pixels that are not 0."""
    stays = image[ys, xs] > 0
    return ys[stays], xs[stays]


def _pixels(image: ByteImage) -> tuple[IntArray, IntArray]:
    """Rows and columns of all pixels that are not 0, in reading order."""
    if not cv2.countNonZero(image):
        return np.zeros(0, np.int32), np.zeros(0, np.int32)
    xs, ys = cv2.findNonZero(image).reshape(-1, 2).T
    return np.ascontiguousarray(ys), np.ascontiguousarray(xs)


def thinned_again(image: ByteImage, ys: IntArray, xs: IntArray) -> tuple[IntArray, IntArray]:
    """Thin a skeleton in place from whose given pixels some were taken; rows and columns of those that stay."""
    ys, xs = _left(image, ys, xs)
    _thin(image, _TABLE, ys, xs, np.zeros_like(image))
    return _left(image, ys, xs)
