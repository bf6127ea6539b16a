"""Arcs that a crossing line cut in two: too short on either side to find each other by extrapolation.

A bow a few mm long, such as a tooth's flank where the pitch circle crosses it, is cut into two pieces that look
straight or curve each in their own way. Pieces that meet end to end and turn but a little are therefore tried together:
they are one arc if one circle passes both as well as a stroke of this sheet must. A part may hold a little of the
stroke that follows, too short beside it to be told from it; then the two are cut anew as one chain.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.cuts import Tolerance, cut_chains
from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.centre_lines.refine import Trail
from digitize.strokes.joining.board import WIDTH_SHARE, WIDTH_SLACK_PX, Bench
from digitize.strokes.joining.inked import inked_share
from digitize.strokes.joining.meetings import meetings_of
from digitize.strokes.pieces import Piece, Span, pieces_of, track_of, width_of
from digitize.strokes.tracks import Track

LONGEST_MM = 25.0
"""Longer pieces know their circle well enough to be joined by extrapolation."""
SHORTEST_MM = 0.6
REACH_MM = 0.5
"""Ends of two parts are at most this far apart, besides a pen width."""
TURN_DEG = 30.0
STRAIGHT_SHARE = 0.5
"""Two straight parts are a bow if a circle passes them with at most this share of the line's error."""
PART_SHARE = 1.1
"""Either part may stray so much more than the whole: its far end may have been cut a little late."""
WIDEST_SHARE = 0.35
"""A bow is at most this share of its circle; more is a corner rounded by thick ink."""
INKED_SHARE = 0.85
LEAST_POINTS = 6
"""Points that a part gives up to the stroke that follows it, or keeps."""
MAIN_SHARE = 0.8
CLOSER_SHARE = 0.5
"""Two strokes cut anew keep this much closer to their ink than a sheet's tolerance asks of one."""


def join_bows(bench: Bench, tolerance: Tolerance, pieces: list[Piece]) -> list[Piece]:
    """Join the parts of short arcs, those that flow into each other best first.

    Parameters
    ----------
    bench : Bench
    tolerance : Tolerance
        That the pieces were cut with.
    pieces : list of Piece

    Returns
    -------
    list of Piece
        Bows in place of the first of their parts; all others as they were, but for what was cut from a part.
    """
    current: dict[int, Piece] = dict(enumerate(pieces))
    stands_for = list(range(len(pieces)))
    for meeting in meetings_of(pieces, bench.px(REACH_MM), TURN_DEG):
        a, b = _root(stands_for, meeting.first), _root(stands_for, meeting.second)
        if a == b or not _may_be_one(bench, current[a], current[b]):
            continue
        bow, rest = _one_bow(bench, current[a], current[b]), None
        if bow is None:
            bow, rest = _cut_anew(bench, tolerance, current[a], current[b])
        if bow is not None:
            low, high = sorted((a, b))
            current[low] = bow
            del current[high]
            stands_for[high] = low
        if rest is not None:
            current[len(stands_for)] = rest
            stands_for.append(len(stands_for))
    return list(current.values())


def _root(stands_for: list[int], k: int) -> int:
    while stands_for[k] != k:
        k = stands_for[k]
    return k


def _may_be_one(bench: Bench, first: Piece, second: Piece) -> bool:
    """Whether two pieces are short and as wide as each other."""
    wider = max(first.width, second.width)
    alike = abs(first.width - second.width) <= WIDTH_SHARE * wider + WIDTH_SLACK_PX
    return alike and all(bench.px(SHORTEST_MM) <= p.length <= bench.px(LONGEST_MM) for p in (first, second))


def _one_bow(bench: Bench, first: Piece, second: Piece) -> Piece | None:
    """The arc through two parts; None where no circle passes each of them closely, or a line does."""
    spans = first.spans + second.spans
    fitted = track_of(bench.trail, spans, ARC)
    if fitted is None or fitted[1] > bench.hand_px or fitted[0].radius > bench.px(LONGEST_MM) * 8:
        return None
    track, rms = fitted
    if any(_scatter(bench, track, part) > PART_SHARE * bench.hand_px for part in (first, second)):
        return None
    if first.track.kind == second.track.kind == LINE:
        line = track_of(bench.trail, spans, LINE)
        if line is None or rms > STRAIGHT_SHARE * line[1]:
            return None
    ordered = _through(track, first, second)
    gap = max(ordered[2] - ordered[1], 0.0)
    reach = bench.px(REACH_MM) + max(first.width, second.width)
    if ordered[3] - ordered[0] > WIDEST_SHARE * track.period or gap > reach:
        return None
    if inked_share(bench.ground, track, ordered[1], ordered[2]) < INKED_SHARE:
        return None
    run = track.point(ordered[0]), track.point(0.5 * (ordered[0] + ordered[3])), track.point(ordered[3])
    return Piece(track, ordered[0], ordered[3], width_of(bench.trail, spans), rms, spans, (run,))


