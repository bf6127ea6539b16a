"""Dashes gathered to one stroke: hidden and centre lines, pitch circles, the dashed dimension lines of old books.

Glossary
--------
sequence
    Pieces one after the other on one track, parted by paper.
pattern
    What a sequence repeats; see `dash_patterns`.

A sequence is a stroke only if its gaps repeat and its dashes keep to a pattern; what does not is left as it was.
"""

from dataclasses import replace
from itertools import pairwise

import numpy as np

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.joining.board import Bench, Board, board_of, candidates
from digitize.strokes.joining.dash_ends import LEAST_ROUND_DASHES, broken_by_paper, ends_in_paper, ends_of
from digitize.strokes.joining.dash_patterns import (
    GAP_RATIO,
    GAP_SLACK_MM,
    LONGEST_SHORT_DASH_MM,
    pattern_of,
    split_sequence,
)
from digitize.strokes.joining.join import bridged, closed_up, union
from digitize.strokes.pieces import Piece, piece_on, track_of
from digitize.strokes.runs import run_extents
from digitize.strokes.table import noted_around

LONGEST_GAP_MM = 5.0
SHORTEST_SEED_MM = 1.2
ALIKE_SHARE = 0.7
STRAY_DASHES, STRAY_ROUND_DASHES = 1.4, 2.4
"""What a broken stroke takes in is so long, over its longest dash; on a circle two dashes may have run into one."""
TURN_DEG = 35.0
"""Largest turn from one straight dash of a circle to the next."""


def gather_dashes(bench: Bench, pieces: list[Piece]) -> list[Piece]:
    """Make one stroke of every dashed or chain line and circle among joined pieces.

    Returns
    -------
    list of Piece
        The strokes found, with ``dash`` set, and all pieces that belong to none.
    """
    straight = _gather(bench, pieces, LINE)
    return _absorbed(bench, _gather(bench, straight, ARC))


def _absorbed(bench: Bench, pieces: list[Piece]) -> list[Piece]:
    """Let broken strokes take in the dashes beside them that kept to no pattern."""
    board = board_of(bench, pieces)
    board.free[:] = [not p.closed for p in pieces]
    order = sorted(range(len(pieces)), key=lambda k: (-pieces[k].length, pieces[k].start))
    found = []
    for k in order:
        if board.free[k] and pieces[k].dash != "solid":
            board.free[k] = False
            found.append(_with_strays(bench, board, pieces, pieces[k]))
    return found + [p for k, p in enumerate(pieces) if board.free[k] or p.closed]


def _with_strays(bench: Bench, board: Board, pieces: list[Piece], stroke: Piece) -> Piece:
    """Grow a broken stroke by dashes no longer than its own, and by other broken strokes."""
    longest = (STRAY_DASHES if stroke.track.kind == LINE else STRAY_ROUND_DASHES) * _longest_dash(stroke)
    grew = True
    while grew:
        grew = False
        for gap, k, ahead in candidates(board, stroke, bench.px(LONGEST_GAP_MM)):
            if pieces[k].dash == "solid" and pieces[k].length > longest:
                continue
            fuse = bridged(bench, stroke, gap, ahead, pieces[k].length)
            larger = union(bench, stroke, pieces[k], ahead, fuse)
            if larger is not None and larger.track.kind == stroke.track.kind:
                board.free[k] = False
                stroke, grew = replace(larger, dash=stroke.dash), True
                break
    return closed_up_dashes(bench, _named_anew(bench, stroke))


def _longest_dash(stroke: Piece) -> float:
    return max(b - a for a, b in run_extents(stroke.track, stroke.runs))


def _named_anew(bench: Bench, stroke: Piece) -> Piece:
    """Name the pattern of a grown stroke by all its dashes, or by those of most of its ink, if they keep to one."""
    extents = run_extents(stroke.track, stroke.runs)
    gaps = [max(c - b, 0.0) for (_, b), (c, _) in pairwise(extents)]
    lengths = np.array([b - a for a, b in extents])
    if len(lengths) < 3:
        return stroke
    name = pattern_of(lengths.tolist(), gaps, bench.px(1.0))
    usual = float(np.median(lengths))
    alike = np.abs(lengths - usual) <= 0.35 * usual
    if name is None and usual <= bench.px(LONGEST_SHORT_DASH_MM) and alike.mean() >= ALIKE_SHARE:
        name = "dashed"
    return replace(stroke, dash=name or _of_most(lengths.tolist(), gaps, bench.px(1.0)) or stroke.dash)


