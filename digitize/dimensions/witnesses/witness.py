"""When a value may be called agreed: the posterior of its best reading over every rival.

Notes
-----
The rule, for a figure with candidates S, reading probabilities q(s), and a measured length m:

    sigma^2 = pen^2 + pixel^2 + (m spread of the scale)^2         scale and pen error found without this value
    f(s)    = .96 t(m - m_s; sigma) + .04 t(m - m_s; 3 sigma)      m_s: what s would measure
    good(s) = q(s) prior(s) (1 - tau) ((1 - lam) f(s) + lam U) chain(s)
    bad(s)  = q(s) prior(s) tau U                                  the printed figure itself is wrong
    other   = w / (1 - w) prior(s*) U                              the print says none of S
    agreed  iff 1 - good(s*) / (sum(good + bad) + other) <= t

The first candidate can be right for one reason only: it is what the print says *and* what the drawing shows.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln

from calibrate.scaling.settle import LINE_WRONG, PRINT_WRONG, WIDE, WIDE_SHARE
from calibrate.sheet import FloatArray

ERROR_BOUND = 0.003
"""t: largest posterior error of an agreed value."""
LEAST_READING = 0.3
"""An agreed value's own reading probability is at least this."""
SURE_READING = 0.9
"""A dispute needs a reading at least this sure, none other of the reader's own that fits ..."""
OWN_SHARE = 0.005
"""A candidate more probable than this, tempered, is one that the reader may have meant (of 2,926 rivals that differ by
a figure and are less probable, none was what the print says)."""
DISPUTE_Z = 6.0
"""... and a length at least this many standard errors off."""
RIVAL_Z = 4.0
"""A rival within this many standard errors is one that the drawing can't tell apart."""
LEAST_LISTED = 0.05
"""The candidates together are never believed less than this."""
RIVAL_NATS = 2.5
"""While such a rival remains the winner must beat it by this much log prior and reading together."""


@dataclass(frozen=True)
class Verdict:
    """What the witnesses make of one figure.

    Attributes
    ----------
    best : int
        Index of the most probable candidate.
    error : float
        Posterior probability that it is wrong.
    z : float
        Its residual in standard errors.
    rivals : tuple of int
        Candidates that the drawing can't tell from the best.
    fitting : int or None
        The best candidate that does fit, where the best reading does not.
    """

    best: int
    error: float
    z: float
    rivals: tuple[int, ...]
    fitting: int | None


def density(residual: FloatArray, sigma: float, dof: float) -> FloatArray:
    """Density of a residual under the pen's error, with its wide share."""
    sigmas = np.array([[sigma], [WIDE * sigma]])
    narrow, wide = _student(residual / sigmas, dof) / sigmas
    return np.asarray((1 - WIDE_SHARE) * narrow + WIDE_SHARE * wide, dtype=np.float64)


def _student(z: FloatArray, dof: float) -> FloatArray:
    """Density of Student's t distribution.

    Examples
    --------
    >>> _student(np.array([0.0, 1.0]), 5.0).round(4).tolist()
    [0.3796, 0.2197]
    """
    peak = np.exp(gammaln((dof + 1) / 2) - gammaln(dof / 2)) / np.sqrt(dof * np.pi)
    return np.asarray(peak * (1 + z**2 / dof) ** (-(dof + 1) / 2), np.float64)


def judge(
    measured: float,
    expected: Sequence[float],
    sigma: float,
    dof: float,
    reading: Sequence[float],
    prior: Sequence[float],
    chain: Sequence[float],
    blind_density: float,
    unlisted: float = 0.0,
) -> Verdict:
    """Weigh the candidates of one figure.

    Parameters
    ----------
    measured : float
        mm of paper, or degrees.
    expected : sequence of float, length N
        What each candidate would measure, same unit.
    sigma, dof : float
        Standard error of measured minus expected, and the degrees of freedom behind it.
    reading, prior, chain : sequence of float, length N
        q(s), the sheet's habit, and the factor of the chains the value stands in.
    blind_density : float
        U: density of a length that has nothing to do with the figure.
    unlisted : float
        w: probability that the print says none of the candidates.

    Returns
    -------
    Verdict
    """
    residual = measured - np.asarray(expected, dtype=np.float64)
    belief = np.asarray(reading, dtype=np.float64) * np.asarray(prior, dtype=np.float64)
    fits = density(residual, sigma, dof)
    good = belief * (1 - PRINT_WRONG) * ((1 - LINE_WRONG) * fits + LINE_WRONG * blind_density) * np.asarray(chain)
    bad = belief * PRINT_WRONG * blind_density
    best = int(np.argmax(good))
    other = unlisted / max(1.0 - unlisted, LEAST_LISTED) * float(prior[best]) * blind_density
    total = float((good + bad).sum()) + other
    z = np.abs(residual) / sigma
    rivals = tuple(
        int(i)
        for i in np.flatnonzero(z < RIVAL_Z)
        if i != best and np.log(belief[best]) - np.log(max(belief[i], 1e-300)) < RIVAL_NATS
    )
    error = 1.0 - float(good[best]) / total if total > 0 else 1.0
    near = [int(i) for i in np.argsort(-belief) if z[i] < RIVAL_Z]
    return Verdict(best, max(error, 0.0), float(z[best]), rivals, near[0] if near else None)
