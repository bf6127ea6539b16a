"""Where tracks meet: crossings of lines and circles, and the tangent points of those that only touch."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled
from digitize.strokes.fit import ARC, LINE
from digitize.strokes.pieces import Piece, Track

FloatArray = NDArray[np.float64]
PARALLEL_SINE = 0.05
"""Lines that differ by less than about 3 degrees have no crossing to speak of."""


@dataclass(frozen=True)
class Crossing:
    """A point where a piece meets another: s on it, s on the other, the other's number, the sine of their angle."""

    s: float
    other_s: float
    other: int
    sine: float


KIND, X, Y, DX, DY, RADIUS, S0, S1, WIDTH = range(9)
"""Columns of `Table.rows`."""


class Table:
    """All pieces as the rows of one array, to find quickly which ones pass near a point."""

    def __init__(self, pieces: list[Piece]) -> None:
        """Lay out the pieces."""
        self.pieces = pieces
        tracks = [p.track for p in pieces]
        self.rows = np.array(
            [
                (t.kind, t.x, t.y, t.dx, t.dy, max(t.radius, 1e-9), p.s0, p.s1, p.width)
                for t, p in zip(tracks, pieces, strict=True)
            ],
            dtype=np.float64,
        ).reshape(-1, 9)
        self.kind, self.x, self.y, self.dx, self.dy, self.radius, self.s0, self.s1, self.width = self.rows.T

    def near(self, x: float, y: float, reach: FloatArray | float) -> NDArray[np.int64]:
        """Numbers of the pieces that pass within ``reach`` of a point."""
        limit = np.broadcast_to(np.asarray(reach, dtype=np.float64), self.x.shape)
        return near_rows(self.rows, x, y, limit)


@compiled
def near_rows(rows: FloatArray, x: float, y: float, reach: FloatArray) -> NDArray[np.int64]:
    """Numbers of the rows of a table that pass within their reach of a point."""
    found = np.empty(len(rows), np.int64)
    count = 0
    for k in range(len(rows)):
        px, py = x - rows[k, X], y - rows[k, Y]
        s0, s1 = rows[k, S0], rows[k, S1]
        if rows[k, KIND] == LINE:
            along = px * rows[k, DX] + py * rows[k, DY]
            off = py * rows[k, DX] - px * rows[k, DY]
            beyond = max(s0 - along, along - s1, 0.0)
        else:
            radius = rows[k, RADIUS]
            off = np.sqrt(px * px + py * py) - radius
            beyond = 0.0
            if abs(off) <= reach[k]:
                period = 2.0 * np.pi * radius
                angle = np.arctan2(py, px) * radius
                past = (angle - s0) % period - (s1 - s0)
                if past > 0.0:
                    beyond = min(past, (s0 - angle) % period)
        if off * off + beyond * beyond <= reach[k] * reach[k]:
            found[count] = k
            count += 1
    return found[:count].copy()


@compiled
def point_on(row: FloatArray, s: float, offset: float) -> tuple[float, float]:
    """Point of a row's track at ``s``, ``offset`` px to the side (outwards on a circle); see `Track.at`."""
    if row[KIND] == LINE:
        return row[X] + s * row[DX] - offset * row[DY], row[Y] + s * row[DY] + offset * row[DX]
    angle, distance = s / row[RADIUS], row[RADIUS] + offset
    return row[X] + distance * math.cos(angle), row[Y] + distance * math.sin(angle)


def meets(first: Track, second: Track) -> list[tuple[FloatArray, float]]:
    """Points where two tracks meet, with the sine of the angle between them; tangent points have sine 0.

    Two lines meet once, unless they are nearly parallel. A line and a circle, or two circles, meet twice, or touch:
    where the nearest approach misses by less than `TOUCH_PX`, or overlaps by less than `OVERLAP_PX`, the tangent point
    is returned instead.
    """
    if first.kind == LINE and second.kind == LINE:
        return _two_lines(first, second)
    if first.kind == LINE:
        return _line_and_circle(first, second)
    if second.kind == LINE:
        return _line_and_circle(second, first)
    return _two_circles(first, second)


TOUCH_PX, OVERLAP_PX = 2.0, 0.6
"""Strokes meant to touch miss each other by so much, or overlap; an overlap wider than the error of two fits is a
corner, and its tangent point would lie far from it."""


def _two_lines(first: Track, second: Track) -> list[tuple[FloatArray, float]]:
    sine = first.dx * second.dy - first.dy * second.dx
    if abs(sine) < PARALLEL_SINE:
        return []
    x, y = second.x - first.x, second.y - first.y
    s = (x * second.dy - y * second.dx) / sine
    return [(np.array(first.point(s)), abs(sine))]


