"""Which lengths carry a scale, and what they say of it: weights and posterior found in turn.

A length is drawn with the pen's usual error, or with three times that, or has nothing to do with its figure. On a few
sheets there is a fourth kind: figures that are wrong alike, by one factor near 1, as where a part was made longer and
not drawn anew, or one mark is misread throughout. Where some lengths agree on a factor of their own, that is weighed
against a sheet without such a fault, and what is said of the scale holds both.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from calibrate.scaling.nominal import PEN_START_MM, Length
from calibrate.scaling.posterior import OWN_PARTS, Mixture, Model, partly_own, posterior, shared_by_edges
from calibrate.scaling.stretching import Stretch
from calibrate.sheet import FloatArray

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
FAULTY_SHEETS, FAULTY_SHARE = 0.05, 0.1
"""Share of sheets on which figures are wrong alike, and of the figures on those (no source)."""
FAULT_STD, LARGEST_FAULT = 0.05, 0.15
"""Standard deviation of the log of their factor beforehand; those beyond the second are out of every fit anyway."""
FAULT_STDS, LEAST_ALIKE = 3.0, 1.5
"""Lengths so many standard deviations off the scale are looked at, and make a fault where more than one agree."""


@dataclass(frozen=True)
class Settled:
    """A fit under one belief about the stretch."""

    mixture: Mixture
    weights: FloatArray
    log_evidence: float

    def weighed(self, share: float) -> "Settled":
        """The same, of which so much was believed beforehand."""
        return replace(self, log_evidence=self.log_evidence + float(np.log(share)))

    def or_else(self, other: "Settled") -> "Settled":
        """Where either may be true: the weights stay those of the first."""
        share = float(expit(other.log_evidence - self.log_evidence))
        evidence = float(np.logaddexp(self.log_evidence, other.log_evidence))
        return replace(self, mixture=self.mixture.or_else(other.mixture, share), log_evidence=evidence)


def _model(lengths: Sequence[Length], start: Sequence[float], known: Stretch) -> Model:
    measured = np.array([each.measured_mm for each in lengths])
    std = np.array([each.std_mm for each in lengths])
    grain = np.array([each.drawn and each.grain for each in lengths])
    figure_std = measured * np.array([each.figure_std for each in lengths])
    design = np.zeros((len(lengths), len(start) + 1))
    design[np.arange(len(lengths)), [each.group for each in lengths]] = 1.0
    design[:, -1] = [each.cos2 / 2 for each in lengths]
    shared = shared_by_edges([each.ends for each in lengths])
    pen_share = np.array([each.pen_share * each.drawn for each in lengths])
    return Model(
        y=np.array([each.log_ratio for each in lengths]) * measured,
        design=design * measured[:, None],
        pen_shapes=np.array([partly_own(shared, own) * np.outer(pen_share, pen_share) for own in OWN_PARTS]),
        pixel_std=np.where(grain, std, 0.0),
        fixed_std=np.hypot(np.where(grain, 0.0, std), figure_std),
        pixel_shape=partly_own(shared, OWN_PARTS[-1]),
        prior_mean=np.append(np.asarray(start, np.float64), known.mean),
        prior_precision=np.append(np.full(len(start), VAGUE), known.std**-2),
    )


def settled(lengths: Sequence[Length], start: Sequence[float], known: Stretch, stretch: float | None = None) -> Settled:
    """The fit from the vote's scale and a stretch to start with.

    Searches that end apart count by their evidence, and so do sheets with figures that are wrong alike.
    """
    model = _model(lengths, start, known)
    ends: list[Settled] = []
    for spread in BEGINNINGS:
        ends.append(_settled_from(model, lengths, stretch, spread, ends=ends))
    sound = _together(ends)
    faulty = [
        _settled_from(replace(model, prior_mean=np.append(at, known.mean)), lengths, stretch, BEGINNINGS[0], fault)
        for at, fault in _faults(lengths, start, stretch or known.mean)
    ]
    if not faulty:
        return sound
    either = (sound.weighed(1 - FAULTY_SHEETS), *(one.weighed(FAULTY_SHEETS / len(faulty)) for one in faulty))
    return reduce(Settled.or_else, sorted(either, key=lambda one: -one.log_evidence))


def _together(found: Sequence[Settled]) -> Settled:
    """Searches that end apart, weighed by their evidence."""
    ends: list[Settled] = []
    for each in sorted(found, key=lambda one: -one.log_evidence):
        if all(np.abs(each.weights - other.weights).max() > CARRIES for other in ends):
            ends.append(each)
    return reduce(Settled.or_else, ends)


def _faults(lengths: Sequence[Length], start: Sequence[float], stretch: float) -> list[tuple[list[float], float]]:
    """Starting scales and log factors under which some lengths may be wrong alike; either kind may be the wrong one."""
    off = np.array([each.log_ratio - start[each.group] - stretch * each.cos2 / 2 for each in lengths])
    std = np.array([np.hypot(PEN_START_MM, each.std_mm) / each.measured_mm for each in lengths])
    far = np.flatnonzero((np.abs(off) > FAULT_STDS * std) & (np.abs(off) < LARGEST_FAULT))
    if len(far) < LEAST_ALIKE:
        return []
    z = (off[far, None] - off[far]) / np.hypot(std[far, None], std[far])
    alike = np.exp(-0.5 * z**2)
    best = int(np.argmax(alike.sum(axis=1)))
    if alike[best].sum() < LEAST_ALIKE:
        return []
    fault = float(np.average(off[far], weights=alike[best] / std[far] ** 2))
    return [(list(start), fault), ([each + fault for each in start], -fault)]


def _settled_from(
    model: Model,
    lengths: Sequence[Length],
    stretch: float | None,
    spread: float,
    fault: float | None = None,
    ends: Sequence[Settled] = (),
) -> Settled:
    """Weights and posterior in turn, until they settle or come to where another search, one of ``ends``, has ended.

    ``fault`` is the log factor, to start with, of figures that are wrong alike.
    """
    measured = np.array([each.measured_mm for each in lengths])
    right = np.array([max(each.trust, LEAST_TRUST) * (1 - PRINT_WRONG - LINE_WRONG) for each in lengths])
    blind = 1 / (BLIND_RANGE * measured)
    parameters = model.prior_mean if stretch is None else np.append(model.prior_mean[:-1], stretch)
    pen, kinds = PEN_START_MM, Kinds(np.zeros(len(lengths)), np.zeros(len(lengths), np.bool_))
    for turn in range(ITERATIONS):
        sigma = np.hypot(model.sigma(max(pen, LEAST_PEN_MM)), measured * spread / 2**turn)
        residual = model.y - model.design @ parameters
        before = kinds
        kinds = _kinds(residual, sigma, right, blind, None if fault is None else residual - fault * measured)
        if turn > 0 and np.abs(kinds.weights - before.weights).max() < SETTLED:
            break
        for end in ends:
            if np.abs(kinds.weights - end.weights).max() < SETTLED:
                return end
        if fault is None:
            mixture = posterior(model, kinds.weights)
        else:
            mixture = posterior(_with_fault(model, measured * kinds.faulty), kinds.weights)
            fault, mixture = float(mixture.mean[-1]), mixture.without_last()
        parameters, pen = mixture.mean, mixture.pen_mm
    carrying = np.where(kinds.faulty, 0.0, kinds.weights)
    return Settled(mixture, carrying, _evidence(mixture, kinds, right, blind, alike=fault is not None))


def _with_fault(model: Model, faulty_mm: FloatArray) -> Model:
    """The model with one more term, the log factor of figures that are wrong alike."""
    return replace(
        model,
        design=np.column_stack([model.design, faulty_mm]),
        prior_mean=np.append(model.prior_mean, 0.0),
        prior_precision=np.append(model.prior_precision, FAULT_STD**-2),
    )


@dataclass(frozen=True)
class Kinds:
    """Weight of each length, and whether its figure is one of those that are wrong alike."""

    weights: FloatArray
    faulty: NDArray[np.bool_]


def _kinds(
    residual: FloatArray, sigma: FloatArray, right: FloatArray, blind: FloatArray, from_fault: FloatArray | None
) -> Kinds:
    """Expected precision of each length, relative to the pen's usual; ``from_fault``: residuals if wrong alike."""
    z = residual / sigma
    usual = right * (1 - WIDE_SHARE) * _bell(z) / sigma
    wide = right * WIDE_SHARE * _bell(z / WIDE) / (WIDE * sigma)
    neither = (1 - right) * blind
    if from_fault is None:
        weights = (usual + wide / WIDE**2) / (usual + wide + neither)
        return Kinds(np.where(np.abs(z) < OUTLIER_Z, weights, 0.0), np.zeros(len(z), np.bool_))
    usual, wide = usual * (1 - FAULTY_SHARE), wide * (1 - FAULTY_SHARE)
    fault_z = from_fault / sigma
    alike = FAULTY_SHARE * _bell(fault_z) / sigma
    faulty = alike > usual + wide
    weights = np.where(faulty, alike, usual + wide / WIDE**2) / (usual + wide + alike + neither)
    kept = np.where(faulty, np.abs(fault_z), np.abs(z)) < OUTLIER_Z
    return Kinds(np.where(kept, weights, 0.0), faulty & kept)


def _bell(z: FloatArray) -> FloatArray:
    """Density of the standard normal distribution."""
    return np.asarray(np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi), np.float64)


def _evidence(mixture: Mixture, kinds: Kinds, right: FloatArray, blind: FloatArray, *, alike: bool) -> float:
    """Log evidence of all lengths: those that carry, those drawn with the wide error, faulty ones, and the rest."""
    sound = right * np.where(kinds.weights > CARRIES, 1 - WIDE_SHARE, WIDE_SHARE) * (1 - FAULTY_SHARE * alike)
    kept = np.where(kinds.faulty, FAULTY_SHARE, sound)
    return mixture.log_evidence + float(np.log(np.where(kinds.weights > 0, kept, (1 - right) * blind)).sum())
