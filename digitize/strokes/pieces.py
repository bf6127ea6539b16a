"""Pieces of strokes while they are being put together: runs of ink on one line or one circle (see `runs`, `tracks`)."""

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import ARC, LINE, circle_through, line_through
from digitize.strokes.centre_lines.refine import DOUBTFUL, Trail
from digitize.strokes.compiled import compiled
from digitize.strokes.runs import Run, extents_on, run_extents, turned_onto
from digitize.strokes.tracks import Track

FloatArray = NDArray[np.float64]
Span = tuple[int, int]

NONE = -1
LEAST_OPEN_PX = 1e-6
"""A run that goes all round a circle ends so far before it begins."""
LEAST_CENTRE_NOISE_PX = 0.08
"""No centre is trusted better than this when an extrapolation is judged (ink edge, from trials)."""


@dataclass(frozen=True)
class Piece:
    """Ink on one track from ``s0`` to ``s1``.

    ``runs`` lie in order of s; ``spans`` are the ranges of trail points that the track was fitted to; ``dash`` is set
    once a broken pattern has been recognised.
    """

    track: Track
    s0: float
    s1: float
    width: float
    rms: float
    spans: tuple[Span, ...]
    runs: tuple[Run, ...]
    dash: str = "solid"

    @property
    def length(self) -> float:
        """Length from end to end in px."""
        return self.s1 - self.s0

    @cached_property
    def inked(self) -> float:
        """Length of all runs together in px."""
        if self.track.kind == LINE:
            return sum(math.dist(start, end) for start, _, end in self.runs)
        return sum(b - a for a, b in run_extents(self.track, self.runs))

    @cached_property
    def row(self) -> tuple[float, ...]:
        """The piece as a row of `table`."""
        return *self.track.row, self.s0, self.s1, self.width

    @property
    def start(self) -> tuple[float, float]:
        """Point at ``s0``."""
        return self.track.point(self.s0)

    @property
    def middle(self) -> tuple[float, float]:
        """Point half way."""
        return self.track.point(0.5 * (self.s0 + self.s1))

    @property
    def end(self) -> tuple[float, float]:
        """Point at ``s1``."""
        return self.track.point(self.s1)

    @property
    def closed(self) -> bool:
        """True for a full circle."""
        return self.track.kind == ARC and self.length >= self.track.period * (1 - 1e-9)


def unwrap(s: float, low: float, period: float) -> float:
    """Shift ``s`` by whole periods into low .. low + period."""
    return low + (s - low) % period


@compiled
def _gathered(values: FloatArray, spans: NDArray[np.int64]) -> FloatArray:
    """Values of all spans, one after the other."""
    out = np.empty(np.sum(spans[:, 1] - spans[:, 0]))
    n = 0
    for a, b in spans:
        out[n : n + b - a] = values[a:b]
        n += b - a
    return out


@compiled
def _usual_width(width: FloatArray, weight: FloatArray, spans: NDArray[np.int64]) -> float:
    """See `width_of`."""
    every = _gathered(width, spans)
    sure = every[_gathered(weight, spans) > 5 * DOUBTFUL]
    return float(np.median(sure if len(sure) >= 3 else every))


@compiled
def _fitted(
    x: FloatArray, y: FloatArray, weight: FloatArray, spans: NDArray[np.int64], kind: int
) -> tuple[float, float, float, float, float]:
    """Two coordinates and a direction, or a centre, a radius and 0; and the rms distance, NaN where there is no fit."""
    px, py, w = _gathered(x, spans), _gathered(y, spans), _gathered(weight, spans)
    if kind == LINE:
        return line_through(px, py, w)
    cx, cy, radius, rms = circle_through(px, py, w)
    return cx, cy, radius, 0.0, rms


def track_of(trail: Trail, spans: tuple[Span, ...], kind: int) -> tuple[Track, float] | None:
    """Fit the track of trail points; None where they determine none. Returns the track and its rms distance in px."""
    x, y, first, second, rms = _fitted(trail.x, trail.y, trail.weight, np.array(spans), kind)
    if not math.isfinite(rms):
        return None
    if kind == LINE:
        return Track(LINE, x, y, first, second), rms
    return (Track(ARC, x, y, radius=first), rms) if first > 0.0 else None


def width_of(trail: Trail, spans: tuple[Span, ...]) -> float:
    """Return the median width of the trusted points, of all points where none is trusted."""
    return _usual_width(trail.width, trail.weight, np.array(spans))


