"""Scale and shrink from lengths whose nominal values are known: a robust fit with its uncertainty.

Glossary
--------
group
    Views that share one scale.
pen error
    Standard deviation of a drawn length about its nominal one, in mm of paper; estimated from the residuals.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from calibrate.scaling.nominal import PEN_START_MM, Length
from calibrate.scaling.posterior import Mixture
from calibrate.scaling.settle import CARRIES, settled
from calibrate.scaling.stretching import (
    LARGEST_USUAL,
    TRIED,
    UNUSUAL,
    UNUSUAL_SHARE,
    WORTH_WEIGHING,
    Stretch,
    agreement,
)
from calibrate.sheet import FloatArray

PEN_PRIOR_DOF = 3.0
"""Degrees of freedom granted to the pen error beyond those of the residuals."""


@dataclass(frozen=True)
class ScaleFit:
    """Log scale of each group and the sheet's stretch, with their posterior.

    Attributes
    ----------
    mixture : Mixture
        Over the log of part mm per paper mm of each group, then the stretch; P is the number of groups and one.
    weights : ndarray, float64, shape (N,)
        Final weight of each length, 0 for outliers.
    unusual : float
        Probability that the sheet is stretched more than paper does; 0 where circles tell the stretch.
    rival : float
        The unusual stretch that was weighed; 0 where none was.
    """

    mixture: Mixture
    weights: FloatArray
    unusual: float = 0.0
    rival: float = 0.0

    @property
    def parameters(self) -> FloatArray:
        """Posterior mean, shape (P,)."""
        return self.mixture.mean

    @property
    def covariance(self) -> FloatArray:
        """Posterior covariance, shape (P, P)."""
        return self.mixture.covariance

    @property
    def dof(self) -> float:
        """Degrees of freedom behind the pen error."""
        carried = float(self.weights.sum())
        fitted = min(len(self.parameters), max(carried - 1.0, 0.0))
        return PEN_PRIOR_DOF + max(carried - fitted, 0.0)

    @property
    def pen_std_mm(self) -> float:
        """Pen error, mm of paper."""
        return self.mixture.pen_mm

    def log_scale(self, group: int, cos2: float) -> tuple[float, float]:
        """Log of part mm per paper mm in a direction, and its standard error."""
        design = self._direction(group, cos2)
        return float(design @ self.parameters), float(np.sqrt(design @ self.covariance @ design))

    def half_width(self, group: int, cos2: float) -> float:
        """Half width of the 95 % interval of `log_scale`."""
        return self.mixture.half_width(self._direction(group, cos2))

    def carriers(self, lengths: Sequence[Length], group: int) -> int:
        """How many lengths of a group carry the fit."""
        return sum(1 for w, each in zip(self.weights, lengths, strict=True) if each.group == group and w > CARRIES)

    def _direction(self, group: int, cos2: float) -> FloatArray:
        design = np.zeros(self.mixture.means.shape[1])
        design[group], design[-1] = 1.0, cos2 / 2
        return design


def fit_scale(
    lengths: Sequence[Length], groups: int, start: Sequence[float], stretch: Stretch | None = None
) -> ScaleFit:
    """Fit scale and stretch to log ratios, whatever the share of wrong lengths up to about a third.

    Parameters
    ----------
    lengths : sequence of Length, not empty
    groups : int
    start : sequence of float, length `groups`
        Log scale of each group, from `vote`.
    stretch : Stretch, optional
        What is known of it beforehand. Where no circle tells it, the usual is weighed against an unusual one.

    Returns
    -------
    ScaleFit
        A group without lengths keeps its start value with a variance that says nothing is known.

    Notes
    -----
    log(nominal / measured) = d_group + stretch cos2 / 2 + error. A length is drawn with the pen's usual error, or with
    three times that, or has nothing to do with its figure; its weight is the expectation of its precision over the
    three (Lange, Little and Taylor 1989, from memory), found in turn with the `posterior`.
    """
    known = stretch or Stretch()
    usual = settled(lengths, start, known)
    rival = None if known.told else unusual_start(lengths, groups)
    if rival is None:
        return ScaleFit(usual.mixture, usual.weights)
    other = settled(lengths, rival[1], UNUSUAL, rival[0])
    found = float(other.mixture.mean[-1])
    if abs(found) <= LARGEST_USUAL:
        # What paper does, found from a better start.
        again = settled(lengths, rival[1], known, rival[0])
        better = max(usual, again, key=lambda each: each.log_evidence)
        return ScaleFit(better.mixture, better.weights)
    odds = other.log_evidence - usual.log_evidence + np.log(UNUSUAL_SHARE / (1 - UNUSUAL_SHARE))
    unusual = float(expit(odds))
    likelier = other if unusual > 0.5 else usual
    return ScaleFit(usual.mixture.or_else(other.mixture, unusual), likelier.weights, unusual, found)


def unusual_start(lengths: Sequence[Length], groups: int) -> tuple[float, list[float]] | None:
    """The unusual stretch at which the lengths agree best, with each group's log scale there; None where none is near.

    Parameters
    ----------
    lengths : sequence of Length
    groups : int
    """
    score = np.zeros(len(TRIED))
    starts = np.zeros((groups, len(TRIED)))
    for group in range(groups):
        own = [each for each in lengths if each.group == group]
        if not own:
            continue
        ratio, cos2, trust = (np.array(row) for row in zip(*((x.log_ratio, x.cos2, x.trust) for x in own), strict=True))
        std = np.array([np.hypot(PEN_START_MM, each.std_mm) / each.measured_mm for each in own])
        gained, starts[group] = agreement(ratio, std, cos2, trust)
        score += gained
    usual = np.abs(TRIED) <= LARGEST_USUAL
    best = int(np.argmax(np.where(usual, -np.inf, score)))
    if np.ptp([each.cos2 for each in lengths]) <= 1.0 or score[best] < score[usual].max() - WORTH_WEIGHING:
        return None
    return float(TRIED[best]), list(starts[:, best])
