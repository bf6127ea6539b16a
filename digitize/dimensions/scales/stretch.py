"""Whether a scanner, or the paper, stretched one axis of the sheet more than paper does."""

import numpy as np

from calibrate.scaling.scale import ScaleFit
from calibrate.scaling.stretching import LARGEST_USUAL, Stretch
from digitize.dimensions.table import Stretched

SURE_STDS = 3.0
STRETCHED = (
    "The sheet is stretched {percent:.1f} % {along} (standard error {std:.1f} %), more than paper does: the scanner's"
    " feed may be off. Lengths are corrected for it; check the scan."
)

UNDECIDED = (0.05, 0.99)
"""Between these probabilities of an unusual stretch the evidence does not decide."""
SUSPECTED = (
    "The dimensions across and up the sheet can't decide whether it is stretched by more than paper does, about"
    " {percent:.0f} % {along}; no circle is there to tell. Lengths {along} may be wrong by as much, and nothing is"
    " agreed on them: check the scan."
)


def undecided(fit: ScaleFit | None) -> bool:
    """Does the evidence leave open whether the sheet is stretched by more than paper does?"""
    return fit is not None and UNDECIDED[0] < fit.unusual < UNDECIDED[1]


def stretch_warning(fit: ScaleFit | None, circles: Stretch) -> tuple[str, ...]:
    """Say that the axes differ by more than paper explains.

    Parameters
    ----------
    fit : ScaleFit or None
        Of the dimensions and circles together.
    circles : Stretch
        What the circles alone say, for sheets without a fit.

    Returns
    -------
    tuple of str
        One sentence, or none.

    Examples
    --------
    >>> stretch_warning(None, Stretch(-0.0296, 0.001))[0][:46]
    'The sheet is stretched 3.0 % across (standard '
    >>> stretch_warning(None, Stretch(0.008, 0.001))
    ()
    """
    if fit is not None and undecided(fit):
        return (SUSPECTED.format(percent=100 * np.expm1(abs(fit.rival)), along=_along(fit.rival)),)
    mean, std = circles.mean, circles.std
    if fit is not None:
        mean, std = float(fit.parameters[-1]), float(np.sqrt(fit.covariance[-1, -1]))
    if abs(np.expm1(abs(mean))) <= LARGEST_USUAL or abs(mean) < SURE_STDS * std:
        return ()
    return (STRETCHED.format(percent=100 * np.expm1(abs(mean)), along=_along(mean), std=100 * std),)


def stretched(fit: ScaleFit | None, circles: Stretch) -> Stretched | None:
    """How the sheet's axes differ; None where neither circles nor dimensions tell it."""
    if fit is None:
        return Stretched(100 * float(np.expm1(circles.mean)), 100 * circles.std, "circles") if circles.told else None
    mean, std = float(fit.parameters[-1]), float(np.sqrt(fit.covariance[-1, -1]))
    source = "circles and dimensions" if circles.told else "dimensions"
    return Stretched(100 * float(np.expm1(mean)), 100 * std, source, not undecided(fit))


def _along(stretch: float) -> str:
    return "up and down" if stretch > 0 else "across"