def _line_and_circle(line: Track, circle: Track) -> list[tuple[FloatArray, float]]:
    s = line.s_of(circle.x, circle.y)
    distance = abs((circle.y - line.y) * line.dx - (circle.x - line.x) * line.dy)
    if -OVERLAP_PX < distance - circle.radius < TOUCH_PX:
        return [(np.array(line.point(s)), 0.0)]
    if distance > circle.radius:
        return []
    half = math.sqrt(circle.radius**2 - distance**2)
    return [(np.array(line.point(s + sign * half)), half / circle.radius) for sign in (-1.0, 1.0)]


def _two_circles(first: Track, second: Track) -> list[tuple[FloatArray, float]]:
    x, y = second.x - first.x, second.y - first.y
    distance = math.hypot(x, y)
    if distance < 1e-6:
        return []
    ux, uy = x / distance, y / distance
    outside = -OVERLAP_PX < distance - first.radius - second.radius < TOUCH_PX
    inside = -OVERLAP_PX < abs(first.radius - second.radius) - distance < TOUCH_PX
    if outside or inside:
        sign = 1.0 if outside or first.radius > second.radius else -1.0
        return [(np.array([first.x + sign * first.radius * ux, first.y + sign * first.radius * uy]), 0.0)]
    along = (distance**2 + first.radius**2 - second.radius**2) / (2 * distance)
    if abs(along) >= first.radius:
        return []
    half = math.sqrt(first.radius**2 - along**2)
    sine = half * distance / (first.radius * second.radius)
    foot = np.array([first.x + along * ux, first.y + along * uy])
    return [(foot + sign * half * np.array([-uy, ux]), sine) for sign in (-1.0, 1.0)]


def s_near(track: Track, point: FloatArray, near: float) -> float:
    """``s`` of a point on a track, on a circle the one nearest to ``near``."""
    s = track.s_of(float(point[0]), float(point[1]))
    if track.kind == ARC:
        s = near + (s - near + 0.5 * track.period) % track.period - 0.5 * track.period
    return s


def crossings_of(table: Table, k: int, slack: float) -> list[Crossing]:
    """Crossings of piece ``k`` with all others, in order of s; both may end up to ``slack`` px short of it."""
    piece = table.pieces[k]
    found = []
    for other in _candidates(table, k, slack):
        for point, sine in meets(piece.track, table.pieces[other].track):
            if sine < PARALLEL_SINE:
                continue
            s = s_near(piece.track, point, 0.5 * (piece.s0 + piece.s1))
            mate = table.pieces[other]
            other_s = s_near(mate.track, point, 0.5 * (mate.s0 + mate.s1))
            if piece.s0 - slack <= s <= piece.s1 + slack and mate.s0 - slack <= other_s <= mate.s1 + slack:
                found.append(Crossing(s, other_s, int(other), sine))
    return sorted(found, key=lambda c: (c.s, c.other))


def _candidates(table: Table, k: int, slack: float) -> list[int]:
    """Pieces whose track may cross a piece: for two lines settled exactly, else by bounding circles."""
    piece = table.pieces[k]
    if piece.track.kind == LINE:
        sine = piece.track.dx * table.dy - piece.track.dy * table.dx
        safe = np.where(np.abs(sine) < PARALLEL_SINE, np.inf, sine)
        x, y = table.x - piece.track.x, table.y - piece.track.y
        s = (x * table.dy - y * table.dx) / safe
        t = (x * piece.track.dy - y * piece.track.dx) / safe
        lines = (s >= piece.s0 - slack) & (s <= piece.s1 + slack) & (t >= table.s0 - slack) & (t <= table.s1 + slack)
        off = np.abs(y * piece.track.dx - x * piece.track.dy)
        along = x * piece.track.dx + y * piece.track.dy
        reach = table.radius + slack
        arcs = (off <= reach) & (along >= piece.s0 - reach) & (along <= piece.s1 + reach)
        picks = np.where(table.kind == LINE, lines & np.isfinite(safe), arcs)
    else:
        distance = np.hypot(table.x - piece.track.x, table.y - piece.track.y)
        size = np.where(table.kind == LINE, np.maximum(np.abs(table.s0), np.abs(table.s1)), table.radius)
        picks = distance <= piece.track.radius + size + slack
    picks[k] = False
    return np.flatnonzero(picks).tolist()
