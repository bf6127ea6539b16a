"""Strokes that pass where an arrowhead is looked for, but are no part of one.

Glossary
--------
stranger
    A stroke that runs on too far for a barb and is not the shaft: it leans from it, or lies beside it.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.table import DX, DY, KIND, RADIUS, S0, S1, WIDTH, Cells, Table, near_rows, point_on, s_at

FloatArray = NDArray[np.float64]

REACH_MM = 8.0
AT_TIP_MM = 0.55
AHEAD_MM = 1.0
"""Strokes that touch the tip lie a little ahead of it."""
STRANGER_MM = 5.0
"""Strokes that run on for this far are no barbs. (Two heads tip to tip may have their barbs in one piece.)"""
STRANGER_SINE = 0.12
"""A stroke within about 7 degrees of the axis is the shaft, or a part of it."""
BESIDE_MM = 0.8
"""A line along the axis is no shaft, but no shaft's edge either, this far from it."""
STRANGER_MARGIN_PX = 1.0
"""How far the blurred edge of a stranger reaches beyond its width."""
CHORD_MM = 1.0
ROUNDED_PX = 1e-6
"""More than sums are rounded by."""
OVERRUN_MM = 1.0
"""Where a stroke ends on the axis its pen may have run on so far beyond it."""


def strangers_near(
    ground: Ground,
    table: Table,
    x: float,
    y: float,
    dx: float,
    dy: float,
    least_mm: float = STRANGER_MM,
    reach_mm: float = REACH_MM,
) -> FloatArray:
    """Long strokes that pass where a head with its tip at a point would lie, but do not run along its axis.

    Parameters
    ----------
    ground : Ground
    table : Table
    x, y, dx, dy : float
        Tip, and unit direction from tail to tip, in the frame of the pieces.
    least_mm : float
        How far a stroke must run on.
    reach_mm : float
        Longest head.

    Returns
    -------
    ndarray, shape (N, 8)
        Straight parts in the picture: both ends, the half width that their ink may take, the middle, and the square of
        the radius about it that holds all of that ink.
    """
    lengths = ground.px(1.0), ground.px(least_mm), ground.px(reach_mm)
    return strangers_of(table.rows, table.cells, ground.picture_from_round, x, y, dx, dy, *lengths)


@compiled
def strangers_of(
    rows: FloatArray,
    cells: Cells,
    picture: FloatArray,
    x: float,
    y: float,
    dx: float,
    dy: float,
    px: float,
    least: float,
    longest: float,
) -> FloatArray:
    """See `strangers_near`; ``px`` is a mm of paper."""
    reach = 0.5 * longest + AHEAD_MM * px
    middle_x, middle_y = x - 0.5 * longest * dx, y - 0.5 * longest * dy
    near = near_rows(rows, cells, middle_x, middle_y, reach, 0.0, 0.0)
    parts = np.zeros(len(near), np.int64)
    for n in range(len(near)):
        row = rows[near[n]]
        foot = s_at(row, x, y, 0.5 * (row[S0] + row[S1]))
        foot_x, foot_y = point_on(row, foot, 0.0)
        at_tip = math.hypot(foot_x - x, foot_y - y) <= row[WIDTH] + AT_TIP_MM * px
        length = max(foot - row[S0], row[S1] - foot) if at_tip else row[S1] - row[S0]
        beside = row[KIND] == LINE and abs((foot_x - x) * dy - (foot_y - y) * dx) > BESIDE_MM * px
        if length >= least and (beside or _sine(row, foot, dx, dy) >= STRANGER_SINE):
            parts[n] = 1 if row[KIND] == LINE else 1 + int((row[S1] - row[S0]) / (CHORD_MM * px))
    found = np.empty((parts.sum(), 8))
    count = 0
    for n in range(len(near)):
        row = rows[near[n]]
        step = (row[S1] - row[S0]) / max(parts[n], 1)
        for part in range(parts[n]):
            at_x, at_y = point_on(row, row[S0] + (part + 0.5) * step, 0.0)
            if parts[n] > 1 and math.hypot(at_x - middle_x, at_y - middle_y) > reach + step:
                continue
            for end in range(2):
                s = row[S0] + (part + end) * step
                ax, ay = point_on(row, s, 0.0)
                if row[KIND] == LINE and abs((ax - x) * dy - (ay - y) * dx) <= row[WIDTH]:
                    ax, ay = point_on(row, s + (2 * end - 1) * OVERRUN_MM * px, 0.0)
                found[count, 2 * end] = picture[0, 0] * ax + picture[0, 1] * ay
                found[count, 2 * end + 1] = picture[1, 0] * ax + picture[1, 1] * ay
            found[count, 4] = 0.5 * row[WIDTH] + STRANGER_MARGIN_PX
            found[count, 5] = 0.5 * (found[count, 0] + found[count, 2])
            found[count, 6] = 0.5 * (found[count, 1] + found[count, 3])
            length = math.hypot(found[count, 2] - found[count, 0], found[count, 3] - found[count, 1])
            found[count, 7] = (0.5 * length + found[count, 4] + ROUNDED_PX) ** 2
            count += 1
    return found[:count]


@compiled
def _sine(row: FloatArray, s: float, dx: float, dy: float) -> float:
    """Sine of the angle between a track at ``s`` and a direction."""
    if row[KIND] == LINE:
        return float(abs(row[DX] * dy - row[DY] * dx))
    angle = s / row[RADIUS]
    return float(abs(-math.sin(angle) * dy - math.cos(angle) * dx))


@compiled
def is_hidden(strangers: FloatArray, x: float, y: float) -> bool:
    """Whether a point lies under a stranger's ink."""
    for k in range(len(strangers)):
        if (x - strangers[k, 5]) ** 2 + (y - strangers[k, 6]) ** 2 > strangers[k, 7]:
            continue
        ax, ay, bx, by, half = strangers[k, :5]
        dx, dy, px, py = bx - ax, by - ay, x - ax, y - ay
        along, length2 = px * dx + py * dy, dx * dx + dy * dy
        if along > 0.0 and along < length2:
            hidden = (px * dy - py * dx) ** 2 <= half * half * length2
        else:
            hidden = min(px * px + py * py, (x - bx) ** 2 + (y - by) ** 2) <= half * half
        if hidden:
            return True
    return False
