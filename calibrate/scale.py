"""Scale and shrink from lengths whose nominal values are known: a robust fit with its uncertainty.

Glossary
--------
group
    Views that share one scale.
pen error
    Standard deviation of a drawn length about its nominal one, in mm of paper; estimated from the residuals.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce

import numpy as np
from scipy.special import expit
from scipy.stats import norm

from calibrate.posterior import Mixture, Model, pen_shape, posterior
from calibrate.sheet import FloatArray
from calibrate.stretching import LARGEST_USUAL, TRIED, UNUSUAL, UNUSUAL_SHARE, WORTH_WEIGHING, Stretch, agreement

PEN_START_MM = 0.12
"""Pen error assumed before any residual is seen, in mm of paper (hand-drawn originals; common practice, no source)."""
LEAST_PEN_MM = 0.02
"""A length is never an outlier by less than a pen error of this: few lengths may agree by chance."""
PEN_PRIOR_DOF = 3.0
"""Degrees of freedom granted to the pen error beyond those of the residuals."""
PRINT_WRONG, LINE_WRONG = 0.006, 0.02
"""tau and lambda: probability that a printed figure disagrees with its own drawing, and that it stands at another line
(shared trial)."""
WIDE_SHARE, WIDE = 0.04, 3.0
"""Share of lengths drawn with so many times the usual error (shared trial)."""
BLIND_RANGE = 4.6
"""A length that has nothing to do with its figure is log-uniform over a factor of a hundred (shared trial)."""
OUTLIER_Z = 5.0
"""A length further off than this many standard errors does not carry the fit."""
CARRIES = 0.5
"""A length of more weight than this carries the fit."""
VOTE_WIDTH = 0.004
"""Least width of the vote's kernel, relative: lengths of one scale agree better than this."""
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

    @property
    def log_ratio(self) -> float:
        """Log of part mm per paper mm."""
        return float(np.log(self.nominal_mm / self.measured_mm))


@dataclass(frozen=True)
class ScaleFit:
    """Log scale of each group and the sheet's stretch, with their posterior.

    Attributes
    ----------
    mixture : Mixture
        Over the log of part mm per paper mm of each group, then the stretch; P is the number of groups and one.
    weights : ndarray, float64, shape (N,)
        Final weight of each length, 0 for outliers.
    dof : float
        Degrees of freedom behind the pen error.
    unusual : float
        Probability that the sheet is stretched more than paper does; 0 where circles tell the stretch.
    rival : float
        The unusual stretch that was weighed; 0 where none was.
    """

    mixture: Mixture
    weights: FloatArray
    dof: float
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
    usual = _settled(lengths, start, known)
    rival = None if known.told else unusual_start(lengths, groups)
    if rival is None:
        return usual.fit()
    other = _settled(lengths, rival[1], UNUSUAL, rival[0])
    found = float(other.mixture.mean[-1])
    if abs(found) <= LARGEST_USUAL:
        # What paper does, found from a better start.
        again = _settled(lengths, rival[1], known, rival[0])
        return max(usual, again, key=lambda each: each.log_evidence).fit()
    odds = other.log_evidence - usual.log_evidence + np.log(UNUSUAL_SHARE / (1 - UNUSUAL_SHARE))
    unusual = float(expit(odds))
    likelier = other if unusual > 0.5 else usual
    both = replace(likelier, mixture=usual.mixture.or_else(other.mixture, unusual))
    return both.fit(unusual, found)


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


@dataclass(frozen=True)
class _Settled:
    """A fit under one belief about the stretch."""

    mixture: Mixture
    weights: FloatArray
    log_evidence: float
    parameters: int

    def or_else(self, other: "_Settled") -> "_Settled":
        """Where either may be true: the weights stay those of the first."""
        share = float(expit(other.log_evidence - self.log_evidence))
        evidence = float(np.logaddexp(self.log_evidence, other.log_evidence))
        return replace(self, mixture=self.mixture.or_else(other.mixture, share), log_evidence=evidence)

    def fit(self, unusual: float = 0.0, rival: float = 0.0) -> ScaleFit:
        """As the outside sees it."""
        carried = float(self.weights.sum())
        fitted = min(self.parameters, max(carried - 1.0, 0.0))
        return ScaleFit(self.mixture, self.weights, PEN_PRIOR_DOF + max(carried - fitted, 0.0), unusual, rival)


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


def _settled(
    lengths: Sequence[Length], start: Sequence[float], known: Stretch, stretch: float | None = None
) -> _Settled:
    """The fit from the vote's scale and a stretch to start with; searches that end apart count by their evidence."""
    found = [_settled_from(lengths, start, known, stretch, spread) for spread in BEGINNINGS]
    ends: list[_Settled] = []
    for each in sorted(found, key=lambda one: -one.log_evidence):
        if all(np.abs(each.weights - other.weights).max() > CARRIES for other in ends):
            ends.append(each)
    return reduce(_Settled.or_else, ends)


def _settled_from(
    lengths: Sequence[Length], start: Sequence[float], known: Stretch, stretch: float | None, spread: float
) -> _Settled:
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
    return _Settled(mixture, weights, _evidence(mixture, weights, right, blind), len(parameters))


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


def without(lengths: Sequence[Length], index: int) -> list[Length]:
    """The lengths with one left out: a value does not vouch for itself."""
    return [length for i, length in enumerate(lengths) if i != index]
