"""Small arrowheads of two quick strokes, as drawn by hand: found barb by barb on the grey picture.

Such a head is too short for its flanks to be followed, and finders of lettering take it for a letter. So it is looked
for in all ink, lettering or not: wherever a line ends or meets another, and in lettering also where none was traced.

Glossary
--------
barb
    See `barbs`.
shaft
    The ink between the barbs. Letters of three strokes that meet so are rare; K, X and Y have none there.
stranger
    See `strangers`.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import LevelSheet
from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.heads.barbs import INK, inked_on_ray, may_have_barb, spread_of
from digitize.strokes.heads.strangers import strangers_of
from digitize.strokes.table import Cells

FloatArray = NDArray[np.float64]

SHORTEST_PENS, LONGEST_PENS = 2.6, 9.0
SHORTEST_BARB_MM, LONGEST_BARB_MM = 0.6, 2.6
"""Length of a barb."""
STRANGER_TO_BARBS_MM = 1.2 * LONGEST_BARB_MM
"""Strokes that run on for this far are no barbs of such a head."""
BARBS_REACH_MM = 2.0 * LONGEST_BARB_MM
"""Nothing further from the tip is looked at."""
LEAST_CONTRAST = 120.0
"""Darkness of a barb over that of the paper beside it."""
UNLIKE_DEG, UNLIKE_RATIO = 21.0, 1.9
"""How far two barbs of one hand differ in spread and length."""
LEAST_PART_PENS = 1.2
"""The barbs' ends lie at least this far off the middle of the shaft."""
LEAST_SHAFT_SHARE = 0.75
SHAFT_SHARE, CLEAR_BEHIND_SHARE = 0.55, 0.35
"""Behind the barbs the shaft takes at most this share of their width, and at most this share of the rest is ink."""
TIP_STEPS = 2
"""Places within a pen's width ahead and behind at which the tip is tried."""
DOUBT = 0.2
"""A head whose flanks were followed goes before one of the same place found by its barbs."""
SPREAD_DOUBT = 0.05
"""Of two heads that share barbs, the slimmer is more likely."""


@dataclass(frozen=True)
class Barbed:
    """A head found by its barbs: how far its tip lies ahead of the point looked at, its size, and its contrast."""

    ahead: float
    length: float
    half_width: float
    is_open: bool
    contrast: float


@compiled
def head_at(
    dark: ByteImage,
    strangers: FloatArray,
    x: float,
    y: float,
    dx: float,
    dy: float,
    pen: float,
    shortest: float,
    longest: float,
    out: FloatArray,
) -> float:
    """Score of a head with its tip exactly here, 0 for none; ``out`` gets length, half width, openness, contrast."""
    for side in (1.0, -1.0):
        if not may_have_barb(dark, strangers, x, y, dx, dy, side, shortest):
            return 0.0
    left, right = np.zeros(3), np.zeros(3)
    spread_of(dark, strangers, x, y, dx, dy, 1.0, pen, shortest, longest, left)
    if left[1] < shortest or left[2] < LEAST_CONTRAST:
        return 0.0
    spread_of(dark, strangers, x, y, dx, dy, -1.0, pen, shortest, longest, right)
    if right[1] < shortest or right[2] < LEAST_CONTRAST:
        return 0.0
    ratio = max(left[1], right[1]) / min(left[1], right[1])
    if abs(left[0] - right[0]) > UNLIKE_DEG or ratio > UNLIKE_RATIO:
        return 0.0
    a, b = math.radians(left[0]), math.radians(right[0])
    back = 0.5 * (left[1] * math.cos(a) + right[1] * math.cos(b))
    wide = 0.5 * (left[1] * math.sin(a) + right[1] * math.sin(b))
    if min(left[1] * math.sin(a), right[1] * math.sin(b)) < LEAST_PART_PENS * pen:
        return 0.0
    if inked_on_ray(dark, strangers, x, y, -dx, -dy, pen, back) < LEAST_SHAFT_SHARE:
        return 0.0
    behind = max(left[1] * math.cos(a), right[1] * math.cos(b)) + 1.3 * pen
    cx, cy = x - behind * dx, y - behind * dy
    for side in (-1.0, 1.0):
        nx, ny = -dy * side, dx * side
        first = max(SHAFT_SHARE * wide, 0.5 * pen + 1.0)
        if not 0.0 <= inked_on_ray(dark, strangers, cx, cy, nx, ny, first, wide + 0.5) <= CLEAR_BEHIND_SHARE:
            return 0.0
    # paper between barb and shaft, where there is room for it, near the barbs' ends
    inner, n = 0.0, 0
    for side, turn, length in ((1.0, a, left[1]), (-1.0, b, right[1])):
        r = 0.85 * length
        off = 0.5 * r * math.sin(turn)
        px, py = x - r * math.cos(turn) * dx - off * dy * side, y - r * math.cos(turn) * dy + off * dx * side
        inner += darkness_at(dark, px, py)
        n += 1
    out[0], out[1], out[2], out[3] = back, wide, 1.0 if inner / n < INK else 0.0, 0.5 * (left[2] + right[2])
    return float((left[1] * left[2] + right[1] * right[2]) / ratio)


