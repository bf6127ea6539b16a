"""The two sides of a wide bar of ink, as they lie on the grey picture.

Glossary
--------
bar
    See `doubled`.
side
    One of its two straight edges, and the line that a pen drew along it.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.profiles import darkness_at
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.joining.inked import INK_LEVEL
from digitize.strokes.tracks import Track

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

FLATTEST = 0.6
"""A bar's middle line bends, where its sides end apart, by no more than this share of the pen."""
STEP_PX = 0.5
HALF_LEVEL = 128.0
REACH_PX = 3.0
"""An edge is looked for from so far outside the ink inwards."""
LEAST_SEEN = 0.35
"""Share of a side along which its edge must be seen; other strokes may end on it elsewhere."""
STRAY_PX, ROUNDS = 1.0, 4
"""Places that stray further from a side's edge are none of it: other ink, and the gaps between dashes."""
INSIDE = 0.3
"""Ink of a side is looked for this share of the pen inside its edge,"""
CAP = math.sqrt(0.25 - (0.5 - INSIDE) ** 2)
"""where the round end of a stroke reaches this share of the pen beyond its last place."""


@dataclass(frozen=True)
class Side:
    """The line along one edge of a bar: its offset from the bar's track at both ends, and its ink along it."""

    first: float
    last: float
    s: FloatArray
    inked: BoolArray

    def runs(self, least: float) -> list[tuple[float, float]]:
        """Stretches of ink, gaps shorter than ``least`` closed."""
        edges = np.flatnonzero(np.diff(np.concatenate([[False], self.inked, [False]]).astype(np.int8)))
        found: list[tuple[float, float]] = []
        for a, b in zip(self.s[edges[::2]].tolist(), self.s[edges[1::2] - 1].tolist(), strict=True):
            if found and a - found[-1][1] < least:
                found[-1] = found[-1][0], b
            else:
                found.append((a, b))
        return found


def side_of(ground: Ground, track: Track, length: float, width: float, pen: float, sign: float) -> Side | None:
    """Find the straight edge of a bar to one side; None where too little of it is seen."""
    (ox, oy), (ax, ay), (nx, ny) = ground.in_picture(
        np.array([(track.x, track.y), (track.dx, track.dy), (-track.dy, track.dx)])
    ).tolist()
    frame = np.array([ox, oy, ax, ay, sign * nx, sign * ny])
    s = np.arange(pen, length - pen, STEP_PX)
    edge = _edges(ground.dark, frame, s, 0.5 * width + FLATTEST * pen + REACH_PX)
    seen = np.isfinite(edge)
    if seen.sum() < max(LEAST_SEEN * len(s), 4):
        return None
    keep = seen & (edge >= np.median(edge[seen]) - STRAY_PX)
    for _ in range(ROUNDS):
        slope, at = np.polyfit(s[keep], edge[keep], 1)
        keep = seen & (np.abs(edge - at - slope * s) <= STRAY_PX)
        if keep.sum() < max(LEAST_SEEN * len(s), 4):
            return None
    along = np.arange(-width, length + width, STEP_PX)
    inked = _inked(ground.dark, frame, along, at + slope * along - INSIDE * pen)
    first, last = (sign * (at + slope * end - 0.5 * pen) for end in (0.0, length))
    return Side(float(first), float(last), along, inked)


@compiled
def _edges(dark: ByteImage, frame: FloatArray, s: FloatArray, outside: float) -> FloatArray:
    """How far off its track a bar's ink ends at some places; NaN where there is ink further out."""
    found = np.full(len(s), np.nan)
    for n in range(len(s)):
        x, y = frame[0] + s[n] * frame[2], frame[1] + s[n] * frame[3]
        before, off = darkness_at(dark, x + outside * frame[4], y + outside * frame[5]), outside
        if before >= HALF_LEVEL:
            continue
        while off > 0.0:
            off -= STEP_PX
            here = darkness_at(dark, x + off * frame[4], y + off * frame[5])
            if here >= HALF_LEVEL:
                found[n] = off + STEP_PX * (here - HALF_LEVEL) / (here - before)
                break
            before = here
    return found


@compiled
def _inked(dark: ByteImage, frame: FloatArray, s: FloatArray, off: FloatArray) -> BoolArray:
    """Whether there is ink at places along a track and off it."""
    found = np.zeros(len(s), np.bool_)
    for n in range(len(s)):
        x, y = frame[0] + s[n] * frame[2] + off[n] * frame[4], frame[1] + s[n] * frame[3] + off[n] * frame[5]
        found[n] = darkness_at(dark, x, y) >= INK_LEVEL
    return found
