"""Connected ink of a whole sheet, found by its runs: most of a sheet is paper, and costs no more than a look.

Glossary
--------
run
    Ink without a gap in one row of pixels.
component
    Runs that touch each other, also by a corner.
"""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from calibrate.sheet import InkImage

Counts = NDArray[np.int32]


@dataclass(frozen=True)
class Components:
    """The components of some ink, numbered from 1 in the order in which the rows come to them.

    Attributes
    ----------
    labels : ndarray, int32, shape (H, W)
        Number of each pixel's component; 0 is paper.
    boxes : ndarray, int32, shape (N + 1, 4)
        (left, top, width, height) of each component, by its number; row 0 is of none.
    areas : ndarray, int32, shape (N + 1,)
        Pixels of ink.
    first_columns : ndarray, int32, shape (N + 1,)
        Column of an inked pixel in the topmost row.
    """

    labels: Counts
    boxes: Counts
    areas: Counts
    first_columns: Counts


def components_of(ink: InkImage) -> Components:
    """Components of ink.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)

    Examples
    --------
    >>> ink = np.array([[1, 0, 0, 1], [0, 1, 0, 0], [0, 0, 0, 1]], bool)
    >>> found = components_of(ink)
    >>> found.labels.tolist()
    [[1, 0, 0, 2], [0, 1, 0, 0], [0, 0, 0, 3]]
    >>> found.boxes[1].tolist(), found.areas[1:].tolist()
    ([0, 0, 2, 2], [2, 1, 1])
    """
    runs = runs_of(ink)
    labels = np.zeros(ink.shape, np.int32)  # by numpy, which leaves paper untouched; compiled code would write it all
    return Components(labels, *_labelled(*runs, _joined(*runs), labels))


def touched_by(found: Components, other: InkImage) -> NDArray[np.bool_]:
    """Which components have a pixel of some other ink beside them, or at a corner (ndarray, bool, shape (N + 1,))."""
    return _touched(*runs_of(other), found.labels, len(found.areas))


def runs_of(ink: InkImage) -> tuple[Counts, Counts, Counts]:
    """Runs of ink, row by row.

    Returns
    -------
    rows : ndarray, int32, shape (H + 1,)
        Number of each row's first run, and of runs.
    starts, ends : ndarray, int32, shape (N,)
        First and past-last column of each run.
    """
    return _runs(np.ascontiguousarray(ink))


@njit(cache=True)
def _runs(ink: InkImage) -> tuple[Counts, Counts, Counts]:
    height, width = ink.shape
    rows = np.zeros(height + 1, np.int32)
    most = height * (width // 2 + 1)  # never touched beyond what there is, so that it costs no memory
    starts, ends = np.empty(most, np.int32), np.empty(most, np.int32)
    count = 0
    for y in range(height):
        rows[y] = count
        x = 0
        while x < width:
            while x < width and not ink[y, x]:
                x += 1
            if x < width:
                starts[count] = x
                while x < width and ink[y, x]:
                    x += 1
                ends[count] = x
                count += 1
    rows[height] = count
    return rows, starts[:count].copy(), ends[:count].copy()


@njit(cache=True)
def _joined(rows: Counts, starts: Counts, ends: Counts) -> Counts:
    """The first run of each run's component."""
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
    for run in range(len(parent)):
        parent[run] = parent[parent[run]]
    return parent


@njit(cache=True)
def _labelled(
    rows: Counts, starts: Counts, ends: Counts, first: Counts, labels: Counts
) -> tuple[Counts, Counts, Counts]:
    """Boxes, areas and first columns of components; each run's number is written into the label image."""
    number = np.zeros(len(first), np.int32)
    count = 1
    for run in range(len(first)):
        if first[run] == run:
            number[run] = count
            count += 1
    boxes, areas, columns = np.zeros((count, 4), np.int32), np.zeros(count, np.int32), np.zeros(count, np.int32)
    for y in range(len(rows) - 1):
        for run in range(rows[y], rows[y + 1]):
            label = number[first[run]]
            start, end = starts[run], ends[run]
            labels[y, start:end] = label
            box = boxes[label]
            if areas[label] == 0:
                box[0], box[1], box[2] = start, y, end
                columns[label] = start
            box[0] = min(box[0], start)
            box[2] = max(box[2], end)
            box[3] = y + 1 - box[1]
            areas[label] += end - start
    boxes[:, 2] -= boxes[:, 0]
    return boxes, areas, columns


@njit(cache=True)
def _touched(rows: Counts, starts: Counts, ends: Counts, labels: Counts, count: int) -> NDArray[np.bool_]:
    height, width = labels.shape
    touched = np.zeros(count, np.bool_)
    for y in range(height):
        for run in range(rows[y], rows[y + 1]):
            for v in range(max(y - 1, 0), min(y + 2, height)):
                for u in range(max(starts[run] - 1, 0), min(ends[run] + 1, width)):
                    touched[labels[v, u]] = True
    touched[0] = False
    return touched
