"""All pieces on one table: an array to compute with, and a grid of cells to find what passes near a place.

Glossary
--------
row
    What a piece is, as numbers: its track, extent and width.
cell
    A square of the sheet. Each piece is noted in the cells that points along it lie in, half a cell apart; so of what
    passes near a place only the few pieces noted around it need be looked at, however many the sheet holds.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.compiled import compiled
from digitize.strokes.pieces import Piece

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

KIND, X, Y, DX, DY, RADIUS, S0, S1, WIDTH = range(9)
"""Columns of `Table.rows`."""
CELL_PX = 64.0
"""Side of a cell: about the length of an arrowhead, which most searches are for. Only speed hangs on it."""
BETWEEN_PX = 0.25 * CELL_PX
"""No point of a piece is further than this from one of those by which it was noted."""


Cells = tuple[IntArray, IntArray, float, float, int, int, float]
"""``first, number, left, top, columns, lines, widest``: the pieces of cell ``n`` are ``number[first[n]:first[n + 1]]``,
cells go line by line from (left, top), ``widest`` is the greatest width of a piece. (Plain, since a named tuple costs
8 us more at each call of a compiled function.)"""


class Table:
    """All pieces as the rows of one array, to find quickly which ones pass near a point."""

    def __init__(self, pieces: list[Piece]) -> None:
        """Lay out the pieces."""
        self.pieces = pieces
        self.rows = rows_of(pieces)
        self.kind, self.x, self.y, self.dx, self.dy, self.radius, self.s0, self.s1, self.width = self.rows.T
        self.cells = cells_of(self.rows)

    def near(self, x: float, y: float, reach: float, share: float = 0.0, least: float = 0.0) -> IntArray:
        """Numbers of the pieces that pass within reach of a point, rising.

        That is ``reach`` px and a ``share`` of the piece's own width, but not less than ``least``.
        """
        found = np.empty(len(self.rows), np.int64)
        return found[: _near_into(found, self.rows, self.cells, x, y, reach, share, least)]

    def along(self, piece: Piece, reach: float) -> list[int]:
        """Numbers of all pieces that may pass within ``reach`` px of a piece, and of some others; rising."""
        return [int(k) for k in noted_along(rows_of([piece]), self.cells, 0, reach)]


def rows_of(pieces: list[Piece]) -> FloatArray:
    """Lay out pieces as rows, shape (N, 9)."""
    return np.array([p.row for p in pieces], dtype=np.float64).reshape(-1, 9)


@compiled
def point_on(row: FloatArray, s: float, offset: float) -> tuple[float, float]:
    """Point of a row's track at ``s``, ``offset`` px to the side (outwards on a circle); see `Track.at`."""
    if row[KIND] == LINE:
        return row[X] + s * row[DX] - offset * row[DY], row[Y] + s * row[DY] + offset * row[DX]
    angle, distance = s / row[RADIUS], row[RADIUS] + offset
    return row[X] + distance * math.cos(angle), row[Y] + distance * math.sin(angle)


@compiled
def waypoints(rows: FloatArray) -> FloatArray:
    """Start, middle and end of every piece, shape (N, 3, 2)."""
    found = np.empty((len(rows), 3, 2))
    for k in range(len(rows)):
        for n, s in enumerate((rows[k, S0], 0.5 * (rows[k, S0] + rows[k, S1]), rows[k, S1])):
            found[k, n, 0], found[k, n, 1] = point_on(rows[k], s, 0.0)
    return found


@compiled
def heading_on(row: FloatArray, s: float) -> tuple[float, float]:
    """Unit direction of growing s at ``s`` on a row's track; see `Track.heading`."""
    if row[KIND] == LINE:
        return row[DX], row[DY]
    return -math.sin(s / row[RADIUS]), math.cos(s / row[RADIUS])


@compiled
def s_at(row: FloatArray, x: float, y: float, near: float) -> float:
    """``s`` of the point of a row's track that is nearest to (x, y); on a circle the turn nearest to ``near``."""
    px, py = x - row[X], y - row[Y]
    if row[KIND] == LINE:
        return float(px * row[DX] + py * row[DY])
    period = 2.0 * math.pi * row[RADIUS]
    s = math.atan2(py, px) * row[RADIUS]
    return float(near + (s - near + 0.5 * period) % period - 0.5 * period)


@compiled
def _notes_on(row: FloatArray) -> tuple[int, float]:
    """How many points a piece is noted by, and how far apart they are."""
    count = int((row[S1] - row[S0]) / (2.0 * BETWEEN_PX)) + 2
    return count, (row[S1] - row[S0]) / (count - 1)


