"""Pieces of one stroke joined again: through crossings, small dropouts and closed circles.

Longest first, a piece grows at both ends by the nearest piece that lies on its track, is as wide, and is parted from it
only by ink or by a gap too small to be meant.
"""

from dataclasses import replace

import numpy as np

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.joining.board import Bench, Board, board_of, candidates
from digitize.strokes.joining.inked import STEP_PX, inked_along, inked_beside
from digitize.strokes.pieces import NONE, Piece, Span, piece_on, track_of, unwrap
from digitize.strokes.runs import Run
from digitize.strokes.tracks import Track
from digitize.strokes.widths import Pens

CLOSE_GAP_MM = 0.8
"""Widest gap without ink that is taken for a dropout, and only between pieces `GAP_TO_LENGTH` as long."""
GAP_TO_LENGTH = 0.08
TINY_GAP_MM = 0.2
LEAST_PARTED_MM = 3.0
"""A stroke in line with another across paper, as an extension line with an edge, is no shorter; crumbs are."""
PAPER_MM = 0.35
"""The ink of a dash ends within half a width of its trail's end; so far beyond that, the paper of a gap shows."""
INKED_SHARE = 0.85
LONGEST_INKED_GAP_MM, INKED_GAP_TO_LENGTH, WIDEST_INKED_GAP_MM = 6.0, 0.15, 20.0
"""Where two strokes run into one another at a slender angle, the trail follows neither for some mm."""
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
    samples = max(4, round((reach - pens.thick) / STEP_PX))  # in each quarter one at least
    s = np.linspace(s0 + 0.5 * pens.thick, s1 - 0.5 * pens.thick, samples)
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
    fitted = _common_track(bench, piece, other, spans)
    if fitted is None:
        return None
    track, rms = _headed(fitted[0], piece.track), fitted[1]
    is_short = piece.length + other.length < bench.px(SHORT_UNION_MM)
    if rms > UNION_SLACK * (bench.hand_px if is_short else bench.rms_px):
        return None
    first, second = (piece, other) if ahead else (other, piece)
    runs = _heading_alike(track, first) + _heading_alike(track, second)
    return piece_on(bench.trail, track, rms, spans, runs, len(first.runs) - 1 if fuse else NONE)


def _common_track(bench: Bench, piece: Piece, other: Piece, spans: tuple[Span, ...]) -> tuple[Track, float] | None:
    """The track of two pieces: of two straight ones that are parts of an arc its circle, where a line fits worse."""
    fitted, length = track_of(bench.trail, spans, piece.track.kind), piece.length + other.length
    if fitted is None or piece.track.kind == ARC or length > bench.px(LONGEST_CHORD_MM):
        return fitted
    arc = track_of(bench.trail, spans, ARC)
    if arc is None or arc[1] > BENT_SHARE * fitted[1] or arc[1] > bench.rms_px:
        return fitted
    return arc if length**2 / (8 * arc[0].radius) > bench.sagitta_px else fitted


def _headed(track: Track, like: Track) -> Track:
    """Turn a line about where it runs against another one."""
    if track.kind == LINE and like.kind == LINE and track.dx * like.dx + track.dy * like.dy < 0:
        return replace(track, dx=-track.dx, dy=-track.dy)
    return track


def _heading_alike(track: Track, piece: Piece) -> tuple[Run, ...]:
    """Runs of a piece in the order in which they lie on another track."""
    if len(piece.runs) == 1 or track.kind == piece.track.kind == ARC:
        return piece.runs
    step = track.s_of(*piece.runs[-1][2]) - track.s_of(*piece.runs[0][0])
    if track.kind == ARC:
        step = (step + 0.5 * track.period) % track.period - 0.5 * track.period
    return piece.runs if step >= 0 else tuple(reversed(piece.runs))


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
        parted: set[bool] = set()
        for gap, k, ahead in candidates(board, piece, bench.px(WIDEST_INKED_GAP_MM)):
            if ahead in parted:
                continue  # what lies beyond a piece on the track that paper parts from this one is parted as well
            if not bridged(bench, piece, gap, ahead, pieces[k].length):
                if pieces[k].length >= bench.px(LEAST_PARTED_MM):
                    parted.add(ahead)
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
