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

from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.centre_lines.refine import FloatArray, Trail
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.pieces import LEAST_CENTRE_NOISE_PX, Piece
from digitize.strokes.table import KIND, S0, S1, WIDTH, Cells, cells_of, noted_around, rows_of, sorted_once, waypoints
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

    ``pens`` are those that the pieces were drawn with; ``cells`` tell what lies near a place.
    """

    cells: Cells
    points: FloatArray
    width: FloatArray
    length: FloatArray
    kind: NDArray[np.int64]
    ragged: NDArray[np.bool_]
    free: NDArray[np.bool_]
    pens: Pens


def board_of(bench: Bench, pieces: list[Piece]) -> Board:
    """Lay out pieces, all of them free."""
    rows = rows_of(pieces)
    width, length = rows[:, WIDTH].copy(), rows[:, S1] - rows[:, S0]
    return Board(
        cells_of(rows),
        waypoints(rows),
        width,
        length,
        rows[:, KIND].astype(np.int64),
        np.array([_is_ragged(bench, p) for p in pieces], dtype=bool),
        np.ones(len(pieces), bool),
        pens_of(width, length),
    )


def _is_ragged(bench: Bench, piece: Piece) -> bool:
    """Whether the width of a short piece changes so much that most of it is an arrowhead or a junction."""
    if piece.length > bench.px(RAGGED_MM) or len(piece.spans) > 1:
        return False
    low, middle, high = _width_spread(bench.trail.width[piece.spans[0][0] : piece.spans[0][1]])
    return high - low > RAGGED_SHARE * middle


@compiled
def _width_spread(width: FloatArray) -> tuple[float, float, float]:
    low, middle, high = np.percentile(width, RAGGED_PERCENTILES)
    return low, middle, high


@compiled
def _beyond(
    cells: Cells,
    points: FloatArray,
    free: NDArray[np.bool_],
    track: FloatArray,
    ends: FloatArray,
    s0: float,
    s1: float,
    longest_gap: float,
    allowance: FloatArray,
) -> tuple[NDArray[np.int64], FloatArray, NDArray[np.bool_]]:
    """Free pieces on a track beyond the ends of a piece: numbers, gaps, and whether they lie ahead.

    ``track`` is x, y, dx, dy and the radius, 0 for a line; ``ends`` are the two of the piece. ``allowance`` is how far
    off a point may lie: at once, the extra at the piece's end, how that grows with the distance over the piece's
    length and its square, the piece's length, and the largest extra.
    """
    s, farthest = np.empty(3), allowance[0] + allowance[5]
    around = [noted_around(cells, x, y, longest_gap + farthest) for x, y in ends]
    near = sorted_once(np.concatenate((around[0], around[1])))
    found, gaps, ahead = np.empty(len(near), np.int64), np.empty(len(near)), np.empty(len(near), np.bool_)
    count = 0
    for k in near:
        if not free[k]:
            continue
        off = 0.0
        for n in range(3):
            x, y = points[k, n, 0] - track[0], points[k, n, 1] - track[1]
            if track[4] == 0.0:
                s[n] = x * track[2] + y * track[3]
                off = max(off, abs(y * track[2] - x * track[3]))
            else:
                off = max(off, abs(math.sqrt(x * x + y * y) - track[4]))
            if off > farthest:
                break
        if off > farthest:
            continue
        if track[4] > 0.0:
            for n in range(3):
                s[n] = math.atan2(points[k, n, 1] - track[1], points[k, n, 0] - track[0]) * track[4]
        period = 2.0 * math.pi * track[4]
        if period > 0.0:
            middle = 0.5 * (s0 + s1)
            mid = middle + (s[1] - middle + 0.5 * period) % period - 0.5 * period
            s[:] = mid + (s - s[1] + 0.5 * period) % period - 0.5 * period
        low, high = s.min(), s.max()
        before, after, half = low - s1, s0 - high, 0.5 * (high - low)
        if before < -half and period > 0.0:
            before = low + period - s1
        if after < -half and period > 0.0:
            after = s0 - high + period
        before = before if before >= -half else np.inf
        after = after if after >= -half else np.inf
        gap = min(before, after)
        lever = max(gap + 2.0 * half, 0.0) / allowance[4]
        extra = allowance[1] * (1.0 + allowance[2] * lever + allowance[3] * lever * lever)
        if gap <= longest_gap and off <= allowance[0] + min(extra, allowance[5]):
            found[count], gaps[count], ahead[count] = k, gap, before <= after
            count += 1
    return found[:count], gaps[:count], ahead[:count]


def _offset_allowance(bench: Bench, piece: Piece) -> FloatArray:
    """How far off a piece's track a point beyond its end may lie, as `_beyond` takes it."""
    length = max(piece.inked, 2.0)
    extra = CONFIDENCE * max(piece.rms, LEAST_CENTRE_NOISE_PX) * 2.0 / math.sqrt(length)
    growth = (6.0, 6.0) if piece.track.kind == ARC else (3.5, 0.0)
    return np.array([bench.px(LATERAL_MM), extra, *growth, length, bench.px(MOST_EXTRA_MM)])


