"""Pieces of one stroke joined again: through crossings, small dropouts and closed circles.

Longest first, a piece grows at both ends by the nearest piece that lies on its track, is as wide, and is parted from it
only by ink or by a gap too small to be meant.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled
from digitize.strokes.fit import ARC, LINE
from digitize.strokes.ground import Ground
from digitize.strokes.inked import STEP_PX, inked_along, inked_beside
from digitize.strokes.pieces import (
    LEAST_CENTRE_NOISE_PX,
    Piece,
    Run,
    Span,
    Track,
    piece_on,
    run_extents,
    track_of,
    unwrap,
    with_runs,
)
from digitize.strokes.refine import FloatArray, Trail
from digitize.strokes.table import KIND, S0, S1, WIDTH, Cells, cells_of, noted_around, rows_of, sorted_once, waypoints
from digitize.strokes.widths import Pens, pens_of

LATERAL_MM = 0.10
"""Three points of a piece must lie this near to a track that takes it in, besides the extrapolation error."""
WIDTH_SHARE = 0.30
WIDTH_SLACK_PX = 0.8
CLOSE_GAP_MM = 0.8
"""Widest gap without ink that is taken for a dropout, and only between pieces `GAP_TO_LENGTH` as long."""
GAP_TO_LENGTH = 0.08
TINY_GAP_MM = 0.2
PAPER_MM = 0.35
"""The ink of a dash ends within half a width of its trail's end; so far beyond that, the paper of a gap shows."""
INKED_SHARE = 0.85
LONGEST_INKED_GAP_MM, INKED_GAP_TO_LENGTH, WIDEST_INKED_GAP_MM = 6.0, 0.15, 20.0
"""Where two strokes run into one another at a slender angle, the trail follows neither for some mm."""
RAGGED_MM, RAGGED_SHARE = 4.5, 0.35
"""A piece this short whose middle widths spread by this share has no width of its own."""
RAGGED_PERCENTILES = np.array([10.0, 50.0, 90.0])
RAGGED_GAP_MM = 1.0
LEAST_OF_A_PEN_MM, PEN_STEP_SHARE = 3.0, 0.6
"""A piece of this length has a pen of its own, and differs from one of the other pen by most of the step."""
THICK_RUN_WIDTHS, THICK_RIM_PX = 1.5, 0.8
"""Ink over so many thick pens' widths of a gap, out to where that pen's edge blurs, is a stroke along the track."""
BENT_SHARE = 0.4
"""Two straight pieces are an arc if a circle passes them with at most this share of the line's error."""
LONGEST_CHORD_MM = 60.0
LEAST_DRAWN_SHARE = 0.7
"""Ink may close a circle of which so much has been traced; round the tip of a small tooth it would close any bow."""
UNION_SLACK = 1.5
SHORT_UNION_MM = 25.0
"""Over so short a way a stroke keeps to its hand; a longer one may follow the paper's own distortion."""
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


def bridged(bench: Bench, piece: Piece, gap: float, ahead: bool, other_length: float) -> bool:
    """Whether a gap is small enough or inked enough to belong to the stroke."""
    shorter = min(piece.length, other_length)
    if gap <= bench.px(TINY_GAP_MM) or gap <= min(bench.px(CLOSE_GAP_MM), GAP_TO_LENGTH * shorter):
        return True
    if gap > longest_inked_gap(bench, piece.length + other_length):
        return False
    s0, s1 = (piece.s1, piece.s1 + gap) if ahead else (piece.s0 - gap, piece.s0)
    inked = inked_along(bench.ground, piece.track, s0, s1)
    # Paper at both ends of a gap parts a whole dash from its neighbours: that is a pattern, no dropout.
    near = round((0.5 * piece.width + bench.px(PAPER_MM)) / STEP_PX)
    return bool(inked.mean() >= INKED_SHARE and (inked[:near].all() or inked[-near:].all()))


def along_a_thick_one(bench: Bench, pens: Pens, piece: Piece, reach: float, ahead: bool) -> bool:
    """Whether a thin line would run on for ``reach`` px along a thick one in its track, as extension lines meet edges.

    A stroke that only crosses is short, and an arrowhead is too slim in the quarter at its tip.
    """
    if pens.parting is None or pens.is_thick(piece.width) or reach < THICK_RUN_WIDTHS * pens.thick:
        return False
    s0, s1 = (piece.s1, piece.s1 + reach) if ahead else (piece.s0 - reach, piece.s0)
    s = np.arange(s0 + 0.5 * pens.thick, s1 - 0.5 * pens.thick, STEP_PX)
    rim = np.array([0.5 * pens.thick - THICK_RIM_PX])
    track = piece.track
    beside = inked_beside(bench.ground, track, s, rim) & inked_beside(bench.ground, track, s, -rim)
    return min(float(quarter.mean()) for quarter in np.array_split(beside, 4)) >= INKED_SHARE


