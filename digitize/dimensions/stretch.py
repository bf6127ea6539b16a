"""Whether a scanner, or the paper, stretched one axis of the sheet more than paper does."""

import numpy as np

from calibrate.scale import ScaleFit, Stretch

LARGEST_USUAL = 0.02
"""Paper shrinks by up to 1.2 % on one axis more than on the other; a scanner off its rate does more (no source)."""
SURE_STDS = 3.0
STRETCHED = (
    "The sheet is stretched {percent:.1f} % {along} (standard error {std:.1f} %), more than paper does: the scanner's"
    " feed may be off. Lengths are corrected for it; check the scan."
)


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
    mean, std = circles.mean, circles.std
    if fit is not None:
        mean, std = float(fit.parameters[-1]), float(np.sqrt(fit.covariance[-1, -1]))
    if abs(np.expm1(abs(mean))) <= LARGEST_USUAL or abs(mean) < SURE_STDS * std:
        return ()
    along = "up and down" if mean > 0 else "across"
    return (STRETCHED.format(percent=100 * np.expm1(abs(mean)), along=along, std=100 * std),)
