"""Small arrowheads whose shaft was not traced: a blot with a dash behind it, or ink that was taken for lettering.

The line that such a head points at was traced. So ink is followed along both sides of every traced stroke, and where it
stands on the stroke like a shaft a head is looked for.
"""

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.barbs import INK, STRANGER_TO_BARBS_MM, Barbed, barbed_at
from digitize.strokes.crossings import Table
from digitize.strokes.ground import Ground
from digitize.strokes.pieces import Piece
from digitize.strokes.strangers import strangers_near
from digitize.strokes.widths import Pens

BoolArray = NDArray[np.bool_]

BESIDE_PENS = (2.0, 3.0, 4.0)
"""A shaft is ink at all these distances from the stroke that it stands on."""
STEP_PX = 0.5
WIDEST_PENS = 2.5
"""A shaft with a bit of its barbs is no wider than this."""


def standing_heads(ground: Ground, table: Table, pens: Pens) -> list[tuple[float, float, float, float, Barbed]]:
    """Find small heads by what stands on the traced strokes, lettering or not.

    Returns
    -------
    list of (x, y, dx, dy, Barbed)
        Tip on the stroke, in the frame of the pieces, and unit direction.
    """
    found = []
    for piece in table.pieces:
        for s, side in _shafts_beside(ground, piece, pens.thin):
            x, y = piece.track.point(s)
            fx, fy = piece.track.at(s, side) - (x, y)
            dx, dy = -float(fx), -float(fy)
            (px, py), (qx, qy) = ground.in_picture(np.array([[x, y], [dx, dy]]))
            strangers = strangers_near(ground, table, x, y, dx, dy, STRANGER_TO_BARBS_MM)
            barbed = barbed_at(ground, strangers, float(px), float(py), float(qx), float(qy), pens.thin)
            if barbed is not None:
                found.append((x, y, dx, dy, barbed))
    return found


def _shafts_beside(ground: Ground, piece: Piece, pen: float) -> list[tuple[float, float]]:
    """Places along a stroke, and the side (1 or -1), where ink stands on it like a shaft."""
    s = np.arange(piece.s0, piece.s1, STEP_PX)
    found = []
    for side in (-1.0, 1.0):
        beside = np.ones(len(s), bool)
        for pens_off in BESIDE_PENS:
            beside &= _is_ink(ground, piece, s, side * (0.5 * piece.width + pens_off * pen))
        for first, last in _runs(beside):
            if (last - first) * STEP_PX <= WIDEST_PENS * pen:
                found.append((float(0.5 * (s[first] + s[last - 1])), side))
    return found


def _is_ink(ground: Ground, piece: Piece, s: NDArray[np.float64], offset: float) -> BoolArray:
    """Whether the points beside a stroke at ``s`` are ink."""
    xy = np.rint(ground.in_picture(piece.track.at(s, offset))).astype(int)
    height, width = ground.all_dark.shape
    inside = (xy >= 0).all(axis=1) & (xy[:, 0] < width) & (xy[:, 1] < height)
    hits = np.zeros(len(s), bool)
    hits[inside] = ground.all_dark[xy[inside, 1], xy[inside, 0]] >= INK
    return hits


def _runs(flags: BoolArray) -> list[tuple[int, int]]:
    """First and one past the last index of every run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
