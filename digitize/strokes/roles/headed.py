"""Lines with arrowheads, and which lines lie on one track."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.compiled import compiled
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece
from digitize.strokes.table import DX, DY, S0, S1, X, Y, point_on

FloatArray = NDArray[np.float64]

ON_LINE_MM = 0.3
LARGEST_SINE = math.sin(math.radians(2.5))
WIDEST_FIGURE_MM = 60.0


@dataclass(frozen=True)
class Ended:
    """A line with a head: numbers of both, and whether the head is at the line's s1."""

    piece: int
    head: int
    at_end: bool


def headed_lines(page: Page) -> list[Ended]:
    """All straight shafts with the side on which each head lies."""
    found = []
    for n, head in enumerate(page.heads):
        if head.piece < 0 or page.pieces[head.piece].track.kind != LINE:
            continue
        track = page.pieces[head.piece].track
        found.append(Ended(head.piece, n, track.dx * head.dx + track.dy * head.dy > 0))
    return found


def collinear(page: Page, first: Piece, second: Piece) -> bool:
    """Whether two lines lie on one track."""
    return _is_collinear(np.array(first.row), np.array(second.row), page.px(ON_LINE_MM))


def collinear_with(page: Page, k: int, numbers: NDArray[np.int64]) -> list[int]:
    """Those of some lines that lie on one track with line ``k``, itself left out."""
    return [int(n) for n in _collinear_with(page.table.rows, k, numbers, page.px(ON_LINE_MM))]


@compiled
def _collinear_with(rows: FloatArray, k: int, numbers: NDArray[np.int64], off: float) -> NDArray[np.int64]:
    found, count = np.empty(len(numbers), np.int64), 0
    for n in numbers:
        if n != k and _is_collinear(rows[k], rows[n], off):
            found[count] = n
            count += 1
    return found[:count]


@compiled
def _is_collinear(first: FloatArray, second: FloatArray, off: float) -> bool:
    """Whether the ends of the shorter of two rows (see `table`) lie within ``off`` px of the track of the longer."""
    is_first = first[S1] - first[S0] >= second[S1] - second[S0]
    longer, shorter = (first, second) if is_first else (second, first)
    if abs(longer[DX] * shorter[DY] - longer[DY] * shorter[DX]) > LARGEST_SINE:
        return False
    for s in (shorter[S0], shorter[S1]):
        x, y = point_on(shorter, s, 0.0)
        if abs((y - longer[Y]) * longer[DX] - (x - longer[X]) * longer[DY]) > off:
            return False
    return True


def pairs_within(points: list[tuple[float, float]], reach: float) -> list[tuple[int, int]]:
    """Numbers of all points that lie within a reach of each other, the lower first, sorted."""
    return sorted(cKDTree(points).query_pairs(reach)) if points else []
