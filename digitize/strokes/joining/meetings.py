"""Ends of pieces that meet: where one carries on as another, after a bend, a junction or a small gap."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled
from digitize.strokes.pieces import Piece
from digitize.strokes.table import S0, S1, WIDTH, heading_on, point_on, rows_of

FloatArray = NDArray[np.float64]

START, END = 0, 1


@dataclass(frozen=True)
class Meeting:
    """Two ends that meet: the number of a piece and which end of it, of either; cosine of the turn between them."""

    first: int
    first_end: int
    second: int
    second_end: int
    cosine: float


def meetings_of(pieces: list[Piece], reach_px: float, turn_deg: float) -> list[Meeting]:
    """Find the ends of different pieces that lie together and point into each other.

    Parameters
    ----------
    pieces : list of Piece
    reach_px : float
        Largest distance of two ends, besides the width of the first.
    turn_deg : float
        Largest turn from one piece to the other.

    Returns
    -------
    list of Meeting
        Those that turn least first.
    """
    is_open = np.array([not piece.closed for piece in pieces], dtype=bool)
    found = _meeting_ends(rows_of(pieces), is_open, reach_px, math.cos(math.radians(turn_deg))).tolist()
    meetings = [Meeting(int(a), int(i), int(b), int(j), cosine) for a, i, b, j, cosine in found]
    return sorted(meetings, key=lambda m: (-m.cosine, m.first, m.second, m.first_end, m.second_end))


@compiled
def _meeting_ends(rows: FloatArray, is_open: NDArray[np.bool_], reach_px: float, least_cosine: float) -> FloatArray:
    """See `meetings_of`: the five numbers of every meeting. End ``n`` is of piece n // 2, its start where n is even."""
    at, out = np.full((2 * len(rows), 2), np.inf), np.zeros((2 * len(rows), 2))
    for k in range(len(rows)):
        for end in range(2 if is_open[k] else 0):
            n, s, sign = 2 * k + end, rows[k, S1 if end == END else S0], 1.0 if end == END else -1.0
            at[n, 0], at[n, 1] = point_on(rows[k], s, 0.0)
            dx, dy = heading_on(rows[k], s)
            out[n, 0], out[n, 1] = sign * dx, sign * dy
    order = np.argsort(at[:, 0], kind="mergesort")
    across = at[order, 0]
    found = []
    for n in range(len(at)):
        if not is_open[n // 2]:
            continue
        reach = reach_px + rows[n // 2, WIDTH]
        for place in range(np.searchsorted(across, at[n, 0] - reach), len(across)):
            k = order[place]
            if across[place] > at[n, 0] + reach:
                break
            cosine = -(out[n, 0] * out[k, 0] + out[n, 1] * out[k, 1])
            if (
                k // 2 > n // 2
                and cosine >= least_cosine
                and math.hypot(at[k, 0] - at[n, 0], at[k, 1] - at[n, 1]) <= reach
            ):
                found.append((float(n // 2), float(n % 2), float(k // 2), float(k % 2), cosine))
    return np.array(found).reshape(-1, 5) if len(found) else np.zeros((0, 5))
