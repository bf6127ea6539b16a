"""Ink thinned to one pixel.

Glossary
--------
skeleton
    Ink thinned to lines one pixel wide, without corners that could be left out.
"""

from collections.abc import Iterable

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled

ByteImage = NDArray[np.uint8]
IntArray = NDArray[np.int32]

BAND_PX = 256
"""Pictures are looked through in bands of so many rows: what stands between two steps stays small, and near at hand."""
AT_ONCE_PX = 24_000_000
"""A larger picture outgrows the caches of a processor, and is thinned in"""
THINNED_BAND_PX, BEYOND_PX = 1024, 64
"""bands of so many rows, with so many beyond both ends at first: enough for lines 60 px wide."""
INKED, WAITING = np.uint8(1), np.uint8(2)
"""What a pixel says while ink is thinned."""


@compiled
def _around(flat: ByteImage, at: np.int64, columns: int) -> int:
    """Eight neighbours in a flat picture as bits, from the one above clockwise."""
    above, below = at - columns, at + columns
    return (
        int(flat[above] & INKED)
        | int(flat[above + 1] & INKED) << 1
        | int(flat[at + 1] & INKED) << 2
        | int(flat[below + 1] & INKED) << 3
        | int(flat[below] & INKED) << 4
        | int(flat[below - 1] & INKED) << 5
        | int(flat[at - 1] & INKED) << 6
        | int(flat[above - 1] & INKED) << 7
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
def _thin(image: ByteImage, table: ByteImage, ys: IntArray, xs: IntArray, strictly: bool) -> int:
    """Thin a padded picture in place, looking at the given pixels first, then only at those whose neighbours changed.

    A pixel that waits to be looked at says so in the picture itself: on a large sheet a second one costs as much again.
    Returns how many passes it took.
    """
    columns, flat = image.shape[1], image.ravel()
    active = [np.int64(ys[n]) * columns + xs[n] for n in range(len(ys))]
    everything, passes = active.copy(), 0
    while len(active):
        passes += 1
        fresh = active[:0]
        for half in range(2):
            gone = active[:0]
            for at in active:
                if flat[at] and table[_around(flat, at, columns)] >> half & 1:
                    gone.append(at)
            for at in gone:
                flat[at] = 0
            before = len(fresh)
            for at in gone:
                for line in range(at - columns - 1, at + 2 * columns - 1, columns):
                    for near in range(line, line + 3):
                        if flat[near] == INKED:
                            flat[near] = INKED | WAITING
                            fresh.append(near)
            if half == 0:
                active.extend(fresh[before:])
        for at in fresh:
            flat[at] &= INKED
        everything.extend(fresh)
        active = fresh
    if strictly:
        _take_corners(image, table, everything)
    return passes


@compiled
def _take_corners(image: ByteImage, table: ByteImage, places: Iterable[np.int64]) -> None:
    """Take from a thinned picture the corners that could be left out, at some places in the flat picture."""
    columns, flat = image.shape[1], image.ravel()
    for at in places:
        if flat[at] and table[_around(flat, at, columns)] & 4:
            flat[at] = 0


_TABLE = _thinning_table()


def thinned(ink: NDArray[np.bool_]) -> tuple[ByteImage, IntArray, IntArray]:
    """Thin ink to strict one-pixel lines.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)

    Returns
    -------
    image : ndarray, uint8, shape (H + 2, W + 2)
        1 on the skeleton; one pixel of margin all round.
    rows, columns : ndarray, int32, shape (N,)
        Of the skeleton's pixels in that image, in reading order.

    Examples
    --------
    >>> import numpy as np
    >>> bar = np.zeros((7, 12), bool); bar[2:5, 1:11] = True
    >>> int(thinned(bar)[0].sum(axis=0).max())
    1
    """
    image = np.asarray(cv2.copyMakeBorder(ink.view(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0), np.uint8)
    if image.size > AT_ONCE_PX:
        image = _thinned_in_bands(image)
        ys, xs = pixels_of(image)
        _take_corners(image, _TABLE, ys.astype(np.int64) * image.shape[1] + xs)
    else:
        _thin(image, _TABLE, *_rim(image), True)
    return image, *pixels_of(image)


def _thinned_in_bands(image: ByteImage) -> ByteImage:
    """A padded picture thinned band by band, but not strictly; the same as if all of it were thinned at once.

    A pass takes what its neighbours two pixels away allow, so that a band comes out right with so many rows more on
    both sides; how many passes it takes is known afterwards.
    """
    out, rows = np.zeros(image.shape, np.uint8), len(image)
    for top in range(1, rows - 1, THINNED_BAND_PX):
        end, beyond = min(top + THINNED_BAND_PX, rows - 1), BEYOND_PX
        while True:
            first, last = max(top - beyond, 0), min(end + beyond, rows)
            band = image[first:last].copy()
            band[0], band[-1] = 0, 0
            passes = _thin(band, _TABLE, *_rim(band), False)
            if 2 * (passes + 1) < beyond or last - first == rows:
                break
            beyond *= 2
        out[top:end] = band[top - first : end - first]
    return out


def _rim(image: ByteImage) -> tuple[IntArray, IntArray]:
    """Rows and columns of ink beside paper: what ink surrounds is looked at once its neighbours are gone."""
    found = []
    for top in range(1, len(image) - 1, BAND_PX):
        band = image[top - 1 : top + BAND_PX + 1]
        rim = cv2.subtract(band, cv2.erode(band, np.ones((3, 3), np.uint8)))[1:-1]
        ys, xs = pixels_of(np.asarray(rim, np.uint8))
        found.append((ys + np.int32(top), xs))
    ys, xs = np.concatenate(found, axis=1)
    return ys, xs


def _left(image: ByteImage, ys: IntArray, xs: IntArray) -> tuple[IntArray, IntArray]:
    """Rows and columns of those of some pixels that are not 0."""
    stays = image[ys, xs] > 0
    return ys[stays], xs[stays]


def pixels_of(image: ByteImage) -> tuple[IntArray, IntArray]:
    """Rows and columns of all pixels that are not 0, in reading order."""
    if not cv2.countNonZero(image):
        return np.zeros(0, np.int32), np.zeros(0, np.int32)
    xs, ys = cv2.findNonZero(image).reshape(-1, 2).T
    return np.ascontiguousarray(ys), np.ascontiguousarray(xs)


def thinned_again(image: ByteImage, ys: IntArray, xs: IntArray) -> tuple[IntArray, IntArray]:
    """Thin a skeleton in place from whose given pixels some were taken; rows and columns of those that stay."""
    ys, xs = _left(image, ys, xs)
    _thin(image, _TABLE, ys, xs, True)
    return _left(image, ys, xs)
