"""Whether a scanner, or the paper, stretched one axis of the sheet more than paper does."""

import numpy as np

from calibrate.scaling.scale import ScaleFit
from calibrate.scaling.stretching import LARGEST_USUAL, Stretch
from digitize.dimensions.table import Stretched

SURE_STDS = 3.0
STRETCHED = (
    "The sheet is stretched {percent:.1f} % {along} (standard error {std:.1f} %), more than paper does: {cause}."
    " Lengths are corrected for it; check the {picture}."
)
BY_SCANNER = {"cause": "the scanner's feed may be off", "picture": "scan"}
BY_CAMERA = {"cause": "its perspective may not be quite off, or the paper not flat", "picture": "photograph"}

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


def stretch_warning(fit: ScaleFit | None, circles: Stretch, photographed: bool) -> tuple[str, ...]:
    """Say that the axes differ by more than paper explains.

    Parameters
    ----------
    fit : ScaleFit or None
        Of the dimensions and circles together.
    circles : Stretch
        What the circles alone say, for sheets without a fit.
    photographed : bool
        A camera has no feed.

    Returns
    -------
    tuple of str
        One sentence, or none.

    Examples
    --------
    >>> stretch_warning(None, Stretch(-0.0296, 0.001), False)[0][:46]
    'The sheet is stretched 3.0 % across (standard '
    >>> stretch_warning(None, Stretch(0.008, 0.001), False)
    ()
    """
    if fit is not None and undecided(fit):
        return (SUSPECTED.format(percent=100 * np.expm1(abs(fit.rival)), along=_along(fit.rival)),)
    mean, std = circles.mean, circles.std
    if fit is not None:
        mean, std = float(fit.parameters[-1]), float(np.sqrt(fit.covariance[-1, -1]))
    if abs(np.expm1(abs(mean))) <= LARGEST_USUAL or abs(mean) < SURE_STDS * std:
        return ()
    percent = 100 * np.expm1(abs(mean))
    why = BY_CAMERA if photographed else BY_SCANNER
    return (STRETCHED.format(percent=percent, along=_along(mean), std=100 * std, **why),)


def stretched(fit: ScaleFit | None, circles: Stretch) -> Stretched | None:
    """How the sheet's axes differ; None where neither circles nor dimensions tell it."""
    if fit is None:
        return Stretched(100 * float(np.expm1(circles.mean)), 100 * circles.std, "circles") if circles.told else None
    mean, std = float(fit.parameters[-1]), float(np.sqrt(fit.covariance[-1, -1]))
    source = "circles and dimensions" if circles.told else "dimensions"
    return Stretched(100 * float(np.expm1(mean)), 100 * std, source, not undecided(fit))


def _along(stretch: float) -> str:
    return "up and down" if stretch > 0 else "across"