def candidates(bench: Bench, board: Board, piece: Piece, longest_gap: float) -> list[tuple[float, int, bool]]:
    """Return free pieces on a piece's track, nearest first: gap in px, number, and whether they lie ahead."""
    t = piece.track
    track = np.array([t.x, t.y, t.dx, t.dy, t.radius if t.kind == ARC else 0.0])
    allowance = _offset_allowance(bench, piece)
    ends = np.array([piece.start, piece.end])
    on_board = board.cells, board.points, board.free
    near, gap, ahead = _beyond(*on_board, track, ends, piece.s0, piece.s1, longest_gap, allowance)
    if not len(near):
        return []
    parting = (
        math.inf if board.pens.parting is None or piece.length < bench.px(LEAST_OF_A_PEN_MM) else board.pens.parting
    )
    limits = np.array([
        piece.width, bench.px(RAGGED_GAP_MM), 0.35 * t.radius if t.kind == ARC else 3.0, parting,
        PEN_STEP_SHARE * (board.pens.thick - board.pens.thin), bench.px(LEAST_OF_A_PEN_MM),
    ])  # fmt: skip
    fits = _alike(board.width, board.length, board.kind, board.ragged, near, gap, t.kind, limits)
    return sorted(zip(gap[fits].tolist(), near[fits].tolist(), ahead[fits].tolist(), strict=True))


@compiled
def _alike(
    width: FloatArray,
    length: FloatArray,
    kind: NDArray[np.int64],
    ragged: NDArray[np.bool_],
    near: NDArray[np.int64],
    gap: FloatArray,
    own_kind: int,
    limits: FloatArray,
) -> NDArray[np.bool_]:
    """Which of some pieces near a piece may be of one stroke with it by width, pen and kind.

    ``limits`` are the piece's width, the widest gap to a ragged piece, the length below which any kind will do, the
    width that parts the pens (infinite where it tells nothing), how far apart two pens' widths are, and the length
    from which a piece shows its pen.
    """
    own, ragged_gap, short, parting, apart, least = limits
    found = np.zeros(len(near), np.bool_)
    for n in range(len(near)):
        k = near[n]
        same = abs(width[k] - own) <= WIDTH_SHARE * max(width[k], own) + WIDTH_SLACK_PX
        same = same or length[k] < 1.5 * width[k] or (ragged[k] and gap[n] <= ragged_gap)
        other_pen = (width[k] > parting) != (own > parting) and abs(width[k] - own) > apart
        if other_pen and length[k] >= least and not ragged[k]:
            same = False
        found[n] = same and (kind[k] == own_kind or length[k] < short)
    return found
