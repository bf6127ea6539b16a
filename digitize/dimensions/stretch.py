"""Whether a scanner, or the paper, stretched one axis of the sheet more than paper does."""

from collections.abc import Sequence

import numpy as np

from calibrate.scale import PEN_START_MM, Length, ScaleFit, Stretch
from calibrate.sheet import FloatArray

LARGEST_USUAL = 0.02
"""Paper shrinks by up to 1.2 % on one axis more than on the other; a scanner off its rate does more (no source)."""
SURE_STDS = 3.0
STRETCHED = (
    "The sheet is stretched {percent:.1f} % {along} (standard error {std:.1f} %), more than paper does: the scanner's"
    " feed may be off. Lengths are corrected for it; check the scan."
)

TRIED = np.arange(-0.06, 0.0601, 0.001)
"""Stretches weighed against each other where no circle speaks."""
FITTING_ODDS = 50.0
"""A length that fits is so much likelier under the right scale and stretch than by chance; one that does not, says
little."""
LEAST_GAIN = 5.0
"""Nats by which an unusual stretch must explain the dimensions better than a usual one: over one length's worth."""
SUSPECTED = (
    "The dimensions agree better if the sheet is stretched about {percent:.0f} % {along}, as a scanner off its feed"
    " does it; no circle is there to prove it. Lengths {along} may be wrong by as much: check the scan."
)


def suspected_stretch(lengths: Sequence[Length]) -> tuple[str, ...]:
    """Say that dimensions across and up the sheet only agree with each other under an unusual stretch.

    Parameters
    ----------
    lengths : sequence of Length
        Of all groups.

    Returns
    -------
    tuple of str
        One sentence, or none.

    Notes
    -----
    For each stretch tried, each group takes the scale that most of its lengths fit; the score is the sum over lengths
    of log(1 + odds exp(-z^2 / 2)). Nothing is corrected for what is found here.
    """
    groups = {length.group for length in lengths}
    scores = sum((_scores([one for one in lengths if one.group == group]) for group in groups), np.zeros(len(TRIED)))
    best, usual = int(np.argmax(scores)), np.abs(TRIED) <= LARGEST_USUAL
    if usual[best] or scores[best] - scores[usual].max() < LEAST_GAIN:
        return ()
    along = "up and down" if TRIED[best] > 0 else "across"
    return (SUSPECTED.format(percent=100 * abs(TRIED[best]), along=along),)


def _scores(lengths: Sequence[Length]) -> FloatArray:
    """How well one group's lengths agree under each stretch tried, in nats."""
    ratio, cos2, trust = (np.array(row) for row in zip(*((x.log_ratio, x.cos2, x.trust) for x in lengths), strict=True))
    std = np.array([np.hypot(PEN_START_MM, length.std_mm) / length.measured_mm for length in lengths])
    freed = ratio - TRIED[:, None] * cos2 / 2
    z = (freed[:, None, :] - freed[:, :, None]) / std
    support = np.log1p(FITTING_ODDS * np.exp(-(z**2) / 2)) * trust
    return np.asarray(support.sum(axis=2).max(axis=1), np.float64)


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
