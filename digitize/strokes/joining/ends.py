"""Where strokes end: at their own last ink, or on the stroke that they run into.

Thinning stops about half a width short of the last ink, and a junction blurs the last few pixels. So every free end is
first set to the ink's end less half a width (pens leave round ends), then moved onto a stroke that it meets.
"""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.cuts import STUB_WIDTHS
from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.joining.board import Bench
from digitize.strokes.joining.crossings import holds, meets
from digitize.strokes.joining.inked import INK_LEVEL, share_inked
from digitize.strokes.joining.meetings import END, START, Meeting, meetings_of
from digitize.strokes.pieces import Piece
from digitize.strokes.table import KIND, RADIUS, S0, S1, WIDTH, Cells, cells_of, near_rows, point_on, rows_of, s_at

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
    ground, open_ = bench.ground, np.array([not p.closed for p in pieces], dtype=bool)
    free = np.repeat(open_[:, None], 2, axis=1)
    for meeting in meetings_of(pieces, bench.px(REACH_MM), FLOW_TURN_DEG):
        for k, end in _flowing(pieces, meeting):
            free[k, end] = False
    rows = rows_of(pieces)
    _draw_to_last_ink(rows, free, ground.dark, ground.picture_from_round)
    lengths = bench.px(REACH_MM), bench.px(TANGENT_REACH_MM), bench.px(LONGEST_MERGE_MM)
    ends = _snapped(rows, cells_of(rows), open_, ground.all_dark, ground.picture_from_round, lengths)
    return [
        replace(piece, s0=s0, s1=min(s1, s0 + piece.track.period)) if is_open else piece
        for piece, (s0, s1), is_open in zip(pieces, ends.tolist(), open_.tolist(), strict=True)
    ]


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


@compiled
def _draw_to_last_ink(rows: FloatArray, free: NDArray[np.bool_], dark: ByteImage, picture: FloatArray) -> None:
    """Set ends to the last ink on the track less half a width, but not where the ink goes on as another stroke."""
    for k in range(len(rows)):
        row = rows[k]
        s0, s1 = row[S0], row[S1]
        if free[k, START]:
            s0 = _last_ink(row, dark, picture, s0, -1.0) + 0.5 * row[WIDTH]
        if free[k, END]:
            s1 = _last_ink(row, dark, picture, s1, 1.0) - 0.5 * row[WIDTH]
        if s1 - s0 >= 0.25 * (row[S1] - row[S0]):
            period = 2.0 * math.pi * row[RADIUS] if row[KIND] == ARC else np.inf
            row[S0], row[S1] = s0, min(s1, s0 + period)


@compiled
def _last_ink(row: FloatArray, dark: ByteImage, picture: FloatArray, s: float, sign: float) -> float:
    """Last s in a direction, from a little inside an end, at which the track is inked."""
    inset = min(0.5 * row[WIDTH], 0.25 * (row[S1] - row[S0]))
    reach, past, last = 2.0 * row[WIDTH] + 2.0, 0.0, 0.0
    while past < reach:
        x, y = point_on(row, s + sign * (past - inset), 0.0)
        px, py = picture[0, 0] * x + picture[0, 1] * y, picture[1, 0] * x + picture[1, 1] * y
        if darkness_at(dark, px, py) < INK_LEVEL:
            break
        last = past
        past += STEP_PX
    return float(s + sign * (last - inset))


@compiled
def _snapped(
    rows: FloatArray,
    cells: Cells,
    open_: NDArray[np.bool_],
    dark: ByteImage,
    picture: FloatArray,
    lengths: tuple[float, float, float],
) -> FloatArray:
    """Both ends of all pieces, on the strokes that they meet; ``lengths`` are the three reaches above, in px."""
    ends = rows[:, S0 : S1 + 1].copy()
    for k in range(len(rows)):
        if open_[k]:
            s0 = _snap(rows, cells, dark, picture, k, rows[k, S0], -1.0, lengths)
            s1 = _snap(rows, cells, dark, picture, k, rows[k, S1], 1.0, lengths)
            if s1 > s0:
                ends[k, 0], ends[k, 1] = s0, s1
    return ends


@compiled
def _snap(
    rows: FloatArray,
    cells: Cells,
    dark: ByteImage,
    picture: FloatArray,
    k: int,
    s: float,
    sign: float,
    lengths: tuple[float, float, float],
) -> float:
    """Return the s of the best meeting point within reach of an end that ink leads to; else the end as it was.

    The nearest is best; but a stroke is drawn on to a meeting rather than cut back to one that it has passed, and an
    edge that has one with another edge does not end on the section line that runs through their corner.
    """
    row = rows[k]
    x, y = point_on(row, s, 0.0)
    own = 0.5 * REACH_WIDTHS * row[WIDTH] + lengths[0]
    best, best_at = (1.0, 1.0, np.inf), s
    for other in near_rows(rows, cells, x, y, own, 0.5 * REACH_WIDTHS, 0.5 * lengths[1]):
        mate = rows[other]
        is_finer = 1.0 if mate[WIDTH] < FINER_SHARE * row[WIDTH] else 0.0
        reach = own + 0.5 * REACH_WIDTHS * mate[WIDTH]
        for px, py, sine in meets(row, mate):
            # a tangent point ends a stroke only where line and arc, or two arcs, flow into each other
            if other == k or (sine == 0.0 and row[KIND] == LINE and mate[KIND] == LINE):
                continue
            at = s_at(row, px, py, s)
            limit = reach if sine > SLENDER_SINE else max(reach, _merging(row, mate, lengths))
            is_passed = 1.0 if sign * (at - s) < -0.5 * row[WIDTH] else 0.0
            rank = is_finer, is_passed, abs(at - s)
            if rank[2] > limit or not rank < best or not holds(mate, px, py, limit):
                continue
            if sign * (at - s) <= 0.0 or share_inked(dark, picture, row, min(s, at), max(s, at)) > SNAP_INKED:
                best, best_at = rank, at
    return s if sign * (best_at - s) < -0.5 * (row[S1] - row[S0]) else best_at


@compiled
def _merging(row: FloatArray, mate: FloatArray, lengths: tuple[float, float, float]) -> float:
    """How far from their tangent point the ink of two strokes is one: a circle of radius r rises by s^2 / 2r in s."""
    radius = min(row[RADIUS] if row[KIND] == ARC else np.inf, mate[RADIUS] if mate[KIND] == ARC else np.inf)
    merged = math.sqrt(radius * (row[WIDTH] + mate[WIDTH])) if radius < np.inf else 0.0
    return float(max(lengths[1], min(merged, lengths[2])))
