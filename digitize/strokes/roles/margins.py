"""Ink outside the drawn frame: edges of the paper, shadows, punch holes. No drafter's stroke lies there."""

import math

import numpy as np

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.ground import Ground
from digitize.strokes.pieces import Piece
from digitize.strokes.table import rows_of, waypoints

LONG_MM = 15.0
TURN_DEG = 1.5
SIDE_SHARE = 0.5
"""A side of the frame is drawn over this share of the sheet at least."""
SIDE_DEPTH = 0.25
"""It lies at most this far in, compared with the sheet."""
BIN_MM = 1.0
OUTSIDE_MM = 0.8
"""A side's own pieces lie no further out; the rim of a punched hole may come this near (on 116 drawn sheets nothing but
scraps lay between this and twice as far)."""


def within_frame(ground: Ground, pieces: list[Piece], turn_deg: float) -> list[Piece]:
    """Drop the pieces that lie wholly outside the frame; all stay where no frame with four sides is found."""
    if not pieces:
        return []
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    turn = np.array([[c, s], [-s, c]])
    ends = waypoints(rows_of(pieces)) @ turn.T
    long = np.array([p.track.kind == LINE and p.length >= ground.px(LONG_MM) for p in pieces])
    chord = ends[:, 2] - ends[:, 0]
    steep = np.abs(chord) <= math.tan(math.radians(TURN_DEG)) * np.abs(chord[:, ::-1])
    rows, columns = ground.ink.shape
    corners = np.array([[0.0, 0.0], [columns, 0.0], [0.0, rows], [columns, rows]]) @ turn.T
    keep = np.ones(len(pieces), bool)
    for axis in (0, 1):
        sides = _sides(
            ends[long & steep[:, axis], 1, axis],
            np.abs(chord[long & steep[:, axis], 1 - axis]),
            (corners[:, axis].min(), corners[:, axis].max()),
            SIDE_SHARE * (rows if axis == 0 else columns),
            ground.px(BIN_MM),
        )
        if sides is None:
            return pieces
        low, high = sides
        margin = ground.px(OUTSIDE_MM)
        keep &= ~((ends[:, :, axis] < low - margin).all(axis=1) | (ends[:, :, axis] > high + margin).all(axis=1))
    return [p for p, stays in zip(pieces, keep, strict=True) if stays]


def _sides(
    at: np.ndarray,
    length: np.ndarray,
    extent: tuple[float, float],
    least: float,
    bin_px: float,
) -> tuple[float, float] | None:
    """Outermost places at which enough length is drawn, one near either end of an extent; None without both."""
    if len(at) == 0:
        return None
    drawn = np.array([length[np.abs(at - here) <= bin_px].sum() for here in at])
    low, high = extent
    depth = SIDE_DEPTH * (high - low)
    first = at[(drawn >= least) & (at <= low + depth)]
    last = at[(drawn >= least) & (at >= high - depth)]
    return (float(first.min()), float(last.max())) if len(first) and len(last) else None
