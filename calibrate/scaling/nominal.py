"""Measured lengths with their nominal values, and the scale that most of them stand by."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

PEN_START_MM = 0.12
"""Pen error assumed before any residual is seen, in mm of paper (hand-drawn originals; common practice, no source)."""
VOTE_WIDTH = 0.004
"""Least width of the vote's kernel, relative: lengths of one scale agree better than this."""


@dataclass(frozen=True)
class Length:
    """One measured length with its nominal value.

    Attributes
    ----------
    group : int
        Index of the scale group.
    measured_mm, std_mm : float
        Paper mm, standard error from the pixels alone.
    nominal_mm : float
        Part mm.
    cos2 : float
        Cosine of twice the angle to the x axis: 1 across the sheet, -1 up it, 0 for a circle's mean diameter.
    trust : float
        Probability that the nominal value was read rightly.
    ends : (int, int) or None
        Numbers of the two drawn edges between which it lies, the lower coordinate first: lengths that share an edge
        share its error. None where both are its own.
    pen_share : float
        Part of the pen error that it carries: 1, or 1/2 for a radius.
    drawn : bool
        False where neither pen nor pixels have part in it, as in a scale note; ``std_mm`` is then all its error.
    grain : bool
        False where ``std_mm`` holds however fine the pixels' grain turns out to be: the pen's edge sets a circle off
        all round, and a bent sheet strains what lies on it.
    figure_std : float
        Standard error of the figure as a part of itself: it may be rounded.
    """

    group: int
    measured_mm: float
    std_mm: float
    nominal_mm: float
    cos2: float
    trust: float = 1.0
    ends: tuple[int, int] | None = None
    pen_share: float = 1.0
    drawn: bool = True
    grain: bool = True
    figure_std: float = 0.0

    @property
    def log_ratio(self) -> float:
        """Log of part mm per paper mm."""
        return float(np.log(self.nominal_mm / self.measured_mm))


def vote(lengths: Sequence[Length]) -> tuple[float, float]:
    """The log scale that most lengths stand by, whatever the others say.

    Parameters
    ----------
    lengths : sequence of Length, not empty

    Returns
    -------
    log_scale, support : float
        The mode of a kernel density over the log ratios, and the summed trust of the lengths near it.
    """
    ratios = np.array([length.log_ratio for length in lengths])
    trust = np.array([length.trust for length in lengths])
    pen = np.array([np.hypot(PEN_START_MM, length.std_mm) / length.measured_mm for length in lengths])
    width = np.maximum(VOTE_WIDTH, pen)
    z = (ratios[:, None] - ratios[None, :]) / np.hypot(width[:, None], width[None, :])
    votes = (np.exp(-0.5 * z**2) * trust[None, :]).sum(axis=1)
    density = votes / np.sqrt(width / width.min())
    best = int(np.argmax(density))
    return float(ratios[best]), float(votes[best])


def without(lengths: Sequence[Length], index: int) -> list[Length]:
    """The lengths with one left out: a value does not vouch for itself."""
    return [length for i, length in enumerate(lengths) if i != index]
