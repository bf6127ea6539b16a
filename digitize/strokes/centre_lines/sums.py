"""Lines and circles through any run of weighted points, from running sums of their powers.

Sums along a chain make the fit of any part of it a matter of one subtraction. Points are to be centred and scaled
before any sum is formed, since the circle's sums hold fourth powers.

Glossary
--------
sums
    Running totals of w, wx, wy, wxx, wxy, wyy, wxz, wyz, wzz with z = xx + yy, one row a point and a row of zeros
    before the first.
"""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled

FloatArray = NDArray[np.float64]


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