def _of_most(lengths: list[float], gaps: list[float], px_per_mm: float) -> str | None:
    """The pattern that more than half the ink of a damaged stroke keeps to."""
    inked: dict[str, float] = {}
    for first, end, name in split_sequence(lengths, gaps, px_per_mm):
        inked[name] = inked.get(name, 0.0) + sum(lengths[first:end])
    most = max(inked, key=lambda name: inked[name], default=None)
    return most if most is not None and inked[most] > 0.5 * sum(lengths) else None


def _gather(bench: Bench, pieces: list[Piece], kind: int) -> list[Piece]:
    board = board_of(bench, pieces)
    board.free[:] = [p.dash == "solid" and not p.closed for p in pieces]
    order = sorted(np.flatnonzero(board.free).tolist(), key=lambda k: (-pieces[k].length, pieces[k].start))
    found = []
    for k in order:
        if not board.free[k]:
            continue
        for stroke, members in _strokes_from(bench, board, pieces, k, kind):
            board.free[members] = False
            found.append(stroke)
    taken = {k for k in order if not board.free[k]}
    return found + [p for k, p in enumerate(pieces) if k not in taken]


def _strokes_from(bench: Bench, board: Board, pieces: list[Piece], k: int, kind: int) -> list[tuple[Piece, list[int]]]:
    """Strokes in the sequences through piece ``k``, with the numbers of their pieces."""
    for seed, members in _seeds(bench, board, pieces, k, kind):
        grown, dashes = _collected(bench, board, pieces, seed, members)
        strokes = _by_pattern(bench, pieces, grown, dashes)
        if strokes:
            return strokes
    return []


def _seeds(bench: Bench, board: Board, pieces: list[Piece], k: int, kind: int) -> list[tuple[Piece, list[list[int]]]]:
    """Ways to begin: the piece itself, or for circles through straight dashes the piece and a neighbour."""
    if pieces[k].track.kind == kind:
        return [(pieces[k], [[k]])]
    if kind == LINE or not bench.px(SHORTEST_SEED_MM) <= pieces[k].length <= bench.px(LONGEST_SHORT_DASH_MM):
        return []
    seeds: list[tuple[Piece, list[list[int]]]] = []
    for other in _neighbours(bench, board, pieces[k], k):
        fitted = track_of(bench.trail, pieces[k].spans + pieces[other].spans, ARC)
        if fitted is None or fitted[1] > bench.rms_px or not bench.px(3.0) < fitted[0].radius < bench.px(150.0):
            continue
        lone = piece_on(bench.trail, *fitted, pieces[k].spans, pieces[k].runs)
        for gap, number, ahead in candidates(board, lone, bench.px(LONGEST_GAP_MM)):
            if number == other:
                fuse = bridged(bench, lone, gap, ahead, pieces[other].length)
                both = union(bench, lone, pieces[other], ahead, fuse)
                if both is not None and both.length < 0.5 * both.track.period:
                    seeds.append((both, _placed([[k]], other, ahead, fuse)))
    return seeds


def _placed(dashes: list[list[int]], k: int, ahead: bool, fuse: bool) -> list[list[int]]:
    """Add piece ``k`` at one end of a list of dashes, to the last dash there or as a dash of its own."""
    if fuse:
        return [*dashes[:-1], [*dashes[-1], k]] if ahead else [[k, *dashes[0]], *dashes[1:]]
    return [*dashes, [k]] if ahead else [[k], *dashes]


def _neighbours(bench: Bench, board: Board, piece: Piece, k: int) -> list[int]:
    """Free pieces beyond the end of a dash that turn a little from its direction."""
    at, reach = np.array(piece.end), bench.px(LONGEST_GAP_MM)
    noted = noted_around(board.cells, *piece.end, reach)
    noted = noted[board.free[noted] & (board.length[noted] < bench.px(LONGEST_SHORT_DASH_MM)) & (noted != k)]
    points, heading = board.points[noted], np.array(piece.track.heading(piece.s1))
    near = np.hypot(*np.moveaxis(points - at, -1, 0)).min(axis=1, initial=np.inf) <= reach
    chord = points[:, 2] - points[:, 0]
    length = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-9)
    straight = np.abs(chord @ heading) / length >= np.cos(np.radians(TURN_DEG))
    ahead = (points[:, 1] - at) @ heading > 0
    return [int(n) for n in noted[near & straight & ahead]]


