"""Blank arrowheads: a drawn triangle with paper in it, its base at the end of the line.

Their line ends at the base, so nothing leads to the tip: what is looked for is the pair of sides that close ahead of a
line's end, evenly to both sides of it.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.heads.head import Head
from digitize.strokes.table import KIND, RADIUS, S0, S1, Cells, Table, near_rows, point_on

FloatArray = NDArray[np.float64]

LONGEST_MM, SHORTEST_MM = 8.0, 0.9
LEAST_SHAFT = 0.3
"""A line is longer than this share of the head it ends at; where a figure breaks it, little of it may be left."""
FLATTEST, STEEPEST = 0.06, 0.6
"""Half the base over the length."""
SLACK_PX, SLACK_SHARE = 2.0, 0.12
"""What the ends of the traced sides may be off, at the least, and as a share of the head's length."""
MOST_BENT_DEG = 30.0
"""A side may have been traced as an arc that turns by no more than this, where its corner at the tip is rounded."""
RUN_ON = 1.3
"""Where two heads stand tip to tip a side of one runs on as a side of the other, for so many lengths of its head."""
UNEVEN_SHARE = 0.3
DOUBT = 0.15


def blank_heads(ground: Ground, table: Table, numbers: list[int]) -> list[Head]:
    """Blank heads at the ends of some pieces, of which only lines have any."""
    ends = [
        (k, s, *table.pieces[k].track.point(s), sign * table.pieces[k].track.dx, sign * table.pieces[k].track.dy)
        for k in numbers
        if table.pieces[k].track.kind == LINE
        for s, sign in ((table.pieces[k].s0, -1.0), (table.pieces[k].s1, 1.0))
    ]
    rays = np.array(ends).reshape(-1, 6)
    triangles = _triangles_at(table.rows, table.cells, rays, ground.px(LONGEST_MM), ground.px(SHORTEST_MM))
    found = []
    for (k, _, x, y, dx, dy), (off, length, half_width) in zip(ends, triangles.tolist(), strict=True):
        if not math.isnan(off) and table.pieces[k].length >= LEAST_SHAFT * length:
            tip = x + length * dx, y + length * dy
            at = table.pieces[k].track.s_of(*tip)
            found.append(Head(*tip, dx, dy, length, half_width, "blank", k, at, DOUBT + off / length))
    return found


@compiled
def _triangles_at(rows: FloatArray, cells: Cells, rays: FloatArray, longest: float, shortest: float) -> FloatArray:
    """How far the best pair of sides ahead of each of many ends of lines is off a head's, its length and half its base.

    ``rays`` are number, s, x, y, dx and dy of each; NaN where no pair makes a head.
    """
    found = np.full((len(rays), 3), np.nan)
    for n in range(len(rays)):
        k, _, x, y, dx, dy = rays[n]
        bases, tips = _sides_about(rows, cells, int(k), x, y, dx, dy, longest, shortest)
        least = np.inf
        for i in range(len(bases)):
            for j in range(len(bases)):
                if bases[i, 1] > 0.0 > bases[j, 1]:
                    off, length, half_width = _triangle(bases[i], tips[i], bases[j], tips[j], longest)
                    if off < least:
                        least = off
                        found[n] = off, length, half_width
    return found


@compiled
def _sides_about(
    rows: FloatArray,
    cells: Cells,
    k: int,
    x: float,
    y: float,
    dx: float,
    dy: float,
    longest: float,
    shortest: float,
) -> tuple[FloatArray, FloatArray]:
    """The short strokes near a line's end that may be sides of its head: ends at base and tip, in its axes."""
    near = near_rows(rows, cells, x, y, 0.5 * longest, 0.0, 0.0)
    base, tip, count = np.empty((len(near), 2)), np.empty((len(near), 2)), 0
    for n in near:
        length = rows[n, S1] - rows[n, S0]
        bent = rows[n, KIND] != LINE and length > math.radians(MOST_BENT_DEG) * rows[n, RADIUS]
        if n == k or bent or not 0.7 * shortest <= length <= (1.0 + RUN_ON) * longest:
            continue
        for end, s in ((base[count], rows[n, S0]), (tip[count], rows[n, S1])):
            px, py = point_on(rows[n], s, 0.0)
            end[0], end[1] = (px - x) * dx + (py - y) * dy, (py - y) * dx - (px - x) * dy
        if tip[count, 0] < base[count, 0]:
            for axis in range(2):
                base[count, axis], tip[count, axis] = tip[count, axis], base[count, axis]
        if abs(base[count, 0]) <= SLACK_PX + SLACK_SHARE * longest:
            count += 1
    return base[:count], tip[:count]


@compiled
def _triangle(
    left: FloatArray, left_tip: FloatArray, right: FloatArray, right_tip: FloatArray, longest: float
) -> tuple[float, float, float]:
    """How far two sides are off an even one on a line's end at 0, its length and half its base; infinite for none."""
    nothing = np.inf, 0.0, 0.0
    ax, ay, bx, by = left_tip[0] - left[0], left_tip[1] - left[1], right_tip[0] - right[0], right_tip[1] - right[1]
    cross = ax * by - ay * bx
    if abs(cross) < 1e-9 or min(ax, bx) <= 0.0:
        return nothing
    share = ((right[0] - left[0]) * by - (right[1] - left[1]) * bx) / cross
    length, aside = left[0] + share * ax, left[1] + share * ay
    half_width = 0.5 * (abs(left[1]) + abs(right[1]))
    if not 0.0 < length <= longest or not FLATTEST <= half_width / length <= STEEPEST:
        return nothing
    if abs(left[1] + right[1]) > UNEVEN_SHARE * half_width + 1.0:
        return nothing
    nearer, farther = min(left_tip[0], right_tip[0]), max(left_tip[0], right_tip[0])
    missed = max(length - nearer, farther - (1.0 + RUN_ON) * length)
    off = max(abs(left[0]), abs(right[0]), missed, abs(aside))
    return (off, length, half_width) if off <= SLACK_PX + SLACK_SHARE * length else nothing
