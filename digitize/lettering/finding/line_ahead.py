"""What lies straight ahead of a bar, and of the strokes that end at a part's edge."""

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from calibrate.sheet import FloatArray, InkImage, LevelSheet
from digitize.lettering.finding.parts import Part

Point = tuple[float, float]
Steps = NDArray[np.int64]
FLANK_PENS = 1.3
"""Beside a line, at this distance from its middle, the paper is bare."""
SHORTEST_DASH_PENS = 3.0
LEAST_BARE, MOST_BESIDE = 0.7, 0.35
"""A dash begins between bare paper, by this share of its opening; along more than this of its length it has no ink
beside it: a fraction's bar into which its figures ran has."""
PIECE_GAP_MM = 2.5
PIECE_BROADEST_PENS = 1.8
"""What is broader where it ends at a part's edge is more than one stroke."""


@njit(cache=True)
def pieces_ahead(
    ink: InkImage,
    start: Point,
    way: Point,
    flank_px: float,
    reach_px: float,
    widest_px: float,
    shortest_px: float,
    opening_px: int,
) -> Steps:
    """The dashes that follow on a bar, up to a wide gap or to ink that is no line.

    A dash begins thin, between bare paper; further on it may be crossed.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
    start, way : tuple of float
        Where the bar ends, as (x, y), and the unit vector ahead.
    flank_px : float
        So far beside a line's middle the paper is bare.
    reach_px, widest_px, shortest_px : float
        How far is looked, the widest gap, the shortest dash.
    opening_px : int
        Where a dash begins it is bare beside so much of it.

    Returns
    -------
    ndarray, int64, shape (N, 2)
        First and past-last step of each dash.
    """
    steps = math.ceil(reach_px) - 1
    pieces = np.empty((steps // 2 + 1, 2), np.int64)
    count, last = 0, 0
    while True:
        first = last
        while first < steps and first - last <= widest_px and not _is_inked(ink, *step_at(start, way, first, 0.0)):
            first += 1
        past = first
        while past < steps and _is_inked(ink, *step_at(start, way, past, 0.0)):
            past += 1
        opened = min(first + opening_px, past)
        if past == first or first - last > widest_px or past - first < shortest_px:
            break
        if bare_steps(ink, start, way, flank_px, first, opened) <= LEAST_BARE * (opened - first):
            break
        pieces[count] = first, past
        count, last = count + 1, past
    return pieces[:count]


@njit(cache=True)
def mark_pieces(
    ink: InkImage,
    start: Point,
    way: Point,
    flank_px: float,
    reach_px: float,
    pieces: Steps,
    half_px: int,
    found: InkImage,
) -> None:
    """Mark dashes in ``found``, ``half_px`` to both sides, but for the ink of strokes that cross them.

    ``start``, ``way``, ``flank_px`` and ``reach_px`` are as they were for `pieces_ahead`. A slanting stroke leaves a
    line further on than it comes to it.
    """
    height, width = found.shape
    aside, spread = (-way[1], way[0]), 2 * half_px
    for n in range(len(pieces)):
        first, past = pieces[n]
        if past - first - bare_steps(ink, start, way, flank_px, first, past) > MOST_BESIDE * (past - first):
            continue
        low, high = max(first - spread, 0), min(past + spread, math.ceil(reach_px) - 1)
        left, right = np.zeros(high - low, np.int64), np.zeros(high - low, np.int64)  # the last inked step until now
        one, other = low - spread - 1, low - spread - 1
        for step in range(low, high):
            if _is_inked(ink, *step_at(start, way, step, flank_px)):
                one = step
            if _is_inked(ink, *step_at(start, way, step, -flank_px)):
                other = step
            left[step - low], right[step - low] = one, other
        for step in range(first, past):
            ahead = min(step + spread, high - 1) - low
            if left[ahead] >= step - spread and right[ahead] >= step - spread:
                continue
            x, y = step_at(start, way, step, 0.0)
            for off in range(-half_px, half_px + 1):
                # Halves are rounded one way: to the even one, every other row of a line half a pixel off would stay.
                column, row = math.floor(x + off * aside[0] + 0.5), math.floor(y + off * aside[1] + 0.5)
                if 0 <= column < width and 0 <= row < height:
                    found[row, column] = True


@njit(cache=True)
def bare_steps(ink: InkImage, start: Point, way: Point, flank_px: float, first: int, past: int) -> int:
    """How many steps of a line have bare paper on both sides."""
    count = 0
    for step in range(first, past):
        one = _is_inked(ink, *step_at(start, way, step, flank_px))
        count += not one and not _is_inked(ink, *step_at(start, way, step, -flank_px))
    return count


@njit(cache=True)
def step_at(start: Point, way: Point, step: int, aside_px: float) -> Point:
    """A step ahead of a bar, a pixel each, so far to one side, as (x, y)."""
    return start[0] + (step + 1) * way[0] - aside_px * way[1], start[1] + (step + 1) * way[1] + aside_px * way[0]


@njit(cache=True)
def _is_inked(ink: InkImage, x: float, y: float) -> bool:
    """Whether there is ink under a point; outside the sheet is paper."""
    column, row = int(np.rint(x)), int(np.rint(y))
    return bool(0 <= column < ink.shape[1] and 0 <= row < ink.shape[0] and ink[row, column])


@njit(cache=True)
def bar_end(hull: FloatArray, way: Point) -> Point:
    """The middle of a bar's end (x, y): of the hull of its ink, seen along a unit vector."""
    x, y = hull[:, 0].mean(), hull[:, 1].mean()
    along = (hull[:, 0] - x) * way[0] + (hull[:, 1] - y) * way[1]
    aside = (hull[:, 1] - y) * way[0] - (hull[:, 0] - x) * way[1]
    reach, off = along.max(), (aside.max() + aside.min()) / 2
    return x + way[0] * reach - way[1] * off, y + way[1] * reach + way[0] * off


def bar_way(bar: Part, sense: float) -> Point:
    """Unit vector along a bar, ahead, or behind where ``sense`` is -1."""
    turn = math.radians(bar.axis_deg)
    return math.cos(turn) * sense, -math.sin(turn) * sense


def inked_runs(inked: InkImage) -> list[tuple[int, int]]:
    """(first, past last) of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inked, [False]]).astype(np.int8)))
    return [(int(start), int(stop)) for start, stop in zip(edges[::2], edges[1::2], strict=True)]


def inked_at(ink: InkImage, points: FloatArray) -> InkImage:
    """Ink under points; outside the sheet is paper."""
    columns = np.rint(points[:, 0]).astype(int)
    rows = np.rint(points[:, 1]).astype(int)
    inside = (columns >= 0) & (rows >= 0) & (columns < ink.shape[1]) & (rows < ink.shape[0])
    out = np.zeros(len(points), dtype=np.bool_)
    out[inside] = ink[rows[inside], columns[inside]]
    return out


def is_line_piece(sheet: LevelSheet, part: Part) -> bool:
    """Whether some stroke that ends at a part's edge goes on straight ahead as a line, after a gap.

    What lies beyond a line that crosses the way is of something else: of a letter in the next row of a table.
    """
    left, top, right, bottom = (round(edge) for edge in part.box)
    reach = round(sheet.px(PIECE_GAP_MM) + 2 * SHORTEST_DASH_PENS * sheet.pen_px)
    narrow = PIECE_BROADEST_PENS * sheet.pen_px
    for step, edge, along_x in ((-1, left, True), (1, right, True), (-1, top, False), (1, bottom, False)):
        low, high = (top, bottom) if along_x else (left, right)
        across = np.arange(low, high + 1, dtype=np.float64)
        rim = inked_at(sheet.ink, _grid(np.full(len(across), float(edge)), across, along_x))
        for start, stop in inked_runs(rim):
            if stop - start > narrow:
                continue
            level = low + (start + stop - 1) / 2
            steps = edge + step * np.arange(1, reach)
            if _goes_on(sheet, steps.astype(float), level, along_x):
                return True
    return False


def _grid(along: FloatArray, across: FloatArray, along_x: bool) -> FloatArray:
    pair = (along, across) if along_x else (across, along)
    return np.column_stack(pair).astype(np.float64)


def _goes_on(sheet: LevelSheet, steps: FloatArray, level: float, along_x: bool) -> bool:
    flank = FLANK_PENS * sheet.pen_px
    inked, over, under = (
        inked_at(sheet.ink, _grid(steps, np.full(len(steps), level + aside), along_x)) for aside in (0.0, -flank, flank)
    )
    reach = int(np.argmax(np.append(inked & over & under, True)))
    runs = [stop - start for start, stop in inked_runs(np.asarray((inked & ~over & ~under)[:reach]))]
    return max(runs, default=0) >= SHORTEST_DASH_PENS * sheet.pen_px
