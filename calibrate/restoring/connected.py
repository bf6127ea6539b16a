"""Connected pieces of ink, found by their runs: most of a sheet is paper, and costs no more than a look.

Glossary
--------
run
    Ink without a gap in one row of pixels.
piece
    Runs that touch each other, also by a corner.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from calibrate.sheet import FloatArray, InkImage

Counts = NDArray[np.int32]
Runs = tuple[Counts, Counts, Counts]
"""Number of each row's first run, and of runs, shape (H + 1,); first and past-last column of each run, shape (N,)."""
WORD_BYTES = 8
"""Paper is looked through by so many pixels at a time."""


@dataclass(frozen=True)
class Connected:
    """Pieces, numbered from 1 in the order in which the rows come to them; 0 is the paper, which is not measured.

    Attributes
    ----------
    labels : ndarray, int32, shape (H, W)
        Number of each pixel's piece.
    stats : ndarray, int32, shape (N, 5)
        Left, top, width, height and area, in the columns of OpenCV's ``CC_STAT_...``.
    centres : ndarray, float64, shape (N, 2)
        Mean (x, y) of each piece's pixels.
    first_columns : ndarray, int32, shape (N,)
        Column of an inked pixel in the topmost row.
    """

    labels: Counts
    stats: Counts
    centres: FloatArray
    first_columns: Counts


def ink_places(ink: InkImage, most: int | None = None) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows and columns of a picture's inked pixels, evenly thinned to at most so many.

    `numpy.nonzero` gives the same in seven times the time.
    """
    place = np.flatnonzero(ink)
    thin = 1 if most is None else max(1, -(-len(place) // most))
    rows, columns = np.divmod(place[::thin], ink.shape[1])
    return rows, columns


def connected_pieces(ink: InkImage) -> Connected:
    """Find and measure the pieces of a picture's ink.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)

    Examples
    --------
    >>> found = connected_pieces(np.array([[1, 0, 0, 1], [0, 1, 0, 0], [0, 0, 0, 1]], np.bool_))
    >>> found.labels.tolist()
    [[1, 0, 0, 2], [0, 1, 0, 0], [0, 0, 0, 3]]
    >>> found.stats.tolist(), found.centres[1:].tolist()
    ([[0, 0, 0, 0, 0], [0, 0, 2, 2, 2], [3, 0, 1, 1, 1], [3, 2, 1, 1, 1]], [[0.5, 0.5], [3.0, 0.0], [3.0, 2.0]])
    """
    pieces = pieces_of(ink)
    labels = np.zeros(ink.shape, np.int32)  # by numpy, which leaves paper untouched; compiled code would write it all
    _label(*pieces.runs, pieces.number, labels)
    return Connected(labels, pieces.stats, pieces.centres, pieces.first_columns)


@dataclass(frozen=True)
class Pieces:
    """Pieces as in `Connected`, by their runs and the number of each one's piece instead of a picture of labels."""

    runs: Runs
    number: Counts
    stats: Counts
    centres: FloatArray
    first_columns: Counts

    def picture(self, label: int) -> InkImage:
        """The ink of one piece in its box (ndarray, bool, shape (height, width)).

        Examples
        --------
        >>> pieces_of(np.array([[0, 1, 0, 1], [0, 0, 1, 0], [1, 0, 0, 0]], np.bool_)).picture(1).astype(int).tolist()
        [[1, 0, 1], [0, 1, 0]]
        """
        left, top, width, height = self.stats[label, :4].tolist()
        picture = np.zeros((height, width), np.bool_)
        _paint(*self.runs, self.number, label, left, top, picture)
        return picture

    def at(self, rows: NDArray[Any], columns: NDArray[Any]) -> Counts:
        """Numbers of the pieces at some pixels, given by two arrays of shape (N,)."""
        return _numbers_at(*self.runs, self.number, rows, columns)


