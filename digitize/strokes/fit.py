"""Lines and circles through weighted points, and the cut of a chain into such pieces.

Sums of powers along a chain make the fit of any part of it a matter of one subtraction. Points are centred and scaled
before any sum is formed, since the circle's sums hold fourth powers.

Glossary
--------
piece
    A run of one chain's points that lie on one line or one circle.
sums
    Running totals of w, wx, wy, wxx, wxy, wyy, wxz, wyz, wzz with z = xx + yy, one row a point and a row of zeros
    before the first.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled
from digitize.strokes.refine import Trail

FloatArray = NDArray[np.float64]

LINE = 0
ARC = 1
GAUSS_STEPS = 8
SINGULAR = 1e-14
"""A pivot of the normal equations below this share of the weight is nothing but rounding."""
TRUSTED_SHARE = 0.5
"""A stretch with less trusted length than this is mostly junctions."""
STUB_WIDTHS = 3.0
"""A stretch no longer than this many widths is shaped by what it runs into."""
LEAST_RADIUS = 1.35
"""A pen of this width draws no circle of less than so many times that."""
ROUNDER = 0.3
"""A circle's squared error is at most this share of a line's where both would do."""
WIDTH_STEP_SHARE, WIDTH_STEP_PX = 0.25, 0.6
"""Two pens in one line differ by this share of the wider one, and by this much."""
WIDTH_PERCENTILES = np.array([15.0, 50.0, 85.0])


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


@dataclass(frozen=True)
class CircleFit:
    """A circle through points: centre, radius, and root mean square distance of the points to it, in px."""

    x: float
    y: float
    radius: float
    rms: float


@dataclass(frozen=True)
class LineFit:
    """A line through points: centre of gravity, unit direction, and root mean square distance to it, in px."""

    x: float
    y: float
    dx: float
    dy: float
    rms: float


@compiled
def running_sums(x: FloatArray, y: FloatArray, w: FloatArray) -> FloatArray:
    """Form the running sums of centred and scaled points, shape (N + 1, 9)."""
    n = len(x)
    sums = np.zeros((n + 1, 9))
    for i in range(n):
        z = x[i] * x[i] + y[i] * y[i]
        sums[i + 1, 0] = sums[i, 0] + w[i]
        sums[i + 1, 1] = sums[i, 1] + w[i] * x[i]
        sums[i + 1, 2] = sums[i, 2] + w[i] * y[i]
        sums[i + 1, 3] = sums[i, 3] + w[i] * x[i] * x[i]
        sums[i + 1, 4] = sums[i, 4] + w[i] * x[i] * y[i]
        sums[i + 1, 5] = sums[i, 5] + w[i] * y[i] * y[i]
        sums[i + 1, 6] = sums[i, 6] + w[i] * x[i] * z
        sums[i + 1, 7] = sums[i, 7] + w[i] * y[i] * z
        sums[i + 1, 8] = sums[i, 8] + w[i] * z * z
    return sums


@compiled
def _central(sums: FloatArray, i: int, j: int) -> tuple[float, float, float, float, float, float, float, float, float]:
    """Weight, mean x, mean y, and the central moments xx, xy, yy, xz, yz, zz of points i to j - 1."""
    w = sums[j, 0] - sums[i, 0]
    mx = (sums[j, 1] - sums[i, 1]) / w
    my = (sums[j, 2] - sums[i, 2]) / w
    xx = (sums[j, 3] - sums[i, 3]) / w
    xy = (sums[j, 4] - sums[i, 4]) / w
    yy = (sums[j, 5] - sums[i, 5]) / w
    xz = (sums[j, 6] - sums[i, 6]) / w
    yz = (sums[j, 7] - sums[i, 7]) / w
    zz = (sums[j, 8] - sums[i, 8]) / w
    cxx, cxy, cyy = xx - mx * mx, xy - mx * my, yy - my * my
    z = xx + yy
    m2 = mx * mx + my * my
    # z about the mean: |p - m|^2 = z - 2 m.p + m2
    cz = z - m2
    cxz = xz - 2.0 * (mx * xx + my * xy) + m2 * mx - mx * cz
    cyz = yz - 2.0 * (mx * xy + my * yy) + m2 * my - my * cz
    czz = (
        zz
        + 4.0 * (mx * mx * xx + 2.0 * mx * my * xy + my * my * yy)
        + m2 * m2
        - 4.0 * (mx * xz + my * yz)
        + 2.0 * m2 * z
        - 4.0 * m2 * m2
    )
    return w, mx, my, cxx, cxy, cyy, cxz, cyz, czz


@compiled
def line_of(sums: FloatArray, i: int, j: int) -> tuple[float, float, float, float, float]:
    """Total least squares line of points i to j - 1: x, y, dx, dy and mean squared distance."""
    _, mx, my, xx, xy, yy, _, _, _ = _central(sums, i, j)
    spread = np.sqrt(0.25 * (xx - yy) ** 2 + xy * xy)
    angle = 0.5 * np.arctan2(2.0 * xy, xx - yy)
    return mx, my, np.cos(angle), np.sin(angle), max(0.5 * (xx + yy) - spread, 0.0)


@compiled
def circle_of(sums: FloatArray, i: int, j: int) -> tuple[float, float, float, float]:
    """Taubin's circle of points i to j - 1: x, y, radius and mean squared distance; radius -1 where there is none.

    G. Taubin, IEEE PAMI 13 (1991) 1115, with the Newton steps of N. Chernov's formulation (from memory).
    """
    _, mx, my, xx, xy, yy, xz, yz, zz = _central(sums, i, j)
    z = xx + yy
    if z <= 0.0:
        return 0.0, 0.0, -1.0, 0.0
    cov = xx * yy - xy * xy
    var = zz - z * z
    a3 = 4.0 * z
    a2 = -3.0 * z * z - zz
    a1 = var * z + 4.0 * cov * z - xz * xz - yz * yz
    a0 = xz * (xz * yy - yz * xy) + yz * (yz * xx - xz * xy) - var * cov
    root, value = 0.0, a0
    for _ in range(12):
        slope = a1 + root * (2.0 * a2 + 3.0 * a3 * root)
        if slope == 0.0:
            break
        following = root - value / slope
        if following == root or not np.isfinite(following):
            break
        there = a0 + following * (a1 + following * (a2 + following * a3))
        if abs(there) >= abs(value):
            break
        root, value = following, there
    det = root * root - root * z + cov
    if abs(det) < 1e-14 * z * z:
        return 0.0, 0.0, -1.0, 0.0
    cx = 0.5 * (xz * (yy - root) - yz * xy) / det
    cy = 0.5 * (yz * (xx - root) - xz * xy) / det
    radius2 = cx * cx + cy * cy + z
    # mean of (|p - c|^2 - r^2)^2 over (2 r)^2 is the mean squared distance to first order
    residual = var + 4.0 * (cx * cx * xx + 2.0 * cx * cy * xy + cy * cy * yy) - 4.0 * (cx * xz + cy * yz)
    return mx + cx, my + cy, np.sqrt(radius2), max(residual, 0.0) / (4.0 * radius2)


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
    if j - i < 8:
        return 0 if line_ms <= rms * rms * 4.0 else -1
    straight = line_ms <= rms * rms and _local_stray(x, y, w, i, j, 0, model, window) <= local
    if straight and line_ms <= 0.04 * rms * rms:
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
    if j - i < 8:
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
        if j - i < 8 or judge(x, y, w, sums, i, j, width, tol) >= 0:
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
    if found >= 0 or j - i < 8:
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


def cut_at_width_steps(trail: Trail, cuts: NDArray[np.int64], least_points: int) -> NDArray[np.int64]:
    """Cut straight pieces where one pen ends and another goes on in the same line.

    Parameters
    ----------
    trail : Trail
    cuts : ndarray, int64, shape (M, 3)
        As from `cut_chains`.
    least_points : int
        Points on either side of a step; a shorter change of width is a junction or an arrowhead.
    """
    rows: list[tuple[int, int, int]] = []
    for a, b, kind in cuts.tolist():
        at = _width_step(trail.width[a:b], least_points) if kind == LINE else -1
        rows += [(a, b, kind)] if at < 0 else [(a, a + at, kind), (a + at, b, kind)]
    return np.array(rows, dtype=np.int64).reshape(-1, 3)


@compiled
def _width_step(width: FloatArray, least_points: int) -> int:
    """Place where the mean width changes most, if both sides are even in themselves and clearly differ; else -1."""
    n = len(width)
    if n < 2 * least_points:
        return -1
    total = np.cumsum(width)
    best, at = -1.0, -1
    for left in range(least_points, n - least_points + 1):
        step = total[left - 1] / left - (total[-1] - total[left - 1]) / (n - left)
        if step * step * left * (n - left) > best:
            best, at = step * step * left * (n - left), left
    low1, first, high1 = np.percentile(width[:at], WIDTH_PERCENTILES)
    low2, second, high2 = np.percentile(width[at:], WIDTH_PERCENTILES)
    step, wider = abs(first - second), max(first, second)
    if step < WIDTH_STEP_SHARE * wider + WIDTH_STEP_PX or max(high1 - low1, high2 - low2) > 0.5 * step:
        return -1
    return at


def fit_line(x: FloatArray, y: FloatArray, weight: FloatArray | None = None) -> LineFit:
    """Fit a line by total least squares.

    Parameters
    ----------
    x, y : ndarray, shape (N,)
        At least two different points.
    weight : ndarray, shape (N,), optional

    Raises
    ------
    ValueError
        If all points are the same.

    Examples
    --------
    >>> import numpy as np
    >>> fit = fit_line(np.array([0.0, 1.0, 2.0]), np.array([1.0, 1.0, 1.0]))
    >>> abs(fit.dx), fit.y, fit.rms
    (1.0, 1.0, 0.0)
    """
    w = np.ones_like(x) if weight is None else weight
    fit = line_through(x, y, w)
    if np.isnan(fit[0]):
        raise ValueError("A line needs two different points.")
    return LineFit(*fit)


@compiled
def _centred(x: FloatArray, y: FloatArray, w: FloatArray) -> tuple[FloatArray, FloatArray, float, float, float]:
    """Points about their centre of gravity over their reach, with that centre and reach (0 where all are one)."""
    total = np.sum(w)
    mx, my = np.sum(w * x) / total, np.sum(w * y) / total
    px, py = x - mx, y - my
    scale = max(np.max(np.abs(px)), np.max(np.abs(py)))
    if scale > 0.0:
        px, py = px / scale, py / scale
    return px, py, mx, my, scale


@compiled
def line_through(x: FloatArray, y: FloatArray, w: FloatArray) -> tuple[float, float, float, float, float]:
    """As `LineFit`; all NaN where all points are the same."""
    px, py, mx, my, scale = _centred(x, y, w)
    if scale == 0.0:
        return np.nan, np.nan, np.nan, np.nan, np.nan
    gx, gy, dx, dy, ms = line_of(running_sums(px, py, w), 0, len(x))
    return mx + gx * scale, my + gy * scale, dx, dy, np.sqrt(ms) * scale


def fit_circle(x: FloatArray, y: FloatArray, weight: FloatArray | None = None) -> CircleFit | None:
    """Fit a circle by least squared distance (geometric, Gauss-Newton from Taubin's circle).

    Parameters
    ----------
    x, y : ndarray, shape (N,)
    weight : ndarray, shape (N,), optional

    Returns
    -------
    CircleFit or None
        None where the points determine no circle: fewer than three, or all on one line.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.linspace(0, 1, 20)
    >>> fit = fit_circle(5 + 30 * np.cos(t), 7 + 30 * np.sin(t))
    >>> round(fit.x, 6), round(fit.y, 6), round(fit.radius, 6)
    (5.0, 7.0, 30.0)
    """
    fit = CircleFit(*circle_through(x, y, np.ones_like(x) if weight is None else weight))
    return fit if np.isfinite(fit.rms) and fit.radius > 0.0 else None


@compiled
def circle_through(x: FloatArray, y: FloatArray, w: FloatArray) -> tuple[float, float, float, float]:
    """As `CircleFit`; all NaN where the points determine none."""
    none = np.nan, np.nan, np.nan, np.nan
    px, py, mx, my, scale = _centred(x, y, w)
    if scale == 0.0 or len(x) < 3:
        return none
    cx, cy, radius, _ = circle_of(running_sums(px, py, w), 0, len(x))
    if radius <= 0.0 or not np.isfinite(radius):
        return none
    for _ in range(GAUSS_STEPS):
        sx, sy, sr = _gauss_step(px, py, w, cx, cy, radius)
        if not np.isfinite(sx + sy + sr):
            return none
        cx, cy, radius = cx + sx, cy + sy, radius + sr
        if max(abs(sx), abs(sy), abs(sr)) < 1e-12 * max(radius, 1.0):
            break
    off = np.sqrt((px - cx) ** 2 + (py - cy) ** 2) - radius
    rms = np.sqrt(np.sum(w * off * off) / np.sum(w))
    return mx + cx * scale, my + cy * scale, radius * scale, rms * scale


@compiled
def _gauss_step(
    x: FloatArray, y: FloatArray, w: FloatArray, cx: float, cy: float, radius: float
) -> tuple[float, float, float]:
    """One Gauss-Newton step of (centre x, centre y, radius); NaN where the points do not determine it.

    Normal equations of distance - radius, whose gradient is minus (direction, 1), solved by Cholesky's factors.
    """
    a, b, c, d, e, f, g, h, k = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for i in range(len(x)):
        ux, uy = x[i] - cx, y[i] - cy
        distance = np.sqrt(ux * ux + uy * uy)
        if distance == 0.0:
            return np.nan, np.nan, np.nan
        ux, uy, off = ux / distance, uy / distance, distance - radius
        a, b, c = a + w[i] * ux * ux, b + w[i] * ux * uy, c + w[i] * ux
        d, e, f = d + w[i] * uy * uy, e + w[i] * uy, f + w[i]
        g, h, k = g + w[i] * ux * off, h + w[i] * uy * off, k + w[i] * off
    # with l21 = b / a and so on, in the order of the unknowns
    if a <= SINGULAR * f:
        return np.nan, np.nan, np.nan
    p, q = b / a, c / a
    d2, e2 = d - p * b, e - p * c
    if d2 <= SINGULAR * f:
        return np.nan, np.nan, np.nan
    r = e2 / d2
    f2 = f - q * c - r * e2
    if f2 <= SINGULAR * f:
        return np.nan, np.nan, np.nan
    h2 = h - p * g
    sr = (k - q * g - r * h2) / f2
    sy = h2 / d2 - r * sr
    return g / a - p * sy - q * sr, sy, sr
