"""Ink along a track: whether what parts two pieces is a crossing stroke, or paper."""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.refine import FloatArray
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import Ground
from digitize.strokes.table import point_on
from digitize.strokes.tracks import Track

BoolArray = NDArray[np.bool_]

INK_LEVEL = 90
"""Darkness from which a point counts as ink."""
STEP_PX = 0.5
ABREAST_PX = np.array([0.0, -0.7, 0.7])
"""A track may run so far beside its ink."""


def inked_share(ground: Ground, track: Track, s0: float, s1: float) -> float:
    """Share of a stretch of track that is inked, between its ends (1 for an empty stretch)."""
    return share_inked(ground.all_dark, ground.picture_from_round, np.array(track.row), s0, s1)


def inked_along(ground: Ground, track: Track, s0: float, s1: float) -> BoolArray:
    """Whether there is ink at each of some points along a stretch of track, `STEP_PX` or less apart."""
    return inked_beside(ground, track, places(s0, s1), ABREAST_PX)


def inked_beside(ground: Ground, track: Track, s: FloatArray, offsets: FloatArray) -> BoolArray:
    """Whether there is ink at points of a track, at any of some offsets to its side."""
    return _any_ink(ground.all_dark, ground.picture_from_round, np.array(track.row), s, offsets)


@compiled
def places(s0: float, s1: float) -> FloatArray:
    """Middles of equal steps from one s to another, `STEP_PX` long or less."""
    count = max(math.ceil((s1 - s0) / STEP_PX), 0)
    return s0 + (np.arange(count) + 0.5) * (s1 - s0) / max(count, 1)


@compiled
def share_inked(dark: ByteImage, picture_from_round: FloatArray, row: FloatArray, s0: float, s1: float) -> float:
    """See `inked_share`; ``row`` is, or starts like, a row of `table.Table`."""
    inked = _any_ink(dark, picture_from_round, row, places(s0, s1), ABREAST_PX)
    return float(inked.mean()) if len(inked) else 1.0


@compiled
def _any_ink(
    dark: ByteImage, picture_from_round: FloatArray, row: FloatArray, s: FloatArray, offsets: FloatArray
) -> BoolArray:
    """See `inked_beside`."""
    found = np.zeros(len(s), np.bool_)
    for n in range(len(s)):
        for offset in offsets:
            x, y = point_on(row, s[n], offset)
            column = int(np.rint(picture_from_round[0, 0] * x + picture_from_round[0, 1] * y))
            line = int(np.rint(picture_from_round[1, 0] * x + picture_from_round[1, 1] * y))
            if 0 <= line < dark.shape[0] and 0 <= column < dark.shape[1] and dark[line, column] >= INK_LEVEL:
                found[n] = True
    return found
