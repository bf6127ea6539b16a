"""Blank arrowheads: a drawn triangle with paper in it, its base at the end of the line.

Their line ends at the base, so nothing leads to the tip: what is looked for is the pair of sides that close ahead of a
line's end, evenly to both sides of it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.fit import LINE
from digitize.strokes.ground import Ground
from digitize.strokes.head import Head
from digitize.strokes.table import Table

FloatArray = NDArray[np.float64]

LONGEST_MM, SHORTEST_MM = 8.0, 0.9
LEAST_SHAFT = 0.3
"""A line is longer than this share of the head it ends at; where a figure breaks it, little of it may be left."""
FLATTEST, STEEPEST = 0.06, 0.6
"""Half the base over the length."""
SLACK_PX, SLACK_SHARE = 2.0, 0.12
"""What the ends of the traced sides may be off, at the least, and as a share of the head's length."""
UNEVEN_SHARE = 0.3
DOUBT = 0.15


@dataclass(frozen=True)
class _Sides:
    """Short lines about a line's end, in its own axes: the end of each at the base and the one at the tip."""

    base: FloatArray
    tip: FloatArray


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
    sides = _sides_about(ground, table, k, end, direction)
    left, right = (np.flatnonzero(sign * sides.base[:, 1] > 0.0) for sign in (1.0, -1.0))
    best: tuple[float, float, float] | None = None
    for i in left:
        for j in right:
            shape = _triangle(sides.base[[i, j]], sides.tip[[i, j]], ground.px(LONGEST_MM))
            if shape is not None and (best is None or shape[0] < best[0]):
                best = shape
    if best is None or table.pieces[k].length < LEAST_SHAFT * best[1]:
        return None
    off, length, half_width = best
    tip = end[0] + length * direction[0], end[1] + length * direction[1]
    doubt = DOUBT + off / length
    at = table.pieces[k].track.s_of(*tip)
    return Head(*tip, *direction, length, half_width, "blank", k, at, doubt)


def _sides_about(
    ground: Ground, table: Table, k: int, end: tuple[float, float], direction: tuple[float, float]
) -> _Sides:
    """The short lines near a line's end that may be sides of its head."""
    longest, shortest = ground.px(LONGEST_MM), ground.px(SHORTEST_MM)
    near = table.near(*end, 0.5 * longest)
    length = table.s1[near] - table.s0[near]
    fit = (table.kind[near] == LINE) & (length >= 0.7 * shortest) & (length <= 1.2 * longest) & (near != k)
    numbers = near[fit]
    ends = np.empty((len(numbers), 2, 2))
    for which, s in enumerate((table.s0[numbers], table.s1[numbers])):
        px = table.x[numbers] + s * table.dx[numbers] - end[0]
        py = table.y[numbers] + s * table.dy[numbers] - end[1]
        ends[:, which, 0] = px * direction[0] + py * direction[1]
        ends[:, which, 1] = py * direction[0] - px * direction[1]
    order = np.argsort(ends[:, :, 0], axis=1)
    ends = np.take_along_axis(ends, order[:, :, None], axis=1)
    return _Sides(ends[:, 0], ends[:, 1])


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
    off = max(float(np.abs(base[:, 0]).max()), float(np.abs(tip[:, 0] - length).max()), abs(float(aside)))
    return (off, float(length), half_width) if even and off <= slack else None
