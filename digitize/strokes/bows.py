"""Arcs that a crossing line cut in two: too short on either side to find each other by extrapolation.

A bow a few mm long, such as a tooth's flank where the pitch circle crosses it, is cut into two pieces that look
straight or curve each in their own way. Pieces that meet end to end and turn but a little are therefore tried together:
they are one arc if one circle passes both as well as a stroke of this sheet must.
"""

import numpy as np

from digitize.strokes.fit import ARC, LINE
from digitize.strokes.join import WIDTH_SHARE, WIDTH_SLACK_PX, Bench, inked_share
from digitize.strokes.meetings import meetings_of
from digitize.strokes.pieces import Piece, Track, track_of, width_of

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


def join_bows(bench: Bench, pieces: list[Piece]) -> list[Piece]:
    """Join the parts of short arcs, those that flow into each other best first.

    Returns
    -------
    list of Piece
        Bows in place of the first of their parts; all others as they were.
    """
    current: dict[int, Piece] = dict(enumerate(pieces))
    stands_for = list(range(len(pieces)))
    for meeting in meetings_of(pieces, bench.px(REACH_MM), TURN_DEG):
        a, b = _root(stands_for, meeting.first), _root(stands_for, meeting.second)
        if a == b or not _may_be_one(bench, current[a], current[b]):
            continue
        bow = _one_bow(bench, current[a], current[b])
        if bow is not None:
            low, high = sorted((a, b))
            current[low] = bow
            del current[high]
            stands_for[high] = low
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
