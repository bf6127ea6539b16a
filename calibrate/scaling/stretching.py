"""What is known of a sheet's stretch before its lengths are fitted: paper's habit, circles, a scanner off its rate.

Glossary
--------
stretch
    How much longer a paper millimetre is across the sheet than up it: log of the ratio of the two axis scales.
unusual stretch
    More than paper does by itself: a scanner's feed, a copier's lens.
"""

from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from calibrate.sheet import FloatArray

STRETCH_PRIOR = 0.006
"""Standard deviation of the stretch before any length is seen: paper shrinks by up to 1.2 % on one axis."""
UNUSUAL_STD = 0.03
"""... of an unusual one: scanners have been seen 3 % off on one axis."""
UNUSUAL_SHARE = 0.02
"""Share of sheets with an unusual stretch (no source)."""
LARGEST_USUAL = 0.02
"""Paper shrinks by up to 1.2 % on one axis more than on the other; a scanner off its rate does more (no source)."""
ROUND_STD = 0.0006
"""A circle drawn with compasses is round to this, relative (common practice, no source)."""
OUT_OF_ROUND_PX = 0.05
"""So far a circle may be from round by its compass, by bleeding ink and by the scanner's grain, however many points of
it agree: standard error, each circle for itself (common practice, no source)."""
TRIED = np.arange(-0.06, 0.0601, 0.001)
"""Stretches tried in search of an unusual one."""
FITTING_ODDS = 50.0
"""A length that fits is so much likelier under the right scale and stretch than by chance."""
WORTH_WEIGHING = 3.0
"""An unusual stretch that explains the lengths worse by more nats than these is not weighed any further."""


@dataclass(frozen=True)
class Stretch:
    """What is known of the stretch apart from the lengths.

    ``told`` is True where circles tell it; where they do not, `calibrate.scaling.scale.fit_scale` weighs an unusual
    stretch against the usual.
    """

    mean: float = 0.0
    std: float = STRETCH_PRIOR
    told: bool = False


UNUSUAL = Stretch(0.0, UNUSUAL_STD)


def stretch_from_circles(squeeze: float, squeeze_std: float, usual_std: float = STRETCH_PRIOR) -> Stretch:
    """What the sheet's circles say of the stretch, together with what is usual.

    Parameters
    ----------
    squeeze, squeeze_std : float
        Height over width of circles, less 1, and its standard error; infinite where no circle tells.
    usual_std : float
        Standard deviation of what is usual: of a photograph, of its proportion.

    Notes
    -----
    A drawn circle is round on the part: width s_x = height s_y, so the stretch is log(height / width). The prior is a
    mixture of the usual and the unusual; mean and standard deviation are those of the posterior mixture.

    Examples
    --------
    >>> stretch_from_circles(0.0, float("inf"))
    Stretch(mean=0.0, std=0.006, told=False)
    >>> said = stretch_from_circles(0.03, 0.003)
    >>> round(said.mean, 3), said.told
    (0.029, True)
    """
    if not np.isfinite(squeeze_std):
        return Stretch(0.0, usual_std)
    seen, variance = float(np.log1p(squeeze)), squeeze_std**2 + ROUND_STD**2
    prior = np.array([usual_std, UNUSUAL_STD])
    belief = np.array([1 - UNUSUAL_SHARE, UNUSUAL_SHARE]) * norm.pdf(seen, scale=np.sqrt(prior**2 + variance))
    belief = belief / belief.sum() if belief.sum() > 0 else np.array([0.0, 1.0])
    spread = 1 / (1 / variance + prior**-2)
    means = spread * seen / variance
    mean = float(belief @ means)
    return Stretch(mean, float(np.sqrt(belief @ (spread + (means - mean) ** 2))), told=True)


def agreement(ratio: FloatArray, std: FloatArray, cos2: FloatArray, trust: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How well the lengths of one group agree under each stretch of `TRIED`.

    Parameters
    ----------
    ratio, std : ndarray, float64, shape (N,)
        Log of nominal over measured, and its standard error.
    cos2 : ndarray, float64, shape (N,)
        Cosine of twice the angle to the x axis.
    trust : ndarray, float64, shape (N,)

    Returns
    -------
    score, start : ndarray, float64, shape (len(TRIED),)
        Sum over lengths of log(1 + odds exp(-z^2 / 2)) at the log scale that most of them fit, and that log scale.
    """
    freed = ratio - TRIED[:, None] * cos2 / 2
    z = (freed[:, None, :] - freed[:, :, None]) / std
    support = (np.log1p(FITTING_ODDS * np.exp(-(z**2) / 2)) * trust).sum(axis=2)
    best = support.argmax(axis=1)
    rows = np.arange(len(TRIED))
    return support[rows, best], freed[rows, best]