def _collected(
    bench: Bench, board: Board, pieces: list[Piece], seed: Piece, dashes: list[list[int]]
) -> tuple[Piece, list[list[int]]]:
    """Grow a seed over paper and ink; returns it with the numbers of the pieces of its dashes, in order of s."""
    taken = [k for dash in dashes for k in dash]
    board.free[taken] = False
    may_be_dash, grew = seed.track.kind == LINE, True
    while grew:
        grew = False
        for gap, k, ahead in candidates(board, seed, bench.px(LONGEST_GAP_MM)):
            fuse = bridged(bench, seed, gap, ahead, pieces[k].length)
            # what turns into other strokes at all its ends, as the tips of teeth do, is given up before it gathers more
            may_be_dash = may_be_dash or fuse or any(ends_in_paper(bench, seed, *end) for end in ends_of(seed))
            if not may_be_dash:
                break
            larger = union(bench, seed, pieces[k], ahead, fuse)
            if larger is None or larger.track.kind != seed.track.kind:
                continue
            board.free[k] = False
            taken.append(k)
            dashes = _placed(dashes, k, ahead, fuse)
            seed, grew = larger, True
            break
    board.free[taken] = True
    return seed, dashes


def _by_pattern(
    bench: Bench, pieces: list[Piece], grown: Piece, dashes: list[list[int]]
) -> list[tuple[Piece, list[int]]]:
    """Cut a grown sequence into the strokes whose patterns hold; a lone piece is none."""
    if sum(map(len, dashes)) < 2:
        return []
    extents = run_extents(grown.track, grown.runs)
    lengths = [b - a for a, b in extents]
    gaps = [max(c - b, 0.0) for (_, b), (c, _) in pairwise(extents)]
    parts = split_sequence(lengths, gaps, bench.px(1.0))
    if grown.track.kind == ARC and not parts:
        parts = [(k, k + 1, "solid") for k in range(len(dashes)) if len(dashes[k]) >= LEAST_ROUND_DASHES]
    strokes = []
    for first, end, name in parts:
        members = [k for dash in dashes[first:end] for k in dash]
        stroke = _one_stroke(bench, [pieces[k] for k in members], grown, first, end)
        if stroke is not None and broken_by_paper(bench, stroke, len(members)):
            strokes.append((closed_up_dashes(bench, replace(stroke, dash=name)), members))
    return strokes


def _one_stroke(bench: Bench, members: list[Piece], grown: Piece, first: int, end: int) -> Piece | None:
    """Fit the track of some dashes of a sequence anew."""
    spans = tuple(span for p in members for span in p.spans)
    fitted = track_of(bench.trail, spans, grown.track.kind)
    if fitted is None:
        return None
    track = fitted[0]
    if track.kind == LINE and track.dx * grown.track.dx + track.dy * grown.track.dy < 0:
        track = replace(track, dx=-track.dx, dy=-track.dy)
    runs = grown.runs[first:end]
    extents = run_extents(track, runs)
    width = float(np.median([p.width for p in members]))
    return Piece(track, extents[0][0], min(extents[-1][1], extents[0][0] + track.period), width, fitted[1], spans, runs)


def closed_up_dashes(bench: Bench, stroke: Piece) -> Piece:
    """Make a full circle of a broken one whose last gap is no wider than the others."""
    if stroke.track.kind != ARC:
        return stroke
    extents = run_extents(stroke.track, stroke.runs)
    gaps = [c - b for (_, b), (c, _) in pairwise(extents)]
    if stroke.track.period - stroke.length <= GAP_RATIO * max(gaps, default=0.0) + bench.px(GAP_SLACK_MM):
        start = stroke.s0 % stroke.track.period
        return replace(stroke, s0=start, s1=start + stroke.track.period)
    return closed_up(bench, stroke)
