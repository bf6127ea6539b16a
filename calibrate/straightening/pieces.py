"""Ruled lines that were found in pieces: a crease, a stain or a figure parts them, the ruler did not.

Each piece alone may lie straight whatever a fold does to the line; only together do they say that the sheet kinks
between them.
"""

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray
from calibrate.straightening.bars import TRACK_POINTS

WIDEST_GAP = 0.12
"""Paper between two pieces of one line, as a part of the picture's longer side: a crease and what it shades."""
OFF_PENS, OFF_SLOPE = 1.0, 0.02
"""Where a piece ends and the next begins lie no further apart across the line than this, in pens and over the gap: the
edges of a part that step by so little are rarely drawn (no source)."""
STRAIGHT_PENS, STEP_PENS = 0.1, 0.3
"""Pieces that each stray from straight by less than the first, in pens, and lie side by side by more than the second
all over the gap, are two lines: a crease kinks a line, and both parts of it lead to the kink (no source for either)."""


def in_one_line(tracks: FloatArray, along: NDArray[np.intp], longer_px: float, pen_px: float) -> list[NDArray[np.intp]]:
    """Which tracks are pieces of one ruled line, each in order along it.

    Parameters
    ----------
    tracks : ndarray, float64, shape (N, TRACK_POINTS, 2)
        Pixels.
    along : ndarray, int, shape (N,)
        Coordinate along each track: 0 for level ones, 1 for upright ones.
    longer_px : float
        The picture's longer side.
    pen_px : float

    Returns
    -------
    list of ndarray, int
        Every track is in one of them.
    """
    lines = []
    for axis in (0, 1):
        own = np.flatnonzero(along == axis)
        order = np.argsort(tracks[own][:, [0, -1], axis], axis=1)
        ends = np.take_along_axis(tracks[own][:, [0, -1]], order[..., None], axis=1)
        stepped = _stepped(tracks[own], ends[..., axis], axis, pen_px)
        follower = _followers(ends[..., axis], ends[..., 1 - axis], stepped, longer_px, pen_px)
        begun = set(range(len(own))) - set(follower.values())
        for at in sorted(begun):
            line = [at]
            while line[-1] in follower:
                line.append(follower[line[-1]])
            lines.append(own[line])
    return lines


def _stepped(tracks: FloatArray, ends: FloatArray, axis: int, pen_px: float) -> NDArray[np.bool_]:
    """Which pieces, being straight, lie beside each other as no crease puts them, shape (N, N)."""
    x, y = tracks[..., axis], tracks[..., 1 - axis]
    middle_x, middle_y = x.mean(axis=1), y.mean(axis=1)
    x, y = x - middle_x[:, None], y - middle_y[:, None]
    slope = (x * y).sum(axis=1) / np.square(x).sum(axis=1)
    straight = np.sqrt(np.square(y - slope[:, None] * x).mean(axis=1)) < STRAIGHT_PENS * pen_px

    def carried(to: FloatArray) -> FloatArray:
        # Row by row each piece's own line, at a place for every pair.
        return np.asarray(middle_y[:, None] + slope[:, None] * (to - middle_x[:, None]), np.float64)

    begin, end = (np.broadcast_to(place, (len(tracks), len(tracks))) for place in (ends[:, 0], ends[:, 1, None]))
    sides = np.stack([carried(place.T).T - carried(place) for place in (begin, end)])
    beside = (np.sign(sides[0]) == np.sign(sides[1])) & (np.abs(sides).min(axis=0) > STEP_PENS * pen_px)
    return np.asarray(beside & straight[:, None] & straight, np.bool_)


def _followers(
    along: FloatArray, across: FloatArray, stepped: NDArray[np.bool_], longer_px: float, pen_px: float
) -> dict[int, int]:
    """The piece that goes on behind each: the nearest that begins where it ends; ends of shape (N, 2)."""
    gap = along[None, :, 0] - along[:, None, 1]
    off = np.abs(across[None, :, 0] - across[:, None, 1])
    fits = (gap > 0) & (gap < WIDEST_GAP * longer_px) & (off < OFF_PENS * pen_px + OFF_SLOPE * gap) & ~stepped
    follower: dict[int, int] = {}
    for one, two in sorted(zip(*np.nonzero(fits), strict=True), key=lambda pair: float(gap[pair])):
        if one not in follower and two not in follower.values():
            follower[int(one)] = int(two)
    return follower


def as_one(pieces: FloatArray, axis: int) -> FloatArray:
    """Points along several pieces of one line, even over what of it was found; shape (TRACK_POINTS, 2).

    Parameters
    ----------
    pieces : ndarray, float64, shape (P, TRACK_POINTS, 2)
        In order along the line.
    axis : int
        Coordinate along the line.
    """
    if len(pieces) == 1:
        return np.asarray(pieces[0], np.float64)
    ordered = np.concatenate([piece[np.argsort(piece[:, axis])] for piece in pieces])
    steps = np.diff(ordered[:, axis])
    steps[TRACK_POINTS - 1 :: TRACK_POINTS] = 0.0
    covered = np.concatenate([[0.0], np.cumsum(steps)])
    places = np.linspace(0.0, covered[-1], TRACK_POINTS)
    return np.column_stack([np.interp(places, covered, ordered[:, k]) for k in (0, 1)])
