"""Figures that stand in the gaps of upright dimension lines, side by side.

Where figures of several dimension lines stand in one row they look like words of one text. The lines tell them apart:
each is broken for its own figure, and stops over it and under it.
"""

from collections.abc import Sequence
from itertools import combinations, pairwise

import numpy as np
from numba import njit

from calibrate.sheet import FloatArray, InkImage, LevelSheet
from digitize.lettering.finding.placing import Placed, frame_axes, place
from digitize.lettering.finding.row import Row, row_of

LINE_AT = (1.0, 2.2), (0.5, 1.1)
"""Where a broken line is looked for, in figure heights over and under the row: one behind two heads is short."""
THICKEST_LINE_PENS = 2.4
NEAREST_LINE, SHORTEST_LINE, STUB = 2.4, 1.2, 0.3
"""A line that is broken for a figure stops this near to it and is this long, behind a head near by this long, in figure
heights."""
UNBROKEN = 0.3
"""A line that is inked from so far over a row to so far under it, in figure heights, runs through it unbroken; a 1 that
stands in its gap ends with the row."""
FLANK_PENS = 2.0
LINE_SHARE = 0.9


def split_at_lines(sheet: LevelSheet, row: Row) -> list[Row]:
    """Part a row between figures that each stand in the gap of a line of their own.

    Parameters
    ----------
    sheet : LevelSheet
    row : Row

    Returns
    -------
    list of Row
        The row itself where fewer than two lines are broken for it.
    """
    lines = _broken_lines(sheet, row)
    if len(lines) < 2:
        return [row]
    items = sorted(place(row.parts, row.angle_deg), key=lambda item: item.left)
    pieces = _parted(items, lines)
    return [row_of(piece, row.angle_deg, row.height) for piece in pieces] if len(pieces) > 1 else [row]


def _broken_lines(sheet: LevelSheet, row: Row) -> list[float]:
    """u of each thin line that stops over the row and goes on under it."""
    left, top, right, bottom = row.box
    across = np.arange(left, right)
    over, under = (
        np.any(
            [
                all_inked(sheet.ink, row.angle_deg, across, edge + sense * np.arange(near, far))
                for near, far in (np.array(reach) * row.height for reach in LINE_AT)
            ],
            axis=0,
        )
        for edge, sense in ((top, -1.0), (bottom, 1.0))
    )
    within = np.arange(top - UNBROKEN * row.height, bottom + UNBROKEN * row.height)
    unbroken = all_inked(sheet.ink, row.angle_deg, across, within)
    through = over & under & ~unbroken
    edges = np.flatnonzero(np.diff(np.concatenate([[False], through, [False]]).astype(np.int8)))
    runs = zip(edges[::2], edges[1::2], strict=True)
    return [
        left + float(start + stop - 1) / 2 for start, stop in runs if stop - start < THICKEST_LINE_PENS * sheet.pen_px
    ]


def interrupts_line(sheet: LevelSheet, row: Row, shortest: float = SHORTEST_LINE) -> bool:
    """Whether a thin line along the reading direction stops before a row and goes on after it.

    Parameters
    ----------
    sheet : LevelSheet
    row : Row
    shortest : float
        Length of such a line, in figure heights.
    """
    left, top, right, bottom = row.box
    level = (top + bottom) / 2
    steps = np.arange(1.0, (NEAREST_LINE + shortest) * row.height)
    run = shortest * row.height
    return all(_meets_line(sheet, row, edge, level, run) for edge in (left - steps, right + steps))


def _meets_line(sheet: LevelSheet, row: Row, across: FloatArray, level: float, run_px: float) -> bool:
    """Whether the first ink at a level is a thin run, near enough and long enough."""
    flank = FLANK_PENS * sheet.pen_px
    rays = [all_inked(sheet.ink, row.angle_deg, across, np.array([level + aside])) for aside in (0.0, -flank, flank)]
    inked = np.flatnonzero(rays[0])
    if not len(inked) or inked[0] > NEAREST_LINE * row.height:
        return False
    run = slice(inked[0], inked[0] + round(run_px))
    thin = rays[0][run] & ~(rays[1][run] & rays[2][run])
    return bool(thin.mean() > LINE_SHARE)


def all_inked(ink: InkImage, angle_deg: float, across: FloatArray, down: FloatArray) -> InkImage:
    """For each u, whether every (u, v) is ink."""
    return _all_inked(ink, frame_axes(angle_deg), across, down)


@njit(cache=True)
def _all_inked(ink: InkImage, axes: FloatArray, across: FloatArray, down: FloatArray) -> InkImage:
    height, width = ink.shape
    inked = np.ones(len(across), np.bool_)
    for i, u in enumerate(across):
        for v in down:
            column, row = int(np.rint(u * axes[0, 0] + v * axes[1, 0])), int(np.rint(u * axes[0, 1] + v * axes[1, 1]))
            if not (0 <= column < width and 0 <= row < height and ink[row, column]):
                inked[i] = False
                break
    return inked


def _parted(items: Sequence[Placed], lines: Sequence[float]) -> list[list[Placed]]:
    """Items parted between lines so that each figure stands about the middle of its own."""
    best = min(
        combinations(range(1, len(items)), len(lines) - 1),
        key=lambda cuts: sum(
            abs(_middle(piece) - line) for piece, line in zip(_pieces(items, cuts), lines, strict=True)
        ),
        default=(),
    )
    return _pieces(items, best)


def _pieces(items: Sequence[Placed], cuts: Sequence[int]) -> list[list[Placed]]:
    return [list(items[start:stop]) for start, stop in pairwise((0, *cuts, len(items)))]


def _middle(piece: Sequence[Placed]) -> float:
    return (min(item.left for item in piece) + max(item.right for item in piece)) / 2
