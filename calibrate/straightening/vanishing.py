"""Where the lines of one direction of a photographed sheet meet: their vanishing point.

Each line's own direction and the middle of its length say one thing of two unknowns, in which they are linear. Lines
drawn slanting on purpose are left out by consensus: every pair of long lines proposes a point, and the one that most
lines agree with is where the search starts. A search from parallel lines may end at another solution.

Terms
-----
point
    (1, turn, convergence): the vanishing point of level lines in homogeneous coordinates about the picture's middle,
    half its diagonal being 1. Convergence 0 is that of parallel lines.
off
    Angle between a line and the direction from its middle to the point, in degrees.
"""

from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from calibrate.sheet import FloatArray

MOST_PROPOSING = 24
"""The longest lines propose points by pairs."""
WIDEST = 1.0
"""Largest turn and convergence proposed: a turn of 45 degrees, a point at the picture's corner."""
ROUNDS, SETTLING = 4, 10
"""Of finding how far the lines stray, and within each of finding the point."""
SETTLED = 1e-10
"""A step of the terms, turn in radians, after which there is nothing more to find."""
AGREEING_SHARE = 1 / 3
"""Part of the lines whose straying is the pen's: of two turned sheets in one picture, each has its own half."""
LEAST_VARIANCE = 1e-6
"""Of lines' misfits in their scales: exact lines leave none."""
AGREEING_Z = float(norm.ppf((1 + AGREEING_SHARE) / 2))


@dataclass(frozen=True)
class Family:
    """Lines of one direction, in the coordinates of a point with level lines along x.

    Attributes
    ----------
    middle, along : ndarray, float64, shape (N, 2)
        Middle, and unit vector of x above 0, of each.
    length : ndarray, float64, shape (N,)
    std_deg : ndarray, float64, shape (N,)
        Standard error of each direction as it was measured.
    """

    middle: FloatArray
    along: FloatArray
    length: FloatArray
    std_deg: FloatArray


def family_of(ends: FloatArray, std_deg: FloatArray) -> Family:
    """Give the family of nearly level lines by their ends, shape (N, 2, 2)."""
    along = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(along, axis=1)
    along = along * (np.where(along[:, 0] < 0, -1.0, 1.0) / length)[:, None]
    return Family(ends.mean(axis=1), along, np.asarray(length, np.float64), std_deg)


@dataclass(frozen=True)
class Meetings:
    """Where families meet.

    Attributes
    ----------
    terms : tuple of ndarray, float64, shape (2,)
        Turn and convergence of each.
    z : float
        By how many standard errors the surest convergence differs from none.
    scales_deg : tuple of ndarray, float64
        Of the lines of each: how far off the pen and the measurement leave them.
    loss : float
        Cauchy's, of all lines.
    """

    terms: tuple[FloatArray, ...]
    z: float
    scales_deg: tuple[FloatArray, ...]
    loss: float


def meetings(families: tuple[Family, ...], least_stray: float, first_stray: float) -> Meetings:
    """Find the vanishing points of families that were drawn by one pen.

    Parameters
    ----------
    families : tuple of Family
    least_stray : float
        Straying of a line's end against its beginning that no line is freed of.
    first_stray : float
        At which a line at first starts to count as drawn slanting.

    Notes
    -----
    A line's direction is off by its own standard error and by the pen's straying over its length. How far the pen
    strays is found from the lines of all families.
    """
    scales = [_scale_deg(family, first_stray) for family in families]
    found = [_most_agreed(*each) for each in zip(families, scales, strict=True)]
    for _ in range(ROUNDS):
        off = [np.radians(np.abs(off_deg(*each))) for each in zip(found, families, strict=True)]
        strays = np.concatenate([part * family.length for part, family in zip(off, families, strict=True)])
        stray = max(float(np.quantile(strays, AGREEING_SHARE)) / AGREEING_Z, least_stray)
        scales = [_scale_deg(family, stray) for family in families]
        found = [_settled(*each) for each in zip(found, families, scales, strict=True)]
    all_three = list(zip(found, families, scales, strict=True))
    loss = sum(_loss(*each) for each in all_three)
    variance = loss / max(sum(map(len, scales)) - 2 * len(families), 1)
    z = max(abs(each[0][1]) / _convergence_std(*each) for each in all_three) / max(variance, LEAST_VARIANCE) ** 0.5
    return Meetings(tuple(found), float(z), tuple(scales), loss)