def barbed_from(ahead: float, found: list[float]) -> Barbed:
    """The head that `best_tip` describes."""
    length, half_width, is_open, contrast = found
    return Barbed(ahead, length, half_width, is_open > 0.5, contrast)


@compiled
def best_tip(
    dark: ByteImage,
    strangers: FloatArray,
    x: float,
    y: float,
    dx: float,
    dy: float,
    pen: float,
    shortest: float,
    longest: float,
    best: FloatArray,
) -> float:
    """How far ahead of a point the tip of the best head lies, which ``best`` describes; NaN where there is none."""
    out = np.zeros(4)
    score, ahead = 0.0, math.nan
    for step in range(-TIP_STEPS, TIP_STEPS + 1):
        offset = pen * step / TIP_STEPS
        here = head_at(dark, strangers, x + offset * dx, y + offset * dy, dx, dy, pen, shortest, longest, out)
        if here > score:
            score, ahead = here, offset
            best[:] = out
    return ahead


@compiled
def best_tips(
    rows: FloatArray, cells: Cells, picture: FloatArray, dark: ByteImage, rays: FloatArray, mm: float
) -> FloatArray:
    """For each of many places how far ahead the best head's tip lies, NaN for none, and what `best_tip` tells of it.

    ``rays`` are x, y, dx, dy of each place and the width of its pen, and ``mm`` is a mm of paper in px.
    """
    found = np.zeros((len(rays), 5))
    for n in range(len(rays)):
        x, y, dx, dy, pen = rays[n]
        lengths = mm, STRANGER_TO_BARBS_MM * mm, BARBS_REACH_MM * mm
        strangers = strangers_of(rows, cells, picture, x, y, dx, dy, lengths[0], lengths[1], lengths[2])
        px, py = picture[0, 0] * x + picture[0, 1] * y, picture[1, 0] * x + picture[1, 1] * y
        qx, qy = picture[0, 0] * dx + picture[0, 1] * dy, picture[1, 0] * dx + picture[1, 1] * dy
        shortest, longest = lengths_of_barbs(mm, pen)
        found[n, 0] = best_tip(dark, strangers, px, py, qx, qy, pen, shortest, longest, found[n, 1:])
    return found


def barb_lengths(sheet: LevelSheet, pen: float) -> tuple[float, float]:
    """Shortest and longest barb, in px."""
    return lengths_of_barbs(sheet.px(1.0), pen)


@compiled
def lengths_of_barbs(mm: float, pen: float) -> tuple[float, float]:
    """See `barb_lengths`; ``mm`` is a mm of paper in px."""
    shortest = max(SHORTEST_PENS * pen, SHORTEST_BARB_MM * mm)
    return shortest, max(shortest, min(LONGEST_PENS * pen, LONGEST_BARB_MM * mm))
