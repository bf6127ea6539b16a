"""Ruled lines of a sheet as tracks of points, and what of them speaks of a bend: their bows, arches and kinks."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray
from calibrate.straightening.bars import TRACK_POINTS, Bars
from calibrate.straightening.pieces import as_one, in_one_line

ARCHED_STDS = 3.0
"""Standard errors of a line's arch from which it counts as bowed beside one that is: flat sheets stay below 1.5. Also
of a point that is a line's kink."""
FEWEST_BOWED = 2
CORNER_POINTS = 2
"""A ruled line may run into a corner or a fillet: so many points at each end are no kink over a crease."""
CREASE_LEAN_DEG = 10.0
"""A crease is square to the lines it kinks to within this (no source: sheets are folded along their sides)."""
CREASE_SHARE = 0.2
"""Lines that tell of one crease lie further apart than this part of the longer side: one stain kinks two neighbours."""
PLAIN_SHARE, PLAIN_PENS = 0.5, 0.5
"""Lines longer than this part of the longer side are borders, centre lines and edges, and no flat arcs; a ruler strays
by a tenth of this part of its pen (no source for either)."""
WOBBLE_PENS = 0.04
"""A ruled line strays along itself by this part of the pen's width (measured on drawn samples)."""
POINTS_APART = 8
"""Independent points of a track: what strays, strays over some length."""
STRAY_PENS = 0.5
"""One end of a line against the other, square to it, as drawn."""


@dataclass(frozen=True)
class Tracks:
    """Points along ruled lines, about the sheet's middle in units of half its longer side.

    Attributes
    ----------
    points : ndarray, float64, shape (N, TRACK_POINTS, 2)
    along : ndarray, int, shape (N,)
        Coordinate along each line: 0 for level lines, 1 for upright ones.
    std, stray : ndarray, float64, shape (N,)
        Standard deviation of points about a straight line, and of its rise over its length.
    """

    points: FloatArray
    along: NDArray[np.intp]
    std: FloatArray
    stray: FloatArray


def tracks_of(level: Bars, upright: Bars, unit: float, middle: FloatArray, pen_px: float) -> Tracks:
    """What the sheet's lines were ruled as: pieces of one line that a crease parted are one again."""
    both = level.joined(upright)
    along = np.repeat([0, 1], [len(level.tracks), len(upright.tracks)])
    lines = in_one_line(both.tracks, along, 2 * unit, pen_px)
    along = np.array([along[line[0]] for line in lines], np.intp)
    points = [as_one(both.tracks[line], axis) for line, axis in zip(lines, along, strict=True)]
    track_std_px = np.array([both.track_std_px[line].max() for line in lines])
    std = np.hypot(track_std_px, WOBBLE_PENS * pen_px) * (TRACK_POINTS / POINTS_APART) ** 0.5 / unit
    stray = np.full(len(along), STRAY_PENS * pen_px / unit)
    return Tracks((np.reshape(points, (-1, TRACK_POINTS, 2)) - middle) / unit, along, std, stray)


def straightness(points: FloatArray, along: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
    """Distances of tracks' points from their own straight lines, and each line's rise.

    Parameters
    ----------
    points : ndarray, float64, shape (..., N, K, 2)
        In order along each track.
    along : ndarray, int, shape (N,)

    Returns
    -------
    tuple of ndarray, float64, shapes (..., N, K) and (..., N)
    """
    level = (along == 0)[:, None]
    x, y = (np.where(level, points[..., k], points[..., 1 - k]) for k in (0, 1))
    x, y = x - x.mean(axis=-1, keepdims=True), y - y.mean(axis=-1, keepdims=True)
    slope = (x * y).sum(axis=-1) / np.square(x).sum(axis=-1)
    return y - slope[..., None] * x, slope * np.abs(x[..., -1] - x[..., 0])


def extent(points: FloatArray) -> FloatArray:
    """How far tracks reach along x or y, whichever is more; points of shape (..., K, 2)."""
    return np.asarray(np.abs(points[..., -1, :] - points[..., 0, :]).max(axis=-1), np.float64)


def arching(off: FloatArray, std: FloatArray) -> FloatArray:
    """How far lines arch, as part of what their points' distances from an arch leave unsure, shape (N,)."""
    along = np.linspace(-1, 1, TRACK_POINTS)
    arch = (along**2 - np.mean(along**2)) / np.linalg.norm(along**2 - np.mean(along**2))
    rise = off @ arch
    left = (np.square(off).sum(axis=1) - np.square(rise)) / POINTS_APART
    return np.asarray(np.abs(rise) / np.sqrt(left + np.square(std)), np.float64)


def kink_in_line(tracks: Tracks, bowed: NDArray[np.bool_], foot: FloatArray) -> bool:
    """Whether two bowed lines of one direction kink as over one crease.

    A soft loss takes a sharp kink for outliers. That of a raised crease moves every line away from the eye's foot, that
    of a valley towards it, and all kinks lie in one straight line.
    """
    points = tracks.points[:, CORNER_POINTS:-CORNER_POINTS]
    off = straightness(points, tracks.along)[0]
    most = np.abs(off).argmax(axis=1)[:, None]
    kink = np.take_along_axis(points, most[..., None], axis=1)[:, 0]
    for along in (0, 1):
        clear = np.abs(off).max(axis=1) > ARCHED_STDS * tracks.std
        own = np.flatnonzero(bowed & clear & (tracks.along == along))
        outward = np.take_along_axis(off, most, axis=1)[own, 0] * (kink[own, 1 - along] - foot[1 - along])
        apart = np.abs(kink[own, None] - kink[own])
        step = np.ptp(tracks.points[own, :, along], axis=1) / TRACK_POINTS
        near = apart[..., along] < np.tan(np.radians(CREASE_LEAN_DEG)) * apart[..., 1 - along] + step
        alike = np.outer(outward, outward) > 0
        if (near & alike & (apart[..., 1 - along] > 2 * CREASE_SHARE)).any():
            return True
    return False


def bows_plainly(tracks: Tracks, bowed: NDArray[np.bool_]) -> bool:
    """Whether a line over half the sheet, which is no arc of the part, bows by half its pen's width, and others do.

    A bend bows more than one line, though what it bows besides may be short.
    """
    off = np.sqrt(np.square(straightness(tracks.points, tracks.along)[0]).mean(axis=1))
    plain = off > PLAIN_PENS * tracks.stray / STRAY_PENS
    long = bowed & (extent(tracks.points) > 2 * PLAIN_SHARE)
    return bool((plain & long).any() and np.count_nonzero(plain) >= FEWEST_BOWED)
