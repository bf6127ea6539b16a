"""Lines that lie at two turns, one on either side of a strip: the rival of a perspective.

Two sheets scanned together look much like one seen at a slant: across the strip, lines turn. Where two turns explain
the lines as well as a vanishing point each way does, there is no perspective to take off.
"""

import numpy as np

from calibrate.sheet import FloatArray
from calibrate.straightening.vanishing import Family, Meetings


def explain(level: Family, upright: Family, met: Meetings) -> bool:
    """Tell whether two turns explain level and upright lines at least as well as their vanishing points do.

    Parameters
    ----------
    level, upright : Family
        Upright lines with the axes exchanged.
    met : Meetings
        Their vanishing points.
    """
    turns = np.degrees(np.concatenate([_turns(level), -_turns(upright)]))
    scale = np.concatenate(met.scales_deg)
    middle = np.concatenate([level.middle, upright.middle[:, ::-1]])
    return min(_least_loss(turns, scale, middle[:, axis]) for axis in (0, 1)) <= met.loss


def _turns(family: Family) -> FloatArray:
    return np.asarray(np.arctan2(family.along[:, 1], family.along[:, 0]), np.float64)


def _least_loss(turn: FloatArray, scale: FloatArray, place: FloatArray) -> float:
    """Cauchy loss of the best two turns and the best strip; each turn is some line's own."""
    order = np.argsort(place)
    loss = np.log1p(np.square((turn[order, None] - turn) / scale[order, None])).cumsum(axis=0)
    return float((loss.min(axis=1) + (loss[-1] - loss).min(axis=1)).min())
