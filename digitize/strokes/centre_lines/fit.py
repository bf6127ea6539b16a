"""The line and the circle nearest to weighted points."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.sums import circle_of, line_of, running_sums
from digitize.strokes.compiled import compiled

FloatArray = NDArray[np.float64]

LINE = 0
ARC = 1
GAUSS_STEPS = 8
SINGULAR = 1e-14
"""A pivot of the normal equations below this share of the weight is nothing but rounding."""


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
