"""Ink thinned to one pixel.

Glossary
--------
skeleton
    Ink thinned to lines one pixel wide, without corners that could be left out.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.neighbourhoods import INKED, THINNING, around
from digitize.strokes.compiled import compiled

ByteImage = NDArray[np.uint8]
IntArray = NDArray[np.int32]
LongArray = NDArray[np.int64]
ShortArray = NDArray[np.int16]

BAND_PX = 256
"""Pictures are looked through in bands of so many rows: what stands between two steps stays small, and near at hand."""
BAND_AREA_PX = 1_500_000
"""Ink is thinned in bands of so many pixels, which fit into the caches of a processor,"""
MOST_PASSES, BEYOND_PX = 6, 16
"""by so many passes, with so many rows beyond both ends: the little left then is thinned on in the whole picture."""
WORD, ALL_AROUND = 8, 255
"""Bytes of a word of the processor; what `around` says where ink is all around."""
WAITING = np.uint8(2)
"""What a pixel says, besides that it is ink, while it waits to be looked at."""


@compiled
def _thin(
    flat: ByteImage, columns: int, table: ByteImage, active: list[int], seen: list[int], most: int
) -> tuple[list[int], list[int]]:
    """Thin a padded flat picture in place: at the active places first, then only where neighbours changed.

    A pixel that waits to be looked at says so in the picture itself: on a large sheet a second one costs as much again.
    After ``most`` passes it stops. Returns the places that are active then, and how many were ``seen``, to which all
    active places are added, after each pass.
    """
    ends = [len(seen)][:0]
    while len(active) and len(ends) < most:
        seen.extend(active)
        ends.append(len(seen))
        active = active.copy()
        fresh = active[:0]
        for half in range(2):
            gone = active[:0]
            for at in active:
                if flat[at] and table[around(flat, at, columns)] >> half & 1:
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
        active = fresh
    return active, ends


@compiled
def _take_corners(flat: ByteImage, columns: int, table: ByteImage, places: list[int]) -> None:
    """Take from a thinned flat picture the corners that could be left out, at some places."""
    for at in places:
        if flat[at] and table[around(flat, at, columns)] & 4:
            flat[at] = 0


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
    rows, columns = ink.shape[0], ink.shape[1] + 2
    image = np.zeros((rows + 2, columns), np.uint8)
    height = max(BAND_AREA_PX // columns, 4 * BEYOND_PX)
    bands = [_thinned_band(ink, image, top, min(top + height, rows)) for top in range(0, rows, height)]
    seen, passes = (np.concatenate(each) for each in zip(*bands, strict=True))
    seen = seen[np.argsort(passes, kind="stable")] if len(bands) > 1 else seen
    _thin_on(image.ravel(), columns, THINNING, seen, int((passes < MOST_PASSES).sum()))
    return image, *_inked(image.ravel(), columns)


def _thinned_band(ink: NDArray[np.bool_], image: ByteImage, top: int, end: int) -> tuple[LongArray, ShortArray]:
    """Thin the ink of a band of rows by `MOST_PASSES` into a padded picture, as if all of it were thinned at once.

    A pass takes what its neighbours two pixels away allow, so that a band comes out right with `BEYOND_PX` more rows on
    both sides.

    Returns
    -------
    seen : ndarray, int64, shape (N,)
        Places in the flat picture that were looked at and still hold ink, and those to be looked at next.
    passes : ndarray, int16, shape (N,)
        In which pass each is looked at, rising from 0.
    """
    rows, columns = ink.shape[0], ink.shape[1] + 2
    first, last = max(top - BEYOND_PX, 0), min(end + BEYOND_PX, rows)
    band = np.zeros((last - first + 2, columns), np.uint8)
    band[1:-1, 1:-1] = ink[first:last]
    seen, passes = _thinned_within(band, THINNING, top - first + 1, end - first + 1)
    image[top + 1 : end + 1] = band[top - first + 1 : end - first + 1]
    return seen + first * columns, passes


@compiled
def _thinned_within(band: ByteImage, table: ByteImage, top: int, end: int) -> tuple[LongArray, ShortArray]:
    """Thin a padded picture in place by `MOST_PASSES`; returns what `_thinned_band` tells, of rows top to end - 1."""
    columns, flat = band.shape[1], band.ravel()
    seen = [0][:0]
    active, ends = _thin(flat, columns, table, _rim(flat, columns), seen, MOST_PASSES)
    seen.extend(active)
    kept, passes, count = np.empty(len(seen), np.int64), np.empty(len(seen), np.int16), 0
    number = 0
    for n in range(len(seen)):
        while number < len(ends) and n >= ends[number]:
            number += 1
        at = seen[n]
        if flat[at] and top * columns <= at < end * columns:
            kept[count], passes[count] = at, number if n < len(seen) - len(active) else MOST_PASSES
            count += 1
    return kept[:count], passes[:count]


@compiled
def _thin_on(flat: ByteImage, columns: int, table: ByteImage, seen: LongArray, first: int) -> None:
    """Thin a flat picture to the end, strictly: at the places from ``first`` on; those before were looked at."""
    places = list(seen[:first])
    _thin(flat, columns, table, list(seen[first:]), places, len(flat))
    _take_corners(flat, columns, table, places)


@compiled
def _places(flat: ByteImage) -> list[int]:
    """Places of the ink in a flat picture, in reading order; paper is passed over by words."""
    found = [0][:0]
    words = flat[: len(flat) // WORD * WORD].view(np.uint64)
    for n in range(len(words) + 1):
        if n < len(words) and words[n] == 0:
            continue
        for at in range(n * WORD, min((n + 1) * WORD, len(flat))):
            if flat[at]:
                found.append(at)
    return found


@compiled
def _rim(flat: ByteImage, columns: int) -> list[int]:
    """Places of ink beside paper in a padded flat picture: what ink surrounds is looked at once its neighbours go."""
    return [at for at in _places(flat) if around(flat, at, columns) != ALL_AROUND]


@compiled
def _inked(flat: ByteImage, columns: int) -> tuple[IntArray, IntArray]:
    """Rows and columns of the ink in a padded flat picture, in reading order."""
    found = _places(flat)
    ys, xs = np.empty(len(found), np.int32), np.empty(len(found), np.int32)
    row, begins = 0, 0
    for n in range(len(found)):
        while found[n] >= begins + columns:
            row, begins = row + 1, begins + columns
        ys[n], xs[n] = row, found[n] - begins
    return ys, xs


def pixels_of(image: ByteImage) -> tuple[IntArray, IntArray]:
    """Rows and columns of all pixels that are not 0, in reading order."""
    if not cv2.countNonZero(image):
        return np.zeros(0, np.int32), np.zeros(0, np.int32)
    xs, ys = cv2.findNonZero(image).reshape(-1, 2).T
    return np.ascontiguousarray(ys), np.ascontiguousarray(xs)


def thinned_again(image: ByteImage, ys: IntArray, xs: IntArray) -> tuple[IntArray, IntArray]:
    """Thin a skeleton in place from whose given pixels some were taken; rows and columns of those that stay."""
    ys, xs = _left(image, ys, xs)
    columns = image.shape[1]
    _thin_on(image.ravel(), columns, THINNING, ys.astype(np.int64) * columns + xs, 0)
    return _left(image, ys, xs)


def _left(image: ByteImage, ys: IntArray, xs: IntArray) -> tuple[IntArray, IntArray]:
    """Rows and columns of those of some pixels that are not 0."""
    stays = image[ys, xs] > 0
    return ys[stays], xs[stays]