def longest_inked_gap(bench: Bench, length: float) -> float:
    """Widest inked gap between pieces of a length together: long ones are known to be one stroke over a wider gap."""
    return bench.px(max(LONGEST_INKED_GAP_MM, min(INKED_GAP_TO_LENGTH * length / bench.px(1.0), WIDEST_INKED_GAP_MM)))


def union(bench: Bench, piece: Piece, other: Piece, ahead: bool, fuse: bool) -> Piece | None:
    """Join two pieces on a common track, fitted anew; None where no track passes both within tolerance."""
    spans = piece.spans + other.spans
    fitted = _bent(bench, piece, other, spans) or track_of(bench.trail, spans, piece.track.kind)
    if fitted is None:
        return None
    track, rms = _headed(fitted[0], piece.track), fitted[1]
    is_short = piece.length + other.length < bench.px(SHORT_UNION_MM)
    if rms > UNION_SLACK * (bench.hand_px if is_short else bench.rms_px):
        return None
    first, second = (piece, other) if ahead else (other, piece)
    runs = _heading_alike(track, first) + _heading_alike(track, second)
    joined = piece_on(bench.trail, track, rms, spans, runs)
    return _fused(joined, len(first.runs) - 1) if fuse else joined


def _bent(bench: Bench, piece: Piece, other: Piece, spans: tuple[Span, ...]) -> tuple[Track, float] | None:
    """The circle through two straight pieces that are parts of an arc; None where a line does."""
    length = piece.length + other.length
    if piece.track.kind == ARC or length > bench.px(LONGEST_CHORD_MM):
        return None
    line, arc = track_of(bench.trail, spans, LINE), track_of(bench.trail, spans, ARC)
    if line is None or arc is None or arc[1] > BENT_SHARE * line[1] or arc[1] > bench.rms_px:
        return None
    return arc if length**2 / (8 * arc[0].radius) > bench.sagitta_px else None


def _headed(track: Track, like: Track) -> Track:
    """Turn a line about where it runs against another one."""
    if track.kind == LINE and like.kind == LINE and track.dx * like.dx + track.dy * like.dy < 0:
        return replace(track, dx=-track.dx, dy=-track.dy)
    return track


def _heading_alike(track: Track, piece: Piece) -> tuple[Run, ...]:
    """Runs of a piece in the order in which they lie on another track."""
    if track.kind == piece.track.kind == ARC:
        return piece.runs
    step = track.s_of(*piece.runs[-1][2]) - track.s_of(*piece.runs[0][0])
    if track.kind == ARC:
        step = (step + 0.5 * track.period) % track.period - 0.5 * track.period
    return piece.runs if step >= 0 else tuple(reversed(piece.runs))


def _fused(piece: Piece, k: int) -> Piece:
    """Make one run of runs k and k + 1."""
    (a, first_end), (_, second_end) = run_extents(piece.track, piece.runs)[k : k + 2]
    b = min(max(first_end, second_end), a + piece.track.period - 1e-6)
    run = piece.track.point(a), piece.track.point(0.5 * (a + b)), piece.track.point(b)
    return with_runs(piece, (*piece.runs[:k], run, *piece.runs[k + 2 :]))


def join_pieces(bench: Bench, pieces: list[Piece]) -> list[Piece]:
    """Join the pieces of solid strokes; arcs first take in the short straight pieces that lie on them.

    Returns
    -------
    list of Piece
        In order of falling length.
    """
    board = board_of(bench, pieces)
    order = sorted(range(len(pieces)), key=lambda k: (-pieces[k].length, pieces[k].start))
    joined = []
    for k in order:
        if not board.free[k]:
            continue
        board.free[k] = False
        joined.append(closed_up(bench, _grown(bench, board, pieces, pieces[k])))
    return joined


def _grown(bench: Bench, board: Board, pieces: list[Piece], piece: Piece) -> Piece:
    """Grow one piece at both ends until nothing fits any more."""
    grew = True
    while grew:
        grew = False
        for gap, k, ahead in candidates(bench, board, piece, bench.px(WIDEST_INKED_GAP_MM)):
            if not bridged(bench, piece, gap, ahead, pieces[k].length):
                continue
            into = gap + pieces[k].length if board.ragged[k] else gap
            if along_a_thick_one(bench, board.pens, piece, into, ahead):
                continue
            larger = union(bench, piece, pieces[k], ahead, fuse=True)
            if larger is not None:
                board.free[k] = False
                piece, grew = larger, True
                break
    return piece


def closed_up(bench: Bench, piece: Piece) -> Piece:
    """Make a full circle of an arc whose ends meet, or are parted by ink only."""
    if piece.track.kind != ARC or piece.length < LEAST_DRAWN_SHARE * piece.track.period:
        return piece
    gap = piece.track.period - piece.length
    if gap > bench.px(TINY_GAP_MM) + 1.0 and not bridged(bench, piece, gap, True, piece.length):
        return piece
    start = unwrap(piece.s0, 0.0, piece.track.period)
    return Piece(
        piece.track, start, start + piece.track.period, piece.width, piece.rms, piece.spans, piece.runs, piece.dash
    )