@compiled
def cells_of(rows: FloatArray) -> Cells:
    """Note the pieces in their cells."""
    low_x, low_y, high_x, high_y = np.inf, np.inf, -np.inf, -np.inf
    for row in rows:
        count, step = _notes_on(row)
        for n in range(count):
            x, y = point_on(row, row[S0] + n * step, 0.0)
            low_x, low_y, high_x, high_y = min(low_x, x), min(low_y, y), max(high_x, x), max(high_y, y)
    if len(rows) == 0:
        return np.zeros(2, np.int64), np.zeros(0, np.int64), 0.0, 0.0, 1, 1, 0.0
    columns, lines = int((high_x - low_x) / CELL_PX) + 1, int((high_y - low_y) / CELL_PX) + 1
    first, number = np.zeros(columns * lines + 1, np.int64), np.zeros(0, np.int64)
    for filling in range(2):
        for k in range(len(rows)):
            count, step = _notes_on(rows[k])
            before = -1
            for n in range(count):
                x, y = point_on(rows[k], rows[k, S0] + n * step, 0.0)
                cell = int((y - low_y) / CELL_PX) * columns + int((x - low_x) / CELL_PX)
                if cell != before and filling:
                    first[cell] -= 1
                    number[first[cell]] = k
                elif cell != before:
                    first[cell] += 1
                before = cell
        if not filling:
            first = np.cumsum(first)
            number = np.empty(first[-1], np.int64)
    return first, number, low_x, low_y, columns, lines, rows[:, WIDTH].max()


@compiled
def noted_around(cells: Cells, x: float, y: float, reach: float) -> IntArray:
    """Numbers of all pieces that may pass within ``reach`` of a point, and of some others; rising, each once."""
    return sorted_once(notes_around(cells, x, y, reach))


@compiled
def notes_around(cells: Cells, x: float, y: float, reach: float) -> IntArray:
    """See `noted_around`; in any order, and some more than once."""
    first, number, left, top, columns, lines, _ = cells
    far = reach + BETWEEN_PX
    c0 = max(math.floor((x - far - left) / CELL_PX), 0)
    c1 = min(math.floor((x + far - left) / CELL_PX), columns - 1)
    l0 = max(math.floor((y - far - top) / CELL_PX), 0)
    l1 = min(math.floor((y + far - top) / CELL_PX), lines - 1)
    count = 0
    for line in range(l0, l1 + 1 if c0 <= c1 else l0):
        count += first[line * columns + c1 + 1] - first[line * columns + c0]
    found, taken = np.empty(count, np.int64), 0
    for line in range(l0, l1 + 1 if c0 <= c1 else l0):
        for n in range(first[line * columns + c0], first[line * columns + c1 + 1]):
            found[taken] = number[n]
            taken += 1
    return found[:taken]


@compiled
def sorted_once(numbers: IntArray) -> IntArray:
    """Sort numbers in place and keep each once."""
    numbers.sort()
    taken = 0
    for n in range(len(numbers)):
        if n == 0 or numbers[n] != numbers[n - 1]:
            numbers[taken] = numbers[n]
            taken += 1
    return numbers[:taken]


@compiled
def noted_along(rows: FloatArray, cells: Cells, k: int, reach: float) -> IntArray:
    """Numbers of all pieces that may pass within ``reach`` of piece ``k``, and of some others; rising, each once."""
    count, step = _notes_on(rows[k])
    found = []
    for n in range(count):
        x, y = point_on(rows[k], rows[k, S0] + n * step, 0.0)
        for number in noted_around(cells, x, y, reach + BETWEEN_PX):
            found.append(number)
    return sorted_once(np.array(found, np.int64))


@compiled
def distance_to(row: FloatArray, x: float, y: float, most: float) -> float:
    """Distance of a point from a piece; infinite for an arc whose circle is further off than ``most``."""
    px, py = x - row[X], y - row[Y]
    if row[KIND] == LINE:
        along = px * row[DX] + py * row[DY]
        return float(math.hypot(py * row[DX] - px * row[DY], max(row[S0] - along, along - row[S1], 0.0)))
    off = abs(math.hypot(px, py) - row[RADIUS])
    if off > most:
        return np.inf
    past = (math.atan2(py, px) * row[RADIUS] - row[S0]) % (2.0 * math.pi * row[RADIUS]) - (row[S1] - row[S0])
    if past <= 0.0:
        return float(off)
    (ax, ay), (bx, by) = point_on(row, row[S0], 0.0), point_on(row, row[S1], 0.0)
    return float(min(math.hypot(x - ax, y - ay), math.hypot(x - bx, y - by)))


@compiled
def near_rows(rows: FloatArray, cells: Cells, x: float, y: float, reach: float, share: float, least: float) -> IntArray:
    """See `Table.near`."""
    widest = cells[6]
    found, count = noted_around(cells, x, y, max(reach + share * widest, least)), 0
    for k in found:
        limit = max(reach + share * rows[k, WIDTH], least)
        if distance_to(rows[k], x, y, limit) <= limit:
            found[count] = k
            count += 1
    return found[:count]


@compiled
def _near_into(
    found: IntArray, rows: FloatArray, cells: Cells, x: float, y: float, reach: float, share: float, least: float
) -> int:
    """Fill in what `near_rows` finds and return how many they are: an array that numba makes costs 4 us to hand out."""
    near = near_rows(rows, cells, x, y, reach, share, least)
    found[: len(near)] = near
    return len(near)
