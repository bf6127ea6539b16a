"""The circle, drawn with some pen, that explains the darkness of pixels best: least squares.

For noise alike on all pixels no other method beats that. A circle is blurred inwards, for there is more paper outside
its line than within: by the blur's variance over twice the radius (heat that spreads in a plane drifts towards the
centre at that rate). The model holds this drift. A free end is rounded by pen and blur: the model holds this too, since
the last pixels of an arc tell most of its radius.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled

FloatArray = NDArray[np.float64]

STEPS = 6
SETTLED_PX = 0.01
"""On grey a step less than this leaves nothing to be gained; on one-bit edges all further ones stray by as much."""
PIXEL_VARIANCE = 1.0 / 12.0
ROUNDED_SIGMAS = 4.0
"""Further before an end, its rounding cannot be seen."""
STRAY_SIGMAS, STRAY_SHARE = 4.0, 0.1
"""A pixel that differs from the model by more, and by this share of full darkness, shows something else."""
MAD_TO_SIGMA = 1.4826
SPREAD = 1.0 / 240.0
"""A pixel is the mean over its square. Two places so far from its middle along the circle's normal, to the fourth power
and times the sum of the fourth powers of the normal's parts, with what the blur takes of the rest, have the square's
second and fourth moments along it (1/12 and, for a normal along the rows, 1/80, so that 2 d^4 = 3/144 - 1/80)."""
ALONG = SPREAD**0.5
"""Variance of the square along the circle, less what the blur holds of it: this bends off the circle as blur does."""
ERF = (0.254829592, -0.284496736, 1.421413741, -1.453152027, 1.061405429)
ERF_AT = 0.3275911
"""Abramowitz and Stegun 7.1.26 (from memory; held against the standard library's erf in a test): within 1.5e-7."""
BLUR_PX = 0.6
HALF_ROUND = 0.5
LEAST_BLUR_PX, MOST_BLUR_PX = 0.3, 2.0
DAMPING = 1e-6
"""Keeps width, blackness and blur apart where a thin line cannot tell them; they hardly move the circle."""
UNKNOWNS = 8
"""Centre x and y, radius, half width, blackness, paper, blur; how round free ends are (1 a half circle, 0 square)."""


@compiled
def settled_circle(pixels: FloatArray, value: FloatArray, past: FloatArray, start: FloatArray) -> FloatArray:
    """The `UNKNOWNS` that explain the pixels best; NaN where none do."""
    at = np.array([start[0], start[1], start[2], start[3], np.max(value), 0.0, BLUR_PX, HALF_ROUND])
    stray = np.inf
    for step in range(STEPS):
        normal, right, off = _normal_equations(pixels, value, past, at, stray)
        for k in range(UNKNOWNS):
            normal[k, k] += DAMPING * normal[k, k] + 1e-9
        move = np.linalg.solve(normal, right)
        at += move
        at[6] = min(max(at[6], LEAST_BLUR_PX), MOST_BLUR_PX)
        at[7] = max(at[7], 0.0)
        if not np.isfinite(at).all() or at[2] <= 1.0 or at[3] <= 0.2:
            return np.full(UNKNOWNS, np.nan)
        if step:
            stray = max(STRAY_SIGMAS * MAD_TO_SIGMA * np.median(np.abs(off)), STRAY_SHARE * at[4])
        if step > 1 and np.abs(move[:3]).max() < SETTLED_PX:
            break
    return at


@compiled
def error_function(x: float, fall: float) -> float:
    """The error function at ``x``, where ``fall`` is exp(-x^2), which is what costs most and is known here."""
    u = 1.0 / (1.0 + ERF_AT * abs(x))
    rest = u * (ERF[0] + u * (ERF[1] + u * (ERF[2] + u * (ERF[3] + u * ERF[4])))) * fall
    return math.copysign(1.0 - rest, x)


@compiled
def _rounding(past: float, blur: float) -> float:
    """Mean square of how far a place, blurred along the stroke, lies past its end.

    By so much the square of its distance from a round end exceeds that from the circle: E[max(past + blur Z, 0)^2] for
    a normal Z.
    """
    z = past / blur
    if z < -ROUNDED_SIGMAS:
        return 0.0
    below, density = 0.5 * (1.0 + math.erf(z / math.sqrt(2.0))), math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi)
    return blur * blur * ((z * z + 1.0) * below + z * density)


@compiled
def _normal_equations(
    pixels: FloatArray, value: FloatArray, past: FloatArray, at: FloatArray, stray: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Normal matrix and right side of one Gauss-Newton step, and what is left of every pixel."""
    x0, y0, radius, half, black, paper, blur, roundness = at
    normal, right, left = np.zeros((UNKNOWNS, UNKNOWNS)), np.zeros(UNKNOWNS), np.empty(len(value))
    row = np.empty(UNKNOWNS)
    root, density = 1.0 / (blur * math.sqrt(2.0)), 1.0 / (blur * math.sqrt(2.0 * math.pi))
    beyond = math.sqrt(blur * blur + PIXEL_VARIANCE)
    for n in range(len(value)):
        row[:] = 0.0
        row[5] = 1.0
        rounding = _rounding(past[n], beyond)
        px, py = pixels[n, 0] - x0, pixels[n, 1] - y0
        distance = max(math.sqrt(px * px + py * py), 1e-9)
        c, d = px / distance, py / distance
        spread = math.sqrt(math.sqrt(SPREAD * (c**4 + d**4)))
        far = max(distance, 1.0)
        middle = distance + (blur * blur + ALONG) / (2.0 * far) - radius
        for side in (-1.0, 1.0):
            t = middle + side * spread
            away = math.copysign(math.sqrt(t * t + roundness * rounding), t) if rounding > 0.0 else t
            inner, outer = away + half, away - half
            fall_inner, fall_outer = math.exp(-((inner * root) ** 2)), math.exp(-((outer * root) ** 2))
            at_inner, at_outer = density * fall_inner, density * fall_outer
            slope = 0.5 * black * (at_inner - at_outer)
            if rounding > 0.0:
                row[7] += 0.5 * slope * rounding / away
                slope *= t / away
            row[2] -= slope
            row[3] += 0.5 * black * (at_inner + at_outer)
            row[4] += 0.25 * (error_function(inner * root, fall_inner) - error_function(outer * root, fall_outer))
            row[6] += slope * blur / far - 0.5 * black * (inner * at_inner - outer * at_outer) / blur
        row[0], row[1] = c * row[2], d * row[2]
        left[n] = value[n] - paper - black * row[4]
        if abs(left[n]) > stray:
            continue
        for i in range(UNKNOWNS):
            right[i] += row[i] * left[n]
            for j in range(UNKNOWNS):  # both halves alike, which the processor adds up four at a time
                normal[i, j] += row[i] * row[j]
    return normal, right, left