def pieces_of(ink: InkImage) -> Pieces:
    """Find and measure the pieces of a picture's ink, and label nothing."""
    runs = runs_of(ink)
    number, count = _numbered(*runs)
    stats, sums, columns = _measured(*runs, number, count)
    return Pieces(runs, number, stats, sums / np.maximum(stats[:, 4], 1)[:, None], columns)


def erase(ink: InkImage, pieces: Pieces, chosen: NDArray[np.bool_]) -> None:
    """Take the chosen ones of its pieces, shape (N,), off a picture, in place."""
    _erase(*pieces.runs, chosen[pieces.number], ink)


def touched(left: Pieces, ink: InkImage, kept: InkImage, among: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which pieces of the ink that was left have a pixel of ink that was taken away beside them, or at a corner.

    Parameters
    ----------
    left : Pieces
    ink, kept : ndarray, bool, shape (H, W)
        All of the ink, and what of it was left.
    among : ndarray, bool, shape (N,)
        Pieces that are looked at.

    Returns
    -------
    ndarray, bool, shape (N,)
    """
    return _touched(*left.runs, left.number, ink, kept, among)


def without(ink: InkImage, runs: Runs, gone: InkImage) -> InkImage:
    """What of some ink, all of which lies in some runs, is not of some other: ``ink & ~gone``, at no cost for paper."""
    left = np.zeros(ink.shape, np.bool_)  # by numpy, which leaves paper untouched; compiled code would write it all
    _leave(*runs, ink, gone, left)
    return left


def runs_of(ink: InkImage) -> Runs:
    """Runs of ink, row by row."""
    ink = np.ascontiguousarray(ink)
    pixels = ink.reshape(-1).view(np.uint8)
    before = -pixels.ctypes.data % WORD_BYTES  # to where words of the memory begin
    words = pixels[before : before + max(pixels.size - before, 0) // WORD_BYTES * WORD_BYTES].view(np.uint64)
    return _runs(pixels, words, before, *ink.shape)


@njit(cache=True)
def _runs(pixels: NDArray[np.uint8], words: NDArray[np.uint64], before: int, height: int, width: int) -> Runs:
    rows = np.zeros(height + 1, np.int32)
    most = height * (width // 2 + 1)  # never touched beyond what there is, so that it costs no memory
    starts, ends = np.empty(most, np.int32), np.empty(most, np.int32)
    count = 0
    for y in range(height):
        rows[y] = count
        at, end = y * width, (y + 1) * width
        while at < end:
            while at < end and not pixels[at]:
                at += 1
                if at >= before and (at - before) % WORD_BYTES == 0:
                    word = (at - before) // WORD_BYTES
                    while at + WORD_BYTES <= end and not words[word]:
                        at += WORD_BYTES
                        word += 1
            if at < end:
                starts[count] = at - y * width
                while at < end and pixels[at]:
                    at += 1
                ends[count] = at - y * width
                count += 1
    rows[height] = count
    return rows, starts[:count].copy(), ends[:count].copy()


@njit(cache=True)
def _numbered(rows: Counts, starts: Counts, ends: Counts) -> tuple[Counts, int]:
    """The number of each run's piece, and how many numbers there are, the paper's with them."""
    parent = np.arange(len(starts)).astype(np.int32)
    for y in range(1, len(rows) - 1):
        over = rows[y - 1]
        for run in range(rows[y], rows[y + 1]):
            while over < rows[y] and ends[over] < starts[run]:
                over += 1
            other = over
            while other < rows[y] and starts[other] <= ends[run]:
                one, two = run, other
                while parent[one] != one:
                    parent[one] = parent[parent[one]]
                    one = parent[one]
                while parent[two] != two:
                    parent[two] = parent[parent[two]]
                    two = parent[two]
                if one < two:
                    parent[two] = one
                else:
                    parent[one] = two
                other += 1
    number = np.zeros(len(starts), np.int32)
    count = 1
    for run in range(len(starts)):
        if parent[run] == run:
            number[run] = count
            count += 1
        else:
            number[run] = number[parent[run]]  # of an earlier run, which is numbered
    return number, count


@njit(cache=True)
def _label(rows: Counts, starts: Counts, ends: Counts, number: Counts, labels: Counts) -> None:
    for y in range(len(rows) - 1):
        for run in range(rows[y], rows[y + 1]):
            labels[y, starts[run] : ends[run]] = number[run]


@njit(cache=True)
def _erase(rows: Counts, starts: Counts, ends: Counts, chosen: NDArray[np.bool_], ink: InkImage) -> None:
    for y in range(len(rows) - 1):
        for run in range(rows[y], rows[y + 1]):
            if chosen[run]:
                ink[y, starts[run] : ends[run]] = False


@njit(cache=True)
def _measured(
    rows: Counts, starts: Counts, ends: Counts, number: Counts, count: int
) -> tuple[Counts, FloatArray, Counts]:
    """Stats of pieces, sums of their pixels' x and y, first columns."""
    stats, sums, columns = np.zeros((count, 5), np.int32), np.zeros((count, 2)), np.zeros(count, np.int32)
    for y in range(len(rows) - 1):
        for run in range(rows[y], rows[y + 1]):
            label, start, end = number[run], starts[run], ends[run]
            stat = stats[label]
            if stat[4] == 0:
                stat[0], stat[1], stat[2] = start, y, end
                columns[label] = start
            stat[0] = min(stat[0], start)
            stat[2] = max(stat[2], end)
            stat[3] = y + 1 - stat[1]
            stat[4] += end - start
            sums[label, 0] += (start + end - 1) / 2 * (end - start)
            sums[label, 1] += y * (end - start)
    stats[:, 2] -= stats[:, 0]
    return stats, sums, columns


@njit(cache=True)
def _touched(
    rows: Counts,
    starts: Counts,
    ends: Counts,
    number: Counts,
    ink: InkImage,
    kept: InkImage,
    among: NDArray[np.bool_],
) -> NDArray[np.bool_]:
    height, width = ink.shape
    touched = np.zeros(len(among), np.bool_)
    for y in range(height):
        for run in range(rows[y], rows[y + 1]):
            label = number[run]
            if touched[label] or not among[label]:
                continue
            for v in range(max(y - 1, 0), min(y + 2, height)):
                for u in range(max(starts[run] - 1, 0), min(ends[run] + 1, width)):
                    if ink[v, u] and not kept[v, u]:
                        touched[label] = True
    return touched


@njit(cache=True)
def _leave(rows: Counts, starts: Counts, ends: Counts, ink: InkImage, gone: InkImage, left: InkImage) -> None:
    for y in range(len(rows) - 1):
        for run in range(rows[y], rows[y + 1]):
            for x in range(starts[run], ends[run]):
                left[y, x] = ink[y, x] and not gone[y, x]


@njit(cache=True)
def _first_from(rows: Counts, ends: Counts, y: int, x: int) -> int:
    """The first run of a row that ends beyond a column."""
    low, high = rows[y], rows[y + 1]
    while low < high:
        middle = (low + high) // 2
        if ends[middle] > x:
            high = middle
        else:
            low = middle + 1
    return int(low)


@njit(cache=True)
def _paint(
    rows: Counts, starts: Counts, ends: Counts, number: Counts, label: int, left: int, top: int, picture: InkImage
) -> None:
    height, width = picture.shape
    for y in range(height):
        run = _first_from(rows, ends, top + y, left)
        while run < rows[top + y + 1] and starts[run] < left + width:
            if number[run] == label:
                picture[y, starts[run] - left : ends[run] - left] = True
            run += 1


@njit(cache=True)
def _numbers_at(
    rows: Counts, starts: Counts, ends: Counts, number: Counts, ys: NDArray[Any], xs: NDArray[Any]
) -> Counts:
    numbers = np.zeros(len(ys), np.int32)
    for n in range(len(ys)):
        run = _first_from(rows, ends, ys[n], xs[n])
        if run < rows[ys[n] + 1] and starts[run] <= xs[n]:
            numbers[n] = number[run]
    return numbers
