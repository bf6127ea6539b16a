"""The cut of a chain into lines and arcs.

A chain is cut where two pieces explain its points best, again and again until each piece is a line or an arc within
tolerance; then cuts are taken out, cheapest first, whose two sides are one line or arc together, and the others are
moved to where the squared errors of both sides add up to least.

Glossary
--------
piece
    A run of one chain's points that lie on one line or one circle.
sums
    See `sums`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.refine import Trail
from digitize.strokes.centre_lines.sums import circle_of, line_of, running_sums
from digitize.strokes.compiled import compiled

FloatArray = NDArray[np.float64]

TRUSTED_SHARE = 0.5
"""A stretch with less trusted length than this is mostly junctions."""
STUB_WIDTHS = 3.0
"""A stretch no longer than this many widths is shaped by what it runs into."""
LEAST_RADIUS = 1.35
"""A pen of this width draws no circle of less than so many times that."""
ROUNDER = 0.3
"""A circle's squared error is at most this share of a line's where both would do."""
FEWEST_OF_AN_ARC = 8
"""Of fewer points none is told from a line."""


@dataclass(frozen=True)
class Tolerance:
    """How far points may stray from a line or circle, in px: root mean square, and the mean over a short window.

    Where most points are doubtful, or the stretch is a stub, all lengths are ``doubtful`` times as large.
    """

    rms_px: float
    local_px: float
    window: int
    sagitta_px: float
    doubtful: float = 1.0

    def times(self, share: float, doubtful: float = 1.0) -> "Tolerance":
        """All lengths times ``share``."""
        return Tolerance(share * self.rms_px, share * self.local_px, self.window, share * self.sagitta_px, doubtful)


@compiled
def _local_stray(
    x: FloatArray, y: FloatArray, w: FloatArray, i: int, j: int, kind: int, model: FloatArray, window: int
) -> float:
    """Largest mean distance over a window of trusted points."""
    worst, total, count = 0.0, 0.0, 0
    for k in range(i, j):
        if w[k] < 0.1:
            continue
        if kind == 0:
            off = (y[k] - model[1]) * model[2] - (x[k] - model[0]) * model[3]
        else:
            off = np.sqrt((x[k] - model[0]) ** 2 + (y[k] - model[1]) ** 2) - model[2]
        total += off
        count += 1
        if count == window:
            worst = max(worst, abs(total) / window)
            total, count = 0.0, 0
    if count >= window // 2 and count > 2:
        worst = max(worst, abs(total) / count)
    return worst


@compiled
def judge(
    x: FloatArray, y: FloatArray, w: FloatArray, sums: FloatArray, i: int, j: int, width: float, tol: FloatArray
) -> int:
    """Say what points i to j - 1 are: 0 a line, 1 an arc, -1 neither. ``tol`` is in the unit of the points."""
    chord = np.sqrt((x[j - 1] - x[i]) ** 2 + (y[j - 1] - y[i]) ** 2)
    is_doubtful = sums[j, 0] - sums[i, 0] < TRUSTED_SHARE * (j - i) or chord < STUB_WIDTHS * width
    slack = tol[4] if is_doubtful else 1.0
    rms, local, window, sagitta = slack * tol[0], slack * tol[1], int(tol[2]), slack * tol[3]
    model = np.zeros(4)
    model[0], model[1], model[2], model[3], line_ms = line_of(sums, i, j)
    if j - i < FEWEST_OF_AN_ARC:
        return 0 if line_ms <= rms * rms * 4.0 else -1
    straight = line_ms <= rms * rms and _local_stray(x, y, w, i, j, 0, model, window) <= local
    # what junctions shape shows no bend that a line would do for: the few trusted points lie on many a circle
    if straight and (is_doubtful or line_ms <= 0.04 * rms * rms):
        return 0
    cx, cy, radius, arc_ms = circle_of(sums, i, j)
    if radius > LEAST_RADIUS * width and arc_ms <= rms * rms:
        rise = radius - np.sqrt(max(radius * radius - 0.25 * chord * chord, 0.0))
        full = np.sqrt(line_ms) > 0.4 * radius
        model[0], model[1], model[2] = cx, cy, radius
        round_ = _local_stray(x, y, w, i, j, 1, model, window) <= local
        if round_ and (full or rise > sagitta) and (not straight or arc_ms < ROUNDER * line_ms):
            return 1
    return 0 if straight else -1


@compiled
def _cost(sums: FloatArray, i: int, j: int, width: float) -> float:
    """Squared error of the better of line and circle."""
    w = sums[j, 0] - sums[i, 0]
    _, _, _, _, line_ms = line_of(sums, i, j)
    if j - i < FEWEST_OF_AN_ARC:
        return float(w * line_ms)
    _, _, radius, arc_ms = circle_of(sums, i, j)
    if radius > LEAST_RADIUS * width and arc_ms < line_ms:
        return float(w * arc_ms)
    return float(w * line_ms)


@compiled
def _best_cut(sums: FloatArray, i: int, j: int, low: int, high: int, stride: int, width: float) -> int:
    """Place in low .. high where the squared errors of both sides add up to least."""
    best, at = np.inf, (low + high) // 2
    for k in range(low, high + 1, stride):
        cost = _cost(sums, i, k, width) + _cost(sums, k, j, width)
        if cost < best:
            best, at = cost, k
    return at


@compiled
def _cut_chain(x: FloatArray, y: FloatArray, w: FloatArray, width: float, tol: FloatArray) -> list[int]:
    """Cut one chain into pieces: the first point of each, and the end. Coordinates are centred and scaled."""
    n = len(x)
    sums = running_sums(x, y, w)
    cuts = [0, n]
    stack = [(0, n)]
    while len(stack):
        i, j = stack.pop()
        if j - i < FEWEST_OF_AN_ARC or judge(x, y, w, sums, i, j, width, tol) >= 0:
            continue
        stride = max(1, (j - i) // 96)
        at = _best_cut(sums, i, j, i + 4, j - 4, stride, width)
        if stride > 1:
            at = _best_cut(sums, i, j, max(i + 4, at - stride), min(j - 4, at + stride), 1, width)
        cuts.append(at)
        stack.append((i, at))
        stack.append((at, j))
    cuts.sort()
    for _ in range(2):
        cuts = _merge_cuts(x, y, w, sums, cuts, width, tol)
        for k in range(1, len(cuts) - 1):
            reach = min(24, cuts[k] - cuts[k - 1] - 4, cuts[k + 1] - cuts[k] - 4)
            if reach > 0:
                cuts[k] = _best_cut(sums, cuts[k - 1], cuts[k + 1], cuts[k] - reach, cuts[k] + reach, 1, width)
    return cuts


@compiled
def _merge_cuts(
    x: FloatArray, y: FloatArray, w: FloatArray, sums: FloatArray, cuts: list[int], width: float, tol: FloatArray
) -> list[int]:
    """Take out, cheapest first, every cut whose two sides are one line or one arc together."""
    cuts = cuts.copy()
    while len(cuts) > 2:
        best, at = np.inf, -1
        for k in range(1, len(cuts) - 1):
            a, m, b = cuts[k - 1], cuts[k], cuts[k + 1]
            if judge(x, y, w, sums, a, b, width, tol) < 0:
                continue
            extra = _cost(sums, a, b, width) - _cost(sums, a, m, width) - _cost(sums, m, b, width)
            if extra < best:
                best, at = extra, k
        if at < 0:
            break
        cuts.pop(at)
    return cuts


@compiled
def _cut_all(
    x: FloatArray, y: FloatArray, w: FloatArray, width: FloatArray, first: NDArray[np.int32], tol: FloatArray
) -> tuple[list[int], list[int], list[int]]:
    """Cut all chains: first point, end point and kind (0 line, 1 arc) of every piece."""
    starts, ends, kinds = [0], [0], [0]
    starts.pop()
    ends.pop()
    kinds.pop()
    for c in range(len(first) - 1):
        a, b = first[c], first[c + 1]
        if b - a < 2:
            continue
        mx, my = np.mean(x[a:b]), np.mean(y[a:b])
        scale = max(np.max(np.abs(x[a:b] - mx)), np.max(np.abs(y[a:b] - my)), 1.0)
        px, py, pw = (x[a:b] - mx) / scale, (y[a:b] - my) / scale, w[a:b].copy()
        unit = tol.copy()
        unit[0] /= scale
        unit[1] /= scale
        unit[3] /= scale
        wide = np.median(width[a:b]) / scale
        cuts = _cut_chain(px, py, pw, wide, unit)
        sums = running_sums(px, py, pw)
        for k in range(len(cuts) - 1):
            i, j = cuts[k], cuts[k + 1]
            starts.append(a + i)
            ends.append(a + j)
            kinds.append(_kind(px, py, pw, sums, i, j, wide, unit))
    return starts, ends, kinds


@compiled
def _kind(
    x: FloatArray, y: FloatArray, w: FloatArray, sums: FloatArray, i: int, j: int, width: float, tol: FloatArray
) -> int:
    """What a piece is once its cuts are moved for the last time: where it strays too far to be either, the better."""
    found = judge(x, y, w, sums, i, j, width, tol)
    if found >= 0 or j - i < FEWEST_OF_AN_ARC:
        return max(found, 0)
    _, _, _, _, line_ms = line_of(sums, i, j)
    _, _, radius, arc_ms = circle_of(sums, i, j)
    chord = np.hypot(x[j - 1] - x[i], y[j - 1] - y[i])
    rise = radius - np.sqrt(max(radius * radius - 0.25 * chord * chord, 0.0))
    return int(radius > LEAST_RADIUS * width and rise > tol[3] and arc_ms < ROUNDER * line_ms)


def cut_chains(trail: Trail, tolerance: Tolerance) -> NDArray[np.int64]:
    """Cut all chains into lines and arcs.

    Returns
    -------
    ndarray, int64, shape (M, 3)
        First point and end point (exclusive) in the trail, and the kind, `LINE` or `ARC`.
    """
    lengths = tolerance.rms_px, tolerance.local_px, float(tolerance.window), tolerance.sagitta_px
    tol = np.array([*lengths, tolerance.doubtful])
    starts, ends, kinds = _cut_all(trail.x, trail.y, trail.weight, trail.width, trail.first, tol)
    return np.array([starts, ends, kinds], dtype=np.int64).T.reshape(-1, 3)
