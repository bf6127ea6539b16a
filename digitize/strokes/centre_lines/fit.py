"""The line and the circle nearest to weighted points."""

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
    """Fit a line by total least squares; ``w`` are the points' weights.

    Returns
    -------
    x, y, dx, dy, rms : float
        Centre of gravity, unit direction, and root mean square distance of the points, in px; NaN where all are one.

    Examples
    --------
    >>> import numpy as np
    >>> _, y, dx, _, rms = line_through(np.array([0.0, 1.0, 2.0]), np.ones(3), np.ones(3))
    >>> abs(dx), y, rms
    (1.0, 1.0, 0.0)
    """
    px, py, mx, my, scale = _centred(x, y, w)
    if scale == 0.0:
        return np.nan, np.nan, np.nan, np.nan, np.nan
    gx, gy, dx, dy, ms = line_of(running_sums(px, py, w), 0, len(x))
    return mx + gx * scale, my + gy * scale, dx, dy, np.sqrt(ms) * scale


@compiled
def circle_through(x: FloatArray, y: FloatArray, w: FloatArray) -> tuple[float, float, float, float]:
    """Fit a circle by least squared distance (geometric, Gauss-Newton from Taubin's circle); ``w`` are weights.

    Returns
    -------
    x, y, radius, rms : float
        Centre, radius, and root mean square distance of the points, in px; NaN where the points determine no circle:
        fewer than three, or all on one line. A radius of 0 or less is none either.

    Examples
    --------
    >>> import numpy as np
    >>> t = np.linspace(0, 1, 20)
    >>> x, y, radius, _ = circle_through(5 + 30 * np.cos(t), 7 + 30 * np.sin(t), np.ones(20))
    >>> round(x, 6), round(y, 6), round(radius, 6)
    (5.0, 7.0, 30.0)
    """
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
