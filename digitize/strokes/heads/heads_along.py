"""Small heads along a straight way through the picture, whatever was traced there.

Glossary
--------
bar
    Ink that crosses the way just ahead of a tip: the extension line or edge that a head points at.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.heads.barbed_heads import head_at
from digitize.strokes.heads.barbs import INK

FloatArray = NDArray[np.float64]

STEP_PENS = 0.25
"""Tips are tried so far apart."""
TURNS_DEG = (-5.0, 0.0, 5.0)
"""A head may be turned a little against the way along which it is looked for."""
BAR_AHEAD_PENS, BAR_HALF_PENS = 2.5, 2.2
"""The bar lies so far ahead of the tip at most, and reaches so far to one side at least."""


@compiled
def inked(dark: ByteImage, x0: float, y0: float, x1: float, y1: float) -> float:
    """Share of a straight way that is ink."""
    steps = int(2.0 * math.hypot(x1 - x0, y1 - y0)) + 1
    ink = 0
    for k in range(steps + 1):
        ink += darkness_at(dark, x0 + (x1 - x0) * k / steps, y0 + (y1 - y0) * k / steps) >= INK
    return ink / (steps + 1)


@compiled
def heads_along(
    dark: ByteImage,
    x: float,
    y: float,
    dx: float,
    dy: float,
    first: float,
    last: float,
    widest: float,
    hx: float,
    hy: float,
    pen: float,
    shortest: float,
    longest: float,
    words: FloatArray,
) -> FloatArray:
    """Heads along (dx, dy) that point along (hx, hy) with a bar ahead.

    Rows of score, distances out and aside, length, openness, and whether the shaft runs on behind. None has its tip in
    ``words``: rows of a corner x, y and the two sides from it as vectors.
    """
    found = []
    best = np.zeros(4)
    none = np.zeros((0, 8))
    step = STEP_PENS * pen
    aside = -widest
    while aside <= widest:
        r = first
        while r <= last:
            px, py = x + r * dx - aside * dy, y + r * dy + aside * dx
            if _is_inked(dark, px, py) and not _in_any(words, px, py) and _bar_ahead(dark, px, py, hx, hy, pen):
                for turn_deg in TURNS_DEG:
                    turn = math.radians(turn_deg)
                    c, s = math.cos(turn), math.sin(turn)
                    ux, uy = c * hx - s * hy, s * hx + c * hy
                    score = head_at(dark, none, px, py, ux, uy, pen, shortest, longest, best)
                    if score > 0.0:
                        runs_on = _runs_on(dark, px, py, hx, hy, best[0] + pen)
                        found.append((score, r, aside, best[0], best[2], 1.0 if runs_on else 0.0))
            r += step
        aside += step
    return np.array(found).reshape(-1, 6) if len(found) else np.zeros((0, 6))


@compiled
def _in_any(words: FloatArray, x: float, y: float) -> bool:
    """Whether a point lies in any of some rectangles, each a corner and two sides."""
    for cx, cy, ux, uy, vx, vy in words:
        along, down = (x - cx) * ux + (y - cy) * uy, (x - cx) * vx + (y - cy) * vy
        if 0.0 <= along <= ux * ux + uy * uy and 0.0 <= down <= vx * vx + vy * vy:
            return True
    return False


@compiled
def _runs_on(dark: ByteImage, x: float, y: float, dx: float, dy: float, back: float) -> bool:
    """Whether the shaft is still seen so far behind a tip: seen from behind, barbs and a bar look like a head too."""
    px, py = x - back * dx, y - back * dy
    return _is_inked(dark, px, py) or _is_inked(dark, px - dy, py + dx) or _is_inked(dark, px + dy, py - dx)


@compiled
def any_ink(
    dark: ByteImage, x: float, y: float, dx: float, dy: float, first: float, last: float, widest: float
) -> bool:
    """Whether there is ink anywhere in a rectangle along (dx, dy)."""
    aside = -widest
    while aside <= widest:
        r = first
        while r <= last:
            if _is_inked(dark, x + r * dx - aside * dy, y + r * dy + aside * dx):
                return True
            r += 1.0
        aside += 1.0
    return False


@compiled
def inked_as_far_as(
    dark: ByteImage,
    x: float,
    y: float,
    dx: float,
    dy: float,
    first: float,
    last: float,
    widest: float,
    least: float,
) -> float:
    """How far out along (dx, dy) the share of places from ``first`` on with ink anywhere across is still ``least``."""
    far, ink, places = first, 0, 0
    r = first
    while r <= last:
        places += 1
        ink += any_ink(dark, x, y, dx, dy, r, r, widest)
        if ink >= least * places:
            far = r
        r += 1.0
    return far


@compiled
def _bar_ahead(dark: ByteImage, x: float, y: float, dx: float, dy: float, pen: float) -> bool:
    """Whether ink reaches out to a side of the axis at a point or just ahead of it."""
    half = BAR_HALF_PENS * pen
    r = 0.0
    while r <= BAR_AHEAD_PENS * pen:
        px, py = x + r * dx, y + r * dy
        if _is_inked(dark, px - half * dy, py + half * dx) or _is_inked(dark, px + half * dy, py - half * dx):
            return True
        r += 1.0
    return False


@compiled
def _is_inked(dark: ByteImage, x: float, y: float) -> bool:
    """Whether the pixel at a point is ink; outside the picture none is."""
    column, row = round(x), round(y)
    return bool(0 <= row < dark.shape[0] and 0 <= column < dark.shape[1] and dark[row, column] >= INK)
