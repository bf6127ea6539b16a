"""Full circles settled on the grey picture: every place is matched with the circle's own mean profile.

Centres were measured one by one, each between two edges found on a few noisy pixels. Once a circle is known, the mean
of its profiles says what a place of it looks like, and the shift that fits a place best uses all its pixels by what
they tell (a matched filter). The mean is made symmetric, so that nothing leans to a side.

A circle is blurred inwards, for there is more paper outside its line than within: by the blur's variance over twice the
radius. The blur is read off the edge of the mean profile, and the radius put right. Of a part of a circle, where errors
that hang on how a place lies between pixels do not average out, the first fit is as good and stays.
"""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled
from digitize.strokes.fit import ARC
from digitize.strokes.ground import Ground
from digitize.strokes.pieces import Piece, Track
from digitize.strokes.refine import DOUBTFUL, Trail, darkness_at
from digitize.strokes.seeds import ByteImage

FloatArray = NDArray[np.float64]

STEP_PX = 0.5
BEYOND_PX = 3.0
"""Profiles reach so far beyond the stroke's edge."""
PAPER_SHARE = 0.3
"""Where the end of a profile is as dark as this beside its middle, another stroke lies near."""
LEAST_SHARE = 0.95
"""A circle is drawn over this share of its turn."""
EDGE_PX = 1.75
"""The blur of an edge reaches so far to either side."""
LEAST_PLACES = 16
STEPS = 3
FARTHEST_PX = 0.5
"""A track that would move further was fitted to something else."""
STRAY_SIGMAS = 3.5
MAD_TO_SIGMA = 1.4826


def polished(ground: Ground, trail: Trail, piece: Piece) -> Piece:
    """Settle the track of a full circle; the same piece where too little of it can be trusted, or it is none."""
    if piece.track.kind != ARC or piece.length < LEAST_SHARE * piece.track.period:
        return piece
    s = _trusted_places(trail, piece)
    track, places = piece.track, len(s)
    for _ in range(STEPS):
        if places < LEAST_PLACES:
            return piece
        shift, kept, blur = _shifts(ground, track, s, piece.width)
        places = int(kept.sum())
        if places < LEAST_PLACES:
            return piece
        moved = _moved(track, s[kept], shift[kept], blur)
        s = s * moved.radius / track.radius
        track = moved
    if math.hypot(track.x - piece.track.x, track.y - piece.track.y) > FARTHEST_PX:
        return piece
    growth = track.radius / piece.track.radius
    return replace(piece, track=track, s0=piece.s0 * growth, s1=piece.s1 * growth)


def _trusted_places(trail: Trail, piece: Piece) -> FloatArray:
    """s of the trusted trail points of a piece."""
    picks = np.concatenate([np.arange(a, b) for a, b in piece.spans])
    picks = picks[trail.weight[picks] > 5 * DOUBTFUL]
    s, _ = piece.track.place(np.stack([trail.x[picks], trail.y[picks]], axis=1))
    return s


def _shifts(ground: Ground, track: Track, s: FloatArray, width: float) -> tuple[FloatArray, NDArray[np.bool_], float]:
    """How far off the track the ink lies at some places, which of them can be trusted, and the variance of the blur."""
    middle = ground.in_picture(track.at(s))
    across = ground.in_picture(track.at(s, 1.0)) - middle
    count = math.ceil((0.5 * width + BEYOND_PX) / STEP_PX)
    profile = _profiles(ground.dark, middle, across, count)
    dark = profile[:, count - 1 : count + 2].mean(axis=1)
    lone = np.maximum(profile[:, 0], profile[:, -1]) <= PAPER_SHARE * dark
    if not lone.any():
        return np.zeros(len(s)), lone, 0.0
    mean = profile[lone].mean(axis=0)
    mean = 0.5 * (mean + mean[::-1])
    slope = np.gradient(mean, STEP_PX)
    shift = -(profile @ slope) / float(slope @ slope)
    off = shift - np.median(shift[lone])
    sigma = MAD_TO_SIGMA * float(np.median(np.abs(off[lone])))
    return shift, lone & (np.abs(off) <= max(STRAY_SIGMAS * sigma, FARTHEST_PX)), _blur(-slope[count:])


def _blur(fall: FloatArray) -> float:
    """Variance in square px of where the darkness falls, outwards from the middle of a profile."""
    t = (np.arange(len(fall)) - int(np.argmax(fall))) * STEP_PX
    weight = np.where(np.abs(t) <= EDGE_PX, np.maximum(fall, 0.0), 0.0)
    return float(np.average((t - np.average(t, weights=weight)) ** 2, weights=weight))


@compiled
def _profiles(dark: ByteImage, middle: FloatArray, across: FloatArray, count: int) -> FloatArray:
    """Darkness across a track, ``count`` samples to either side of every place."""
    out = np.empty((len(middle), 2 * count + 1))
    for n in range(len(middle)):
        for k in range(2 * count + 1):
            t = (k - count) * STEP_PX
            out[n, k] = darkness_at(dark, middle[n, 0] + t * across[n, 0], middle[n, 1] + t * across[n, 1])
    return out


def _moved(track: Track, s: FloatArray, shift: FloatArray, blur: float) -> Track:
    """The circle that passes the shifted places best."""
    angle = s / track.radius
    rows = np.stack([np.cos(angle), np.sin(angle), np.ones_like(angle)], axis=1)
    (x, y, growth), *_ = np.linalg.lstsq(rows, shift + blur / (2.0 * track.radius), rcond=None)
    return replace(track, x=track.x + float(x), y=track.y + float(y), radius=track.radius + float(growth))
