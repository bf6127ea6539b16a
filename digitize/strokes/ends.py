"""Where strokes end: at their own last ink, or on the stroke that they run into.

Thinning stops about half a width short of the last ink, and a junction blurs the last few pixels. So every free end is
first set to the ink's end less half a width (pens leave round ends), then moved onto a stroke that it meets.
"""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled
from digitize.strokes.crossings import Table, meets, s_near
from digitize.strokes.fit import ARC, STUB_WIDTHS
from digitize.strokes.join import INK_LEVEL, Bench, inked_share
from digitize.strokes.meetings import END, START, Meeting, meetings_of
from digitize.strokes.pieces import Piece
from digitize.strokes.refine import darkness_at
from digitize.strokes.seeds import ByteImage

FloatArray = NDArray[np.float64]

REACH_WIDTHS = 1.0
"""An end is drawn to a crossing within this many widths of the two strokes together, and `REACH_MM`."""
REACH_MM = 0.25
TANGENT_REACH_MM, LONGEST_MERGE_MM = 1.5, 12.0
FLOW_TURN_DEG = 40.0
"""Strokes that turn less than this into each other share their ink beyond the end of either."""
FOOT_TURN_DEG = 10.0
SLENDER_SINE = 0.2
"""Strokes that meet at less than some 12 degrees run into each other long before they cross."""
FINER_SHARE = 0.7
"""A line of the finer pen is narrower than an edge by this (ISO 128-20: half as wide)."""
STEP_PX = 0.25
SNAP_INKED = 0.8


def set_ends(bench: Bench, pieces: list[Piece]) -> list[Piece]:
    """Move the ends of all pieces to where their strokes end."""
    flowing = {end for m in meetings_of(pieces, bench.px(REACH_MM), FLOW_TURN_DEG) for end in _flowing(pieces, m)}
    drawn = [_to_last_ink(bench, piece, (k, START) in flowing, (k, END) in flowing) for k, piece in enumerate(pieces)]
    table = Table(drawn)
    return [_snapped(bench, table, k) for k in range(len(drawn))]


def _flowing(pieces: list[Piece], meeting: Meeting) -> Iterator[tuple[int, int]]:
    """Ends of a meeting that go on as the other stroke.

    A stub is what a blurred corner leaves, and none goes on as one; but for the short foot of an arc.
    """
    is_foot = meeting.cosine >= math.cos(math.radians(FOOT_TURN_DEG)) and (
        pieces[meeting.first].track.kind != pieces[meeting.second].track.kind
    )
    ends = (meeting.first, meeting.first_end), (meeting.second, meeting.second_end)
    for mine, (other, _) in (ends, ends[::-1]):
        if is_foot or pieces[other].length > STUB_WIDTHS * pieces[other].width:
            yield mine


def _to_last_ink(bench: Bench, piece: Piece, keep_start: bool, keep_end: bool) -> Piece:
    """Set ends to the last ink on the track less half a width, but not where the ink goes on as another stroke."""
    if piece.closed:
        return piece
    s1 = piece.s1 if keep_end else _last_ink(bench, piece, piece.s1, 1.0) - 0.5 * piece.width
    s0 = piece.s0 if keep_start else _last_ink(bench, piece, piece.s0, -1.0) + 0.5 * piece.width
    if s1 - s0 < 0.25 * piece.length:
        return piece
    return replace(piece, s0=s0, s1=min(s1, s0 + piece.track.period))


def _last_ink(bench: Bench, piece: Piece, s: float, sign: float) -> float:
    """Last s in a direction, from a little inside an end, at which the track is inked."""
    reach = 1.5 * piece.width + 2.0
    start = s - sign * min(0.5 * piece.width, 0.25 * piece.length)
    steps = start + sign * np.arange(0.0, reach + 0.5 * piece.width, STEP_PX)
    count = _inked_points(bench.ground.dark, bench.ground.in_picture(piece.track.at(steps)))
    return float(steps[max(count - 1, 0)])


@compiled
def _inked_points(dark: ByteImage, points: FloatArray) -> int:
    """How many points lie on ink, up to the first that does not."""
    for n in range(len(points)):
        if darkness_at(dark, points[n, 0], points[n, 1]) < INK_LEVEL:
            return n
    return len(points)


def _snapped(bench: Bench, table: Table, k: int) -> Piece:
    """Move the ends of one piece onto the strokes that they meet."""
    piece = table.pieces[k]
    if piece.closed:
        return piece
    s0 = _snap(bench, table, k, piece.s0, -1.0)
    s1 = _snap(bench, table, k, piece.s1, 1.0)
    return replace(piece, s0=s0, s1=min(s1, s0 + piece.track.period)) if s1 > s0 else piece


def _snap(bench: Bench, table: Table, k: int, s: float, sign: float) -> float:
    """Return the s of the best meeting point within reach of an end that ink leads to; else the end as it was.

    The nearest is best; but a stroke is drawn on to a meeting rather than cut back to one that it has passed, and an
    edge that has one with another edge does not end on the section line that runs through their corner.
    """
    piece = table.pieces[k]
    x, y = piece.track.point(s)
    reach = REACH_WIDTHS * 0.5 * (piece.width + table.width) + bench.px(REACH_MM)
    best, best_at = (True, True, np.inf), s
    for other in table.near(x, y, np.maximum(reach, bench.px(TANGENT_REACH_MM) * 0.5)).tolist():
        if other == k:
            continue
        is_finer = bool(table.width[other] < FINER_SHARE * piece.width)
        for point, sine in meets(piece.track, table.pieces[other].track):
            at = s_near(piece.track, point, s)
            limit = reach[other] if sine > SLENDER_SINE else max(reach[other], _merging(bench, piece, table, other))
            if sine == 0.0 and not _is_fillet(piece, table.pieces[other]):
                continue
            if not _on(table.pieces[other], point, limit):
                continue
            inked = sign * (at - s) <= 0 or inked_share(bench.ground, piece.track, *sorted((s, at))) > SNAP_INKED
            rank = is_finer, sign * (at - s) < -0.5 * piece.width, abs(at - s)
            if abs(at - s) <= limit and rank < best and inked:
                best, best_at = rank, at
    if sign * (best_at - s) < -0.5 * piece.length:
        return s
    return best_at


def _merging(bench: Bench, piece: Piece, table: Table, other: int) -> float:
    """How far from their tangent point the ink of two strokes is one: a circle of radius r rises by s^2 / 2r in s."""
    radii = [t.radius for t in (piece.track, table.pieces[other].track) if t.kind == ARC]
    rise = 0.5 * (piece.width + float(table.width[other]))
    merged = np.sqrt(2.0 * min(radii) * rise) if radii else 0.0
    return float(max(bench.px(TANGENT_REACH_MM), min(merged, bench.px(LONGEST_MERGE_MM))))


def _is_fillet(piece: Piece, other: Piece) -> bool:
    """A tangent point ends a stroke only where line and arc, or two arcs, flow into each other."""
    return piece.track.kind == ARC or other.track.kind == ARC


def _on(piece: Piece, point: np.ndarray, slack: float) -> bool:
    """Whether a point of a piece's track lies between its ends, give or take ``slack``."""
    s = s_near(piece.track, point, 0.5 * (piece.s0 + piece.s1))
    return piece.s0 - slack <= s <= piece.s1 + slack
