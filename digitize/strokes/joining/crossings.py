"""Where tracks meet: crossings of lines and circles, and the tangent points of those that only touch."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.compiled import compiled
from digitize.strokes.table import DX, DY, KIND, RADIUS, S0, S1, Cells, Table, X, Y, noted_along, point_on, s_at

FloatArray = NDArray[np.float64]
PARALLEL_SINE = 0.05
"""Lines that differ by less than about 3 degrees have no crossing to speak of."""
TOUCH_PX, OVERLAP_PX = 2.0, 0.6
"""Strokes meant to touch miss each other by so much, or overlap; an overlap wider than the error of two fits is a
corner, and its tangent point would lie far from it."""


@dataclass(frozen=True)
class Crossing:
    """A point where a piece meets another: s on it, s on the other, the other's number, the sine of their angle."""

    s: float
    other_s: float
    other: int
    sine: float


@compiled
def meets(first: FloatArray, second: FloatArray) -> FloatArray:
    """Points where the tracks of two rows meet: x, y and the sine of their angle, shape (N, 3); 0 at tangent points.

    Two lines meet once, unless they are nearly parallel. A line and a circle, or two circles, meet twice, or touch:
    where the nearest approach misses by less than `TOUCH_PX`, or overlaps by less than `OVERLAP_PX`, the tangent point
    is returned instead.
    """
    found = np.empty((2, 3))
    if first[KIND] == LINE and second[KIND] == LINE:
        return found[: _two_lines(first, second, found)]
    if first[KIND] == LINE:
        return found[: _line_and_circle(first, second, found)]
    if second[KIND] == LINE:
        return found[: _line_and_circle(second, first, found)]
    return found[: _two_circles(first, second, found)]


@compiled
def _two_lines(first: FloatArray, second: FloatArray, found: FloatArray) -> int:
    sine = first[DX] * second[DY] - first[DY] * second[DX]
    if abs(sine) < PARALLEL_SINE:
        return 0
    s = ((second[X] - first[X]) * second[DY] - (second[Y] - first[Y]) * second[DX]) / sine
    found[0, 0], found[0, 1] = point_on(first, s, 0.0)
    found[0, 2] = abs(sine)
    return 1


@compiled
def _line_and_circle(line: FloatArray, circle: FloatArray, found: FloatArray) -> int:
    x, y, radius = circle[X] - line[X], circle[Y] - line[Y], circle[RADIUS]
    s, distance = x * line[DX] + y * line[DY], abs(y * line[DX] - x * line[DY])
    if -OVERLAP_PX < distance - radius < TOUCH_PX:
        found[0, 0], found[0, 1] = point_on(line, s, 0.0)
        found[0, 2] = 0.0
        return 1
    if distance > radius:
        return 0
    half = math.sqrt(radius * radius - distance * distance)
    for n, sign in enumerate((-1.0, 1.0)):
        found[n, 0], found[n, 1] = point_on(line, s + sign * half, 0.0)
        found[n, 2] = half / radius
    return 2


@compiled
def _two_circles(first: FloatArray, second: FloatArray, found: FloatArray) -> int:
    x, y, radius, other = second[X] - first[X], second[Y] - first[Y], first[RADIUS], second[RADIUS]
    distance = math.hypot(x, y)
    if distance < 1e-6:
        return 0
    ux, uy = x / distance, y / distance
    outside = -OVERLAP_PX < distance - radius - other < TOUCH_PX
    inside = -OVERLAP_PX < abs(radius - other) - distance < TOUCH_PX
    if outside or inside:
        sign = 1.0 if outside or radius > other else -1.0
        found[0, 0], found[0, 1] = first[X] + sign * radius * ux, first[Y] + sign * radius * uy
        found[0, 2] = 0.0
        return 1
    along = (distance * distance + radius * radius - other * other) / (2.0 * distance)
    if abs(along) >= radius:
        return 0
    half = math.sqrt(radius * radius - along * along)
    for n, sign in enumerate((-1.0, 1.0)):
        found[n, 0] = first[X] + along * ux - sign * half * uy
        found[n, 1] = first[Y] + along * uy + sign * half * ux
        found[n, 2] = half * distance / (radius * other)
    return 2


@compiled
def holds(row: FloatArray, x: float, y: float, slack: float) -> bool:
    """Whether a point of a row's track lies between the piece's ends, give or take ``slack``."""
    s = s_at(row, x, y, 0.5 * (row[S0] + row[S1]))
    return bool(row[S0] - slack <= s <= row[S1] + slack)


def crossings_of(table: Table, k: int, slack: float) -> list[Crossing]:
    """Crossings of piece ``k`` with all others, in order of s; both may end up to ``slack`` px short of it."""
    found = _crossings_of(table.rows, table.cells, k, slack).tolist()
    return sorted((Crossing(s, t, int(other), sine) for s, t, other, sine in found), key=lambda c: (c.s, c.other))


@compiled
def _crossings_of(rows: FloatArray, cells: Cells, k: int, slack: float) -> FloatArray:
    """See `crossings_of`; shape (N, 4)."""
    near = noted_along(rows, cells, k, 2.0 * slack)
    found, taken = np.empty((2 * len(near), 4)), 0
    for other in near:
        if other == k:
            continue
        for x, y, sine in meets(rows[k], rows[other]):
            if sine < PARALLEL_SINE or not holds(rows[k], x, y, slack) or not holds(rows[other], x, y, slack):
                continue
            for n, number in enumerate((k, other)):
                found[taken, n] = s_at(rows[number], x, y, 0.5 * (rows[number, S0] + rows[number, S1]))
            found[taken, 2], found[taken, 3] = other, sine
            taken += 1
    return found[:taken]
