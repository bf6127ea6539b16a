"""Which lengths carry a scale, and what they say of it: weights and posterior found in turn.

A length is drawn with the pen's usual error, or with three times that, or has nothing to do with its figure.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce

import numpy as np
from scipy.special import expit
from scipy.stats import norm

from calibrate.nominal import PEN_START_MM, Length
from calibrate.posterior import Mixture, Model, pen_shape, posterior
from calibrate.sheet import FloatArray
from calibrate.stretching import Stretch

LEAST_PEN_MM = 0.02
"""A length is never an outlier by less than a pen error of this: few lengths may agree by chance."""
PRINT_WRONG, LINE_WRONG = 0.006, 0.02
"""tau and lambda: probability that a printed figure disagrees with its own drawing, and that it stands at another line
(simulated)."""
WIDE_SHARE, WIDE = 0.04, 3.0
"""Share of lengths drawn with so many times the usual error (simulated)."""
BLIND_RANGE = 4.6
"""A length that has nothing to do with its figure is log-uniform over a factor of a hundred (simulated)."""
OUTLIER_Z = 5.0
"""A length further off than this many standard errors does not carry the fit."""
CARRIES = 0.5
"""A length of more weight than this carries the fit."""
BEGINNINGS = (0.006, 0.0005)
"""How good the vote is taken to be, relative, as the search begins; it counts half as much with each reweighting. From
the first alone a few figures wrong by the same few per cent pass for a shaky hand."""
ITERATIONS = 15
SETTLED = 1e-3
"""Largest change of a weight at which the fit has settled."""
VAGUE = 1e-6
"""Precision of a group's log scale beforehand: nothing is known."""
LEAST_TRUST = 0.05


@dataclass(frozen=True)
class Settled:
    """A fit under one belief about the stretch."""

    mixture: Mixture
    weights: FloatArray
    log_evidence: float

    def or_else(self, other: "Settled") -> "Settled":
        """Where either may be true: the weights stay those of the first."""
        share = float(expit(other.log_evidence - self.log_evidence))
        evidence = float(np.logaddexp(self.log_evidence, other.log_evidence))
        return replace(self, mixture=self.mixture.or_else(other.mixture, share), log_evidence=evidence)


def _model(lengths: Sequence[Length], start: Sequence[float], known: Stretch) -> Model:
    measured = np.array([each.measured_mm for each in lengths])
    std = np.array([each.std_mm for each in lengths])
    grain = np.array([each.drawn and each.grain for each in lengths])
    design = np.zeros((len(lengths), len(start) + 1))
    design[np.arange(len(lengths)), [each.group for each in lengths]] = 1.0
    design[:, -1] = [each.cos2 / 2 for each in lengths]
    return Model(
        y=np.array([each.log_ratio for each in lengths]) * measured,
        design=design * measured[:, None],
        pen_shape=pen_shape(
            [each.ends for each in lengths], np.array([each.pen_share * each.drawn for each in lengths])
        ),
        pixel_std=np.where(grain, std, 0.0),
        fixed_std=np.where(grain, 0.0, std),
        prior_mean=np.append(np.asarray(start, np.float64), known.mean),
        prior_precision=np.append(np.full(len(start), VAGUE), known.std**-2),
    )


def settled(lengths: Sequence[Length], start: Sequence[float], known: Stretch, stretch: float | None = None) -> Settled:
    """The fit from the vote's scale and a stretch to start with; searches that end apart count by their evidence."""
    found = [_settled_from(lengths, start, known, stretch, spread) for spread in BEGINNINGS]
    ends: list[Settled] = []
    for each in sorted(found, key=lambda one: -one.log_evidence):
        if all(np.abs(each.weights - other.weights).max() > CARRIES for other in ends):
            ends.append(each)
    return reduce(Settled.or_else, ends)


def _settled_from(
    lengths: Sequence[Length], start: Sequence[float], known: Stretch, stretch: float | None, spread: float
) -> Settled:
    """Weights and posterior in turn."""
    model = _model(lengths, start, known)
    measured = np.array([each.measured_mm for each in lengths])
    right = np.array([max(each.trust, LEAST_TRUST) * (1 - PRINT_WRONG - LINE_WRONG) for each in lengths])
    blind = 1 / (BLIND_RANGE * measured)
    parameters = model.prior_mean if stretch is None else np.append(model.prior_mean[:-1], stretch)
    pen, weights = PEN_START_MM, np.zeros(len(lengths))
    for turn in range(ITERATIONS):
        sigma = np.hypot(model.sigma(max(pen, LEAST_PEN_MM)), measured * spread / 2**turn)
        before, weights = weights, _weights(model.y - model.design @ parameters, sigma, right, blind)
        mixture = posterior(model, weights)
        parameters, pen = mixture.mean, mixture.pen_mm
        if np.abs(weights - before).max() < SETTLED:
            break
    return Settled(mixture, weights, _evidence(mixture, weights, right, blind))


def _weights(residual: FloatArray, sigma: FloatArray, right: FloatArray, blind: FloatArray) -> FloatArray:
    """Expected precision of each length, relative to the pen's usual."""
    z = residual / sigma
    usual = right * (1 - WIDE_SHARE) * norm.pdf(z) / sigma
    wide = right * WIDE_SHARE * norm.pdf(z / WIDE) / (WIDE * sigma)
    weights = (usual + wide / WIDE**2) / (usual + wide + (1 - right) * blind)
    return np.asarray(np.where(np.abs(z) < OUTLIER_Z, weights, 0.0), np.float64)


def _evidence(mixture: Mixture, weights: FloatArray, right: FloatArray, blind: FloatArray) -> float:
    """Log evidence of all lengths: those that carry, those drawn with the wide error, and those out of it."""
    kept = weights > 0
    share = np.where(weights > CARRIES, 1 - WIDE_SHARE, WIDE_SHARE)
    return mixture.log_evidence + float(np.log(np.where(kept, right * share, (1 - right) * blind)).sum())
