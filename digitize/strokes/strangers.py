"""Strokes that pass where an arrowhead is looked for, but are no part of one.

Glossary
--------
stranger
    A stroke that runs on too far for a barb and does not lie along the shaft.
"""

import math

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.crossings import Table, s_near
from digitize.strokes.fit import LINE
from digitize.strokes.ground import Ground

FloatArray = NDArray[np.float64]

REACH_MM = 8.0
"""Longest head."""
AT_TIP_MM = 0.55
AHEAD_MM = 1.0
"""Strokes that touch the tip lie a little ahead of it."""
STRANGER_MM = 5.0
"""Strokes that run on for this far are no barbs. (Two heads tip to tip may have their barbs in one piece.)"""
STRANGER_SINE = 0.12
"""A stroke within about 7 degrees of the axis is the shaft, or a part of it."""
STRANGER_MARGIN_PX = 1.0
"""How far the blurred edge of a stranger reaches beyond its width."""
CHORD_MM = 1.0


def strangers_near(
    ground: Ground, table: Table, x: float, y: float, dx: float, dy: float, least_mm: float = STRANGER_MM
) -> FloatArray:
    """Long strokes that pass where a head with its tip at a point would lie, but do not run along its axis.

    Returns
    -------
    ndarray, shape (N, 5)
        Straight parts in the picture: both ends, and the half width that their ink may take.
    """
    reach = ground.px(REACH_MM)
    found = []
    for n in table.near(x - 0.5 * reach * dx, y - 0.5 * reach * dy, 0.5 * reach + ground.px(AHEAD_MM)):
        piece = table.pieces[n]
        foot = s_near(piece.track, np.array([x, y]), 0.5 * (piece.s0 + piece.s1))
        hx, hy = piece.track.heading(foot)
        at_tip = math.dist((x, y), piece.track.point(foot)) <= piece.width + ground.px(AT_TIP_MM)
        length = max(foot - piece.s0, piece.s1 - foot) if at_tip else piece.length
        if length < ground.px(least_mm) or abs(hx * dy - hy * dx) < STRANGER_SINE:
            continue
        count = 2 if piece.track.kind == LINE else 2 + int(piece.length / ground.px(CHORD_MM))
        points = ground.in_picture(piece.track.at(np.linspace(piece.s0, piece.s1, count)))
        half = np.full((count - 1, 1), 0.5 * piece.width + STRANGER_MARGIN_PX)
        found.append(np.hstack([points[:-1], points[1:], half]))
    return np.vstack(found) if found else np.zeros((0, 5))
