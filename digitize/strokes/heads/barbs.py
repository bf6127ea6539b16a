"""A barb of a small arrowhead drawn by hand, found on the grey picture.

Glossary
--------
barb
    A stroke that runs back from the tip at an angle to the shaft, with paper on its outside, and ends.
stranger
    See `strangers`; what lies under its ink is unknown.
"""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import FULL_DARKNESS
from digitize.strokes.heads.strangers import is_hidden

FloatArray = NDArray[np.float64]

INK = 100.0
"""Darkness at the edge of ink."""
NARROWEST_DEG, WIDEST_DEG, TURN_STEP_DEG = 15.0, 60.0, 3.0
BARB_DEG = np.arange(NARROWEST_DEG, WIDEST_DEG + TURN_STEP_DEG, TURN_STEP_DEG)
BARB_WAYS = np.column_stack([BARB_DEG, np.cos(np.radians(BARB_DEG)), np.sin(np.radians(BARB_DEG))])
"""Angles to the shaft at which a barb is tried, with cosine and sine."""


@compiled
def _barb(
    dark: ByteImage,
    strangers: FloatArray,
    x: float,
    y: float,
    ux: float,
    uy: float,
    ox: float,
    oy: float,
    pen: float,
    longest: float,
    best: float,
) -> tuple[float, float]:
    """Length and contrast of a barb from (x, y) along (ux, uy), its outside along (ox, oy); 0 where there is none.

    Nor where their product can't be more than ``best``, which is soon told.
    """
    r, steps = 0.8 * pen, 0
    while r <= longest + pen:
        px, py = x + r * ux, y + r * uy
        if darkness_at(dark, px, py) < INK and not is_hidden(strangers, px, py):
            break
        r += 0.5
        steps += 1
    if r > longest or r * FULL_DARKNESS <= best:
        return 0.0, 0.0
    end = _last_seen(strangers, x, y, ux, uy, 0.8 * pen, steps)
    if end * FULL_DARKNESS <= best:
        return 0.0, 0.0
    aside = 0.75 * pen + 1.2
    rise, seen = 0.0, 0
    r = 0.8 * pen
    while r <= end:
        if r >= 0.5 * int(end):  # its farther half: near the tip other strokes lie beside it
            px, py = x + r * ux, y + r * uy
            qx, qy = px + aside * ox, py + aside * oy
            if not is_hidden(strangers, px, py) and not is_hidden(strangers, qx, qy):
                here, beside = darkness_at(dark, px, py), darkness_at(dark, qx, qy)
                if here >= beside:
                    rise += here - beside
                    seen += 1
        r += 0.5
    return (end, rise / seen) if seen >= 3 else (0.0, 0.0)


@compiled
def _last_seen(strangers: FloatArray, x: float, y: float, ux: float, uy: float, first: float, steps: int) -> float:
    """How far out the last of some steps along a barb lies that no stranger hides; 0 where they hide all."""
    for count in range(steps - 1, -1, -1):
        r = first
        for _ in range(count):
            r += 0.5
        if not is_hidden(strangers, x + r * ux, y + r * uy):
            return r
    return 0.0


@compiled
def _runs_on(dark: ByteImage, strangers: FloatArray, x: float, y: float, ux: float, uy: float, shortest: float) -> bool:
    """Whether a barb may run so far along (ux, uy): ink, or hidden, at its least length and at half of it."""
    for r in (shortest, 0.5 * shortest):
        px, py = x + r * ux, y + r * uy
        if darkness_at(dark, px, py) < INK and not is_hidden(strangers, px, py):
            return False
    return True


@compiled
def may_have_barb(
    dark: ByteImage, strangers: FloatArray, x: float, y: float, dx: float, dy: float, side: float, shortest: float
) -> bool:
    """Whether a barb may run back on one side at any angle but the first and last ones, which are none; fast."""
    nx, ny = -dy * side, dx * side
    for _, c, s in BARB_WAYS[1:-2]:
        if _runs_on(dark, strangers, x, y, -c * dx + s * nx, -c * dy + s * ny, shortest):
            return True
    return False


@compiled
def spread_of(
    dark: ByteImage,
    strangers: FloatArray,
    x: float,
    y: float,
    dx: float,
    dy: float,
    side: float,
    pen: float,
    shortest: float,
    longest: float,
    out: FloatArray,
) -> None:
    """Angle to the shaft, length and contrast of the best barb on one side; zeros where there is none."""
    out[:] = 0.0
    best = 0.0
    nx, ny = -dy * side, dx * side
    for angle, c, s in BARB_WAYS:
        ux, uy = -c * dx + s * nx, -c * dy + s * ny
        if not _runs_on(dark, strangers, x, y, ux, uy, shortest):
            continue
        length, contrast = _barb(dark, strangers, x, y, ux, uy, s * dx + c * nx, s * dy + c * ny, pen, longest, best)
        if length * contrast > best:
            best = length * contrast
            out[0], out[1], out[2] = angle, length, contrast
    if out[0] <= NARROWEST_DEG or out[0] >= WIDEST_DEG - TURN_STEP_DEG:
        out[:] = 0.0  # best at the end of the range: the edge of a thick shaft or of a line across


@compiled
def inked_on_ray(
    dark: ByteImage, strangers: FloatArray, x: float, y: float, ux: float, uy: float, first: float, last: float
) -> float:
    """Share of a ray from ``first`` to ``last`` that is ink, strangers left out; -1 where they hide it all."""
    ink, n = 0, 0
    r = first
    while r <= last:
        px, py = x + r * ux, y + r * uy
        if not is_hidden(strangers, px, py):
            ink += darkness_at(dark, px, py) >= INK
            n += 1
        r += 0.5
    return ink / n if n > 0 else -1.0
