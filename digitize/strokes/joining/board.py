"""All pieces laid out to be joined, and which of them may carry on a piece beyond its ends.

Glossary
--------
ragged
    Of a piece so short that an arrowhead or a junction gives it its width.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.centre_lines.refine import FloatArray, Trail
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.pieces import LEAST_CENTRE_NOISE_PX, Piece
from digitize.strokes.table import (
    DX,
    DY,
    KIND,
    RADIUS,
    S0,
    S1,
    WIDTH,
    Cells,
    X,
    Y,
    cells_of,
    notes_around,
    point_on,
    rows_of,
    s_at,
    waypoints,
)
from digitize.strokes.widths import Pens, pens_of

LATERAL_MM = 0.10
"""Three points of a piece must lie this near to a track that takes it in, besides the extrapolation error."""
WIDTH_SHARE = 0.30
WIDTH_SLACK_PX = 0.8
RAGGED_MM, RAGGED_SHARE = 4.5, 0.35
"""A piece this short whose middle widths spread by this share has no width of its own."""
RAGGED_PERCENTILES = np.array([10.0, 50.0, 90.0])
RAGGED_GAP_MM = 1.0
LEAST_OF_A_PEN_MM, PEN_STEP_SHARE = 3.0, 0.6
"""A piece of this length has a pen of its own, and differs from one of the other pen by most of the step."""
SHORT_OF_ANY_KIND_PX, SHORT_OF_ANY_KIND_RADII = 3.0, 0.35
"""So short a piece, or beside an arc of so many radii, may be taken for a line or an arc by chance."""
WAY_PX = 32.0
"""What lies beyond an end is looked up in steps so long, half a cell (see `table`). Only speed hangs on it."""
CONFIDENCE = 3.0
"""Standard errors allowed to an extrapolation,"""
MOST_EXTRA_MM = 0.25
"""and no more than this."""


@dataclass(frozen=True)
class Bench:
    """What joining works on: the picture, its trail, the root mean square distance allowed to a track and the
    rise of an arc above its chord that tells it from a line, in px.

    ``hand_px`` is the distance that this sheet's own strokes keep to.
    """

    ground: Ground
    trail: Trail
    rms_px: float
    sagitta_px: float
    hand_px: float

    def px(self, length_mm: float) -> float:
        """Turn mm of paper into px."""
        return self.ground.px(length_mm)


@dataclass(frozen=True)
class Board:
    """All pieces as arrays: end and middle points, widths, lengths, kinds; which are ragged, which still free.

    ``pens`` are those that the pieces were drawn with; ``cells`` tell what lies near a place. ``limits`` are how far
    off a track a point may lie at once, and the largest extra further out; the widest gap to a ragged piece; the length
    from which a piece shows its pen, the width that parts the pens (infinite where it tells nothing), and how far apart
    two pens' widths are.
    """

    cells: Cells
    points: FloatArray
    width: FloatArray
    length: FloatArray
    kind: NDArray[np.int64]
    ragged: NDArray[np.bool_]
    free: NDArray[np.bool_]
    pens: Pens
    limits: FloatArray


def board_of(bench: Bench, pieces: list[Piece]) -> Board:
    """Lay out pieces, all of them free."""
    rows = rows_of(pieces)
    width, length = rows[:, WIDTH].copy(), rows[:, S1] - rows[:, S0]
    spans = np.array([p.spans[0] if len(p.spans) == 1 else (0, 0) for p in pieces], dtype=np.int64).reshape(-1, 2)
    pens = pens_of(width, length)
    parting = math.inf if pens.parting is None else pens.parting
    off = bench.px(LATERAL_MM), bench.px(MOST_EXTRA_MM)
    pen = bench.px(LEAST_OF_A_PEN_MM), parting, PEN_STEP_SHARE * (pens.thick - pens.thin)
    return Board(
        cells_of(rows),
        waypoints(rows),
        width,
        length,
        rows[:, KIND].astype(np.int64),
        _ragged(bench.trail.width, length <= bench.px(RAGGED_MM), spans),
        np.ones(len(pieces), bool),
        pens,
        np.array([*off, bench.px(RAGGED_GAP_MM), *pen]),
    )


@compiled
def _ragged(width: FloatArray, short: NDArray[np.bool_], spans: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which of the short pieces change so much in width that most of them is an arrowhead or a junction.

    ``spans`` are empty where a piece has several.
    """
    found = np.zeros(len(spans), np.bool_)
    for k in range(len(spans)):
        a, b = spans[k]
        if short[k] and b > a:
            low, middle, high = np.percentile(width[a:b], RAGGED_PERCENTILES)
            found[k] = high - low > RAGGED_SHARE * middle
    return found