def off_deg(terms: FloatArray, family: Family) -> FloatArray:
    """Angles of lines off the direction to points, for terms of shape (..., 2), shape (..., N)."""
    turn, convergence = np.moveaxis(terms[..., None], -2, 0)
    x, y = 1 - convergence * family.middle[:, 0], turn - convergence * family.middle[:, 1]
    across = family.along[:, 0] * y - family.along[:, 1] * x
    forward = family.along[:, 0] * x + family.along[:, 1] * y
    return np.asarray(np.degrees(np.arctan2(across, forward)), np.float64)


def _scale_deg(family: Family, stray: float) -> FloatArray:
    return np.hypot(family.std_deg, np.degrees(stray / family.length))


def _equations(family: Family) -> tuple[FloatArray, FloatArray]:
    """Rows and right-hand sides of the lines' equations in turn and convergence."""
    along, middle = family.along, family.middle
    lever = along[:, 0] * middle[:, 1] - along[:, 1] * middle[:, 0]
    return np.column_stack([along[:, 0], -lever]), along[:, 1]


def _most_agreed(family: Family, scale_deg: FloatArray) -> FloatArray:
    """The terms that most lines agree with, of those that two long lines propose, or one that has parallels."""
    longest = np.argsort(-family.length)[:MOST_PROPOSING]
    rows, right = (part[longest] for part in _equations(family))
    first, second = np.triu_indices(len(longest), 1)
    pairs = np.stack([rows[first], rows[second]], axis=1)
    good = np.abs(np.linalg.det(pairs)) > np.finfo(float).eps
    proposed = np.linalg.solve(pairs[good], np.stack([right[first], right[second]], axis=1)[good][..., None])[..., 0]
    parallels = np.column_stack([right / rows[:, 0], np.zeros(len(right))])
    proposed = np.concatenate([parallels, proposed[(np.abs(proposed) <= WIDEST).all(axis=1)]])
    cost = np.log1p(np.square(off_deg(proposed, family) / scale_deg)).sum(axis=1)
    return np.asarray(proposed[cost.argmin()], np.float64)


def _settled(terms: FloatArray, family: Family, scale_deg: FloatArray) -> FloatArray:
    """The least Cauchy loss near terms, by weights found anew."""
    rows, right = _equations(family)
    for _ in range(SETTLING):
        weight, before = _weights(terms, family, scale_deg), terms
        terms = np.asarray(np.linalg.lstsq(rows * weight[:, None], right * weight)[0], np.float64)
        if np.abs(terms - before).max() < SETTLED:
            break
    return terms


def _weights(terms: FloatArray, family: Family, scale_deg: FloatArray) -> FloatArray:
    """Roots of the weights of the lines' equations: of Cauchy's loss, over a line's scale and the way to the point."""
    turn, convergence = terms
    way = np.hypot(1 - convergence * family.middle[:, 0], turn - convergence * family.middle[:, 1])
    z = off_deg(terms, family) / scale_deg
    return np.asarray(1 / (way * np.radians(scale_deg) * np.sqrt(1 + np.square(z))), np.float64)


def _convergence_std(terms: FloatArray, family: Family, scale_deg: FloatArray) -> float:
    weighted = _equations(family)[0] * _weights(terms, family, scale_deg)[:, None]
    return float(np.sqrt(np.linalg.pinv(weighted.T @ weighted)[1, 1]))


def _loss(terms: FloatArray, family: Family, scale_deg: FloatArray) -> float:
    return float(np.log1p(np.square(off_deg(terms, family) / scale_deg)).sum())