def pieces_of(trail: Trail, cuts: NDArray[np.int64]) -> list[Piece]:
    """Turn the cuts of all chains into pieces with one run each."""
    fits = _fit_cuts(trail.x, trail.y, trail.width, trail.weight, cuts)
    found = []
    for (a, b, kind), (x, y, first, second, rms, width, s0, s1, *run) in zip(cuts.tolist(), fits.tolist(), strict=True):
        if not math.isfinite(rms) or (kind == ARC and first <= 0.0):
            continue
        track = Track(LINE, x, y, first, second) if kind == LINE else Track(ARC, x, y, radius=first)
        points = (run[0], run[1]), (run[2], run[3]), (run[4], run[5])
        found.append(Piece(track, s0, min(s1, s0 + track.period), width, rms, ((a, b),), (points,)))
    return found


@compiled
def _fit_cuts(
    x: FloatArray, y: FloatArray, width: FloatArray, weight: FloatArray, cuts: NDArray[np.int64]
) -> FloatArray:
    """Of every cut what `_fitted` tells, its usual width, its extent, and the three points of its run."""
    found = np.zeros((len(cuts), 14))
    for n in range(len(cuts)):
        a, b, kind = cuts[n]
        spans = np.array([[a, b]])
        px, py, first, second, rms = _fitted(x, y, weight, spans, kind)
        found[n, 0], found[n, 1], found[n, 2], found[n, 3], found[n, 4] = px, py, first, second, rms
        if not np.isfinite(rms):
            continue
        found[n, 5] = _usual_width(width, weight, spans)
        run = np.empty((1, 3, 2))
        for k, at in enumerate((a, (a + b - 1) // 2, b - 1)):
            run[0, k, 0], run[0, k, 1] = x[at], y[at]
        dx, dy, radius = (first, second, 0.0) if kind == LINE else (1.0, 0.0, first)
        on_track = turned_onto(run, kind, px, py, dx, dy, radius)
        found[n, 6:8] = extents_on(on_track, kind, px, py, dx, dy, radius)[0]
        found[n, 8:] = on_track.ravel()
    return found


def piece_on(
    trail: Trail, track: Track, rms: float, spans: tuple[Span, ...], runs: tuple[Run, ...], fused: int = NONE
) -> Piece:
    """Make a piece whose runs lie on a track and are turned to grow along it; ``fused`` is made one with the next."""
    place = track.kind, track.x, track.y, track.dx, track.dy, track.radius
    laid, width = _laid(trail.width, trail.weight, np.array(spans), np.array(runs), *place, fused)
    rows = laid.tolist()
    turned = tuple([((a, b), (c, d), (e, f)) for _, _, a, b, c, d, e, f in rows])
    first, last = rows[0][0], min(rows[-1][1], rows[0][0] + track.period)
    return Piece(track, first, last if fused == NONE else max(last, rows[fused][1]), width, rms, spans, turned)


@compiled
def _laid(
    width: FloatArray,
    weight: FloatArray,
    spans: NDArray[np.int64],
    runs: FloatArray,
    kind: int,
    x: float,
    y: float,
    dx: float,
    dy: float,
    radius: float,
    fused: int,
) -> tuple[FloatArray, float]:
    """Runs on a track, shape (N, 8): where each begins and ends along it, and its three points; and the usual width."""
    turned = turned_onto(runs, kind, x, y, dx, dy, radius)
    extents = extents_on(turned, kind, x, y, dx, dy, radius)
    laid = np.empty((len(runs), 8))
    laid[:, :2], laid[:, 2:] = extents, turned.reshape(-1, 6)
    if fused != NONE:
        start, end = extents[fused, 0], max(extents[fused, 1], extents[fused + 1, 1])
        end = end if kind == LINE else min(end, start + 2.0 * math.pi * radius - LEAST_OPEN_PX)
        row, rest = laid[fused], laid[fused + 2 :].copy()
        row[0], row[1] = start, end
        row[2], row[3] = _point(start, kind, x, y, dx, dy, radius)
        row[4], row[5] = _point(0.5 * (start + end), kind, x, y, dx, dy, radius)
        row[6], row[7] = _point(end, kind, x, y, dx, dy, radius)
        laid[fused + 1 : -1] = rest
        laid = laid[:-1]
    return laid, _usual_width(width, weight, spans)


@compiled
def _point(s: float, kind: int, x: float, y: float, dx: float, dy: float, radius: float) -> tuple[float, float]:
    """As `Track.point`."""
    if kind == LINE:
        return x + s * dx, y + s * dy
    return x + radius * math.cos(s / radius), y + radius * math.sin(s / radius)


def with_runs(piece: Piece, runs: tuple[Run, ...]) -> Piece:
    """Replace the runs of a piece and its extent by theirs."""
    extents = run_extents(piece.track, runs)
    return replace(piece, runs=runs, s0=extents[0][0], s1=min(extents[-1][1], extents[0][0] + piece.track.period))
