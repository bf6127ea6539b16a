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


def blank_heads_on(ground: Ground, table: Table, k: int) -> list[Head]:
    """Blank heads at the ends of one piece, which must be a line."""
    piece = table.pieces[k]
    if piece.track.kind != LINE or piece.closed:
        return []
    found = []
    for s, sign in ((piece.s0, -1.0), (piece.s1, 1.0)):
        (x, y), (hx, hy) = piece.track.point(s), piece.track.heading(s)
        head = _head_ahead(ground, table, k, (x, y), (sign * hx, sign * hy))
        if head is not None:
            found.append(head)
    return found


def _head_ahead(
    ground: Ground, table: Table, k: int, end: tuple[float, float], direction: tuple[float, float]
) -> Head | None:
    bases, tips = _sides_about(
        table.rows, table.cells, k, *end, *direction, ground.px(LONGEST_MM), ground.px(SHORTEST_MM)
    )
    left, right = (np.flatnonzero(sign * bases[:, 1] > 0.0) for sign in (1.0, -1.0))
    best: tuple[float, float, float] | None = None
    for i in left:
        for j in right:
            shape = _triangle(bases[[i, j]], tips[[i, j]], ground.px(LONGEST_MM))
            if shape is not None and (best is None or shape[0] < best[0]):
                best = shape
    if best is None or table.pieces[k].length < LEAST_SHAFT * best[1]:
        return None
    off, length, half_width = best
    tip = end[0] + length * direction[0], end[1] + length * direction[1]
    doubt = DOUBT + off / length
    at = table.pieces[k].track.s_of(*tip)
    return Head(*tip, *direction, length, half_width, "blank", k, at, doubt)


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


def _triangle(base: FloatArray, tip: FloatArray, longest: float) -> tuple[float, float, float] | None:
    """How far two sides are off an even triangle on a line's end at 0, its length and half its base; or None."""
    steps = tip - base
    cross = steps[0, 0] * steps[1, 1] - steps[0, 1] * steps[1, 0]
    if abs(cross) < 1e-9 or (steps[:, 0] <= 0.0).any():
        return None
    apart = base[1] - base[0]
    share = (apart[0] * steps[1, 1] - apart[1] * steps[1, 0]) / cross
    length, aside = base[0] + share * steps[0]
    half_width = float(np.abs(base[:, 1]).mean())
    slack = SLACK_PX + SLACK_SHARE * abs(length)
    if not 0.0 < length <= longest or not FLATTEST <= half_width / length <= STEEPEST:
        return None
    even = abs(base[0, 1] + base[1, 1]) <= UNEVEN_SHARE * half_width + 1.0
    missed = np.maximum(length - tip[:, 0], tip[:, 0] - (1.0 + RUN_ON) * length)
    off = max(float(np.abs(base[:, 0]).max()), float(missed.max()), abs(float(aside)))
    return (off, float(length), half_width) if even and off <= slack else None
