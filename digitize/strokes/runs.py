"""Runs of ink on a track: where they begin and end along it, and three points on it that tell them.

Glossary
--------
track
    See `tracks`.
run
    A stretch of unbroken ink on a track, kept as three points: start, middle, end.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.compiled import compiled
from digitize.strokes.tracks import Track

FloatArray = NDArray[np.float64]

Run = tuple[tuple[float, float], tuple[float, float], tuple[float, float]]
CLOSED_PX, LEAST_PERIOD_PX = 2.0, 12.0
"""A run whose ends are so near to each other goes round a circle of this length or more."""
SHORT_RUN_SHARE = 0.2
"""A run of less than this share of its circle ends where its end points are nearest to each other."""


def run_extents(track: Track, runs: tuple[Run, ...]) -> list[tuple[float, float]]:
    """Return s at the start and end of every run, unwrapped so that s grows from run to run."""
    extents = extents_on(np.array(runs), track.kind, track.x, track.y, track.dx, track.dy, track.radius)
    return [(a, b) for a, b in extents.tolist()]


@compiled
def _s_on(x: float, y: float, kind: int, x0: float, y0: float, dx: float, dy: float, radius: float) -> float:
    """As `Track.s_of`."""
    if kind == LINE:
        return (x - x0) * dx + (y - y0) * dy
    return math.atan2(y - y0, x - x0) * radius


@compiled
def extents_on(runs: FloatArray, kind: int, x0: float, y0: float, dx: float, dy: float, radius: float) -> FloatArray:
    """See `run_extents`; shape (N, 2)."""
    out = np.empty((len(runs), 2))
    period, last = 2.0 * math.pi * radius, 0.0
    for n in range(len(runs)):
        a = _s_on(runs[n, 0, 0], runs[n, 0, 1], kind, x0, y0, dx, dy, radius)
        b = _s_on(runs[n, 2, 0], runs[n, 2, 1], kind, x0, y0, dx, dy, radius)
        if kind == ARC:
            m = _s_on(runs[n, 1, 0], runs[n, 1, 1], kind, x0, y0, dx, dy, radius)
            if n:
                low = last - 0.25 * period
                a = low + (a - low) % period
            m = a + (m - a) % period
            b = m + (b - m) % period
        out[n, 0], out[n, 1], last = a, b, b
    return out


@compiled
def turned_onto(runs: FloatArray, kind: int, x0: float, y0: float, dx: float, dy: float, radius: float) -> FloatArray:
    """Put the three points of every run on the track, in order of growing s."""
    out = np.empty_like(runs)
    for n in range(len(runs)):
        a = _s_on(runs[n, 0, 0], runs[n, 0, 1], kind, x0, y0, dx, dy, radius)
        m = _s_on(runs[n, 1, 0], runs[n, 1, 1], kind, x0, y0, dx, dy, radius)
        b = _s_on(runs[n, 2, 0], runs[n, 2, 1], kind, x0, y0, dx, dy, radius)
        if kind == LINE:
            a, b = min(a, b), max(a, b)
        else:
            chord = math.hypot(runs[n, 0, 0] - runs[n, 2, 0], runs[n, 0, 1] - runs[n, 2, 1])
            a, m, b = _ordered(a, m, b, 2.0 * math.pi * radius, chord)
        for k, s in enumerate((a, m, b)):
            if kind == LINE:
                out[n, k, 0], out[n, k, 1] = x0 + s * dx, y0 + s * dy
            else:
                out[n, k, 0], out[n, k, 1] = x0 + radius * math.cos(s / radius), y0 + radius * math.sin(s / radius)
    return out


@compiled
def _ordered(a: float, m: float, b: float, period: float, chord: float) -> tuple[float, float, float]:
    """Start, middle and end of a run on a circle in order of growing s; ``chord`` is the distance of its ends.

    The middle of a scrap a few pixels long may lie beyond its ends, which must not send the run the long way round.
    """
    to_middle = (m - a + 0.5 * period) % period - 0.5 * period
    to_end = (b - a + 0.5 * period) % period - 0.5 * period
    if max(abs(to_middle), abs(to_end)) < SHORT_RUN_SHARE * period:
        first = a if to_end >= 0.0 else b
        return first, first + 0.5 * abs(to_end), first + abs(to_end)
    forward = (m - a) % period
    if forward > 0.5 * period:
        a, b = b, a
    if chord < CLOSED_PX and period > LEAST_PERIOD_PX and abs(forward / period - 0.5) < 0.2:
        b = a - 1e-6
    return a, m, b