def _cut_anew(bench: Bench, tolerance: Tolerance, first: Piece, second: Piece) -> tuple[Piece | None, Piece | None]:
    """The arc through one part and most of the other, and the rest of that; None, None where there is none."""
    spans = _main_span(first), _main_span(second)
    if spans[0] is None or spans[1] is None or first.track.kind != ARC or second.track.kind != ARC:
        return None, None
    order, count = _as_one_chain(bench.trail, spans[0], spans[1])
    cuts = cut_chains(_picked(bench.trail, order), tolerance.times(CLOSER_SHARE))
    at = int(cuts[0, 1])
    if len(cuts) != 2 or not min(at, abs(at - count), len(order) - at) >= LEAST_POINTS:
        return None, None
    if at < count:
        kept, rest, part, other = order[at:count], order[:at], first, second
    else:
        kept, rest, part, other = order[count:at], order[at:], second, first
    kinds = part.track.kind, int(cuts[0 if at < count else 1, 2])
    rows = [(side.min(), side.max() + 1, kind) for side, kind in zip((kept, rest), kinds, strict=True)]
    parts = pieces_of(bench.trail, np.array(rows))
    bow = _one_bow(bench, parts[0], other) if len(parts) == 2 else None
    return (bow, parts[1]) if bow is not None else (None, None)


def _main_span(piece: Piece) -> Span | None:
    """The span that a piece consists of but for stubs at its ends; None where it has several."""
    longest = max(piece.spans, key=lambda span: span[1] - span[0])
    whole = sum(b - a for a, b in piece.spans)
    return longest if longest[1] - longest[0] >= MAIN_SHARE * whole else None


def _as_one_chain(trail: Trail, first: Span, second: Span) -> tuple[NDArray[np.int64], int]:
    """Numbers of the points of two spans, walked on from one to the other where they meet, and how many come first."""
    here, there = np.arange(*first), np.arange(*second)
    ways = [(a, b) for a in (here, here[::-1]) for b in (there, there[::-1])]
    gaps = [math.hypot(trail.x[a[-1]] - trail.x[b[0]], trail.y[a[-1]] - trail.y[b[0]]) for a, b in ways]
    before, behind = ways[int(np.argmin(gaps))]
    return np.concatenate([before, behind]), len(here)


def _picked(trail: Trail, order: NDArray[np.int64]) -> Trail:
    """Some points of a trail as its only chain."""
    first, nodes = np.array([0, len(order)], np.int32), np.zeros((1, 2), np.int32)
    return Trail(trail.x[order], trail.y[order], trail.width[order], trail.weight[order], first, nodes)


def _scatter(bench: Bench, track: Track, part: Piece) -> float:
    """Root mean square distance of one part's points to a track."""
    picks = np.concatenate([np.arange(a, b) for a, b in part.spans])
    _, off = track.place(np.stack([bench.trail.x[picks], bench.trail.y[picks]], axis=1))
    return float(np.sqrt(np.average(off**2, weights=bench.trail.weight[picks])))


def _through(track: Track, first: Piece, second: Piece) -> tuple[float, float, float, float]:
    """s of the start and end of the part that comes first along a circle, and of the other, unwrapped."""
    parts = []
    for part in (first, second):
        middle = track.s_of(*part.track.point(0.5 * (part.s0 + part.s1)))
        steps = [_nearest_turn(track, track.s_of(*end) - middle) for end in (part.start, part.end)]
        parts.append((middle, min(steps), max(steps)))
    (m, a0, a1), (n, b0, b1) = parts
    n = m + _nearest_turn(track, n - m)
    if n < m:
        (m, a0, a1), (n, b0, b1) = (n, b0, b1), (m, a0, a1)
    return m + a0, m + a1, n + b0, max(n + b1, m + a1)


def _nearest_turn(track: Track, step: float) -> float:
    return (step + 0.5 * track.period) % track.period - 0.5 * track.period
