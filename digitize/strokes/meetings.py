"""Ends of pieces that meet: where one carries on as another, after a bend, a junction or a small gap."""

import math
from dataclasses import dataclass

import numpy as np

from digitize.strokes.pieces import Piece

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
    open_ = [k for k, piece in enumerate(pieces) if not piece.closed]
    if not open_:
        return []
    number, side = np.repeat(open_, 2), np.tile([START, END], len(open_))
    at = np.array([end for k in open_ for end in (pieces[k].start, pieces[k].end)])
    heading = np.array([pieces[k].track.heading(s) for k in open_ for s in (pieces[k].s0, pieces[k].s1)])
    out = heading * np.where(side == END, 1.0, -1.0)[:, None]
    reach = reach_px + np.array([pieces[k].width for k in number])
    order = np.argsort(at[:, 0], kind="stable")
    low = np.searchsorted(at[order, 0], at[:, 0] - reach)
    high = np.searchsorted(at[order, 0], at[:, 0] + reach)
    found = []
    for n in range(len(number)):
        near = order[low[n] : high[n]]
        near = near[number[near] > number[n]]
        near = near[np.hypot(*(at[near] - at[n]).T) <= reach[n]]
        cosine = -(out[near] @ out[n])
        for k in np.flatnonzero(cosine >= math.cos(math.radians(turn_deg))):
            ends = int(number[n]), int(side[n]), int(number[near[k]]), int(side[near[k]])
            found.append(Meeting(*ends, float(cosine[k])))
    return sorted(found, key=lambda m: (-m.cosine, m.first, m.second, m.first_end, m.second_end))