@compiled
def _fitting(
    cells: Cells,
    points: FloatArray,
    width: FloatArray,
    length: FloatArray,
    kind: NDArray[np.int64],
    ragged: NDArray[np.bool_],
    free: NDArray[np.bool_],
    limits: FloatArray,
    row: FloatArray,
    rms: float,
    inked: float,
    longest_gap: float,
) -> list[tuple[float, int, bool]]:
    """See `candidates`; in any order. ``row`` is the piece's (see `table`)."""
    growth = (6.0, 6.0) if row[KIND] == ARC else (3.5, 0.0)
    inked = max(inked, 2.0)
    error = CONFIDENCE * max(rms, LEAST_CENTRE_NOISE_PX) * 2.0 / math.sqrt(inked)
    farthest = limits[0] + limits[1]
    ways = math.ceil(min(longest_gap, math.pi * row[RADIUS] if row[KIND] == ARC else np.inf) / WAY_PX) + 1
    found = [(0.0, 0, False)][:0]
    for n in range(2 * ways):
        s = row[S0] - 0.5 * n * WAY_PX if n % 2 == 0 else row[S1] + 0.5 * (n - 1) * WAY_PX
        for k in notes_around(cells, *point_on(row, s, 0.0), 0.5 * WAY_PX + farthest):
            if not free[k]:
                continue
            off = _off(row, points[k], farthest)
            if off > farthest or _holds(found, k):
                continue
            gap, reach, ahead = _gap(row, points[k])
            lever = max(gap + reach, 0.0) / inked
            extra = error * (1.0 + growth[0] * lever + growth[1] * lever * lever)
            if gap > longest_gap or off > limits[0] + min(extra, limits[1]):
                continue
            if _alike(row, width[k], length[k], kind[k], ragged[k] and gap <= limits[2], ragged[k], limits):
                found.append((gap, k, ahead))
    return found


@compiled
def _holds(found: list[tuple[float, int, bool]], k: int) -> bool:
    """Whether a piece is among the candidates."""
    known = False
    for _, number, _ in found:
        known |= number == k
    return known


@compiled
def _off(row: FloatArray, points: FloatArray, most: float) -> float:
    """How far the furthest of three points lies off a row's track; beyond ``most`` it is not told how far."""
    off = 0.0
    for n in range(3):
        x, y = points[n, 0] - row[X], points[n, 1] - row[Y]
        if row[KIND] == LINE:
            off = max(off, abs(y * row[DX] - x * row[DY]))
        else:
            off = max(off, abs(math.sqrt(x * x + y * y) - row[RADIUS]))
        if off > most:
            break
    return off


@compiled
def _gap(row: FloatArray, points: FloatArray) -> tuple[float, float, bool]:
    """Way along a row's track from its nearer end to three points, their extent, and whether they lie ahead.

    The way is less than 0 where they overlap, and infinite where they overlap by more than half.
    """
    middle = 0.5 * (row[S0] + row[S1])
    mid = s_at(row, points[1, 0], points[1, 1], middle)
    first, last = s_at(row, points[0, 0], points[0, 1], mid), s_at(row, points[2, 0], points[2, 1], mid)
    low, high = min(first, mid, last), max(first, mid, last)
    before, after, half = low - row[S1], row[S0] - high, 0.5 * (high - low)
    if row[KIND] == ARC:
        period = 2.0 * math.pi * row[RADIUS]
        before = before + period if before < -half else before
        after = after + period if after < -half else after
    before = before if before >= -half else np.inf
    after = after if after >= -half else np.inf
    return min(before, after), 2.0 * half, before <= after


@compiled
def _alike(
    row: FloatArray, width: float, length: float, kind: int, is_crumb: bool, ragged: bool, limits: FloatArray
) -> bool:
    """Whether a piece may be of one stroke with a row by width, pen and kind."""
    _, _, _, least, parting, apart = limits
    own, own_length = row[WIDTH], row[S1] - row[S0]
    other_pen = (width > parting) != (own > parting) and abs(width - own) > apart
    if other_pen and min(length, own_length) >= least and not ragged:
        return False
    same = abs(width - own) <= WIDTH_SHARE * max(width, own) + WIDTH_SLACK_PX or length < 1.5 * width or is_crumb
    short = SHORT_OF_ANY_KIND_RADII * row[RADIUS] if row[KIND] == ARC else SHORT_OF_ANY_KIND_PX
    return bool(same and (kind == row[KIND] or length < short))


def candidates(board: Board, piece: Piece, longest_gap: float) -> list[tuple[float, int, bool]]:
    """Return free pieces on a piece's track, nearest first: gap in px, number, and whether they lie ahead."""
    row = np.array(piece.row)
    form = board.width, board.length, board.kind, board.ragged, board.free
    return sorted(_fitting(board.cells, board.points, *form, board.limits, row, piece.rms, piece.inked, longest_gap))
