"""Scale and shrink from lengths whose nominal values are known: a robust fit with its uncertainty.

Glossary
--------
group
    Views that share one scale.
stretch
    How much longer a paper millimetre is across the sheet than up it: log of the ratio of the two axis scales.
pen error
    Standard deviation of a drawn length about its nominal one, in mm of paper; estimated from the residuals.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from calibrate.sheet import FloatArray

PEN_START_MM = 0.12
"""Pen error assumed before any residual is seen, in mm of paper (hand-drawn originals; common practice, no source)."""
PEN_GRID_MM = np.geomspace(0.015, 0.5, 24)
"""Pen errors weighed against each other, in mm of paper: from a plotter's to a shaky hand's."""
PEN_PRIOR_DOF = 3.0
"""Degrees of freedom granted to the pen error beyond those of the residuals."""
STRETCH_PRIOR = 0.006
"""Standard deviation of the stretch before any length is seen: paper shrinks by up to 1.2 % on one axis."""
ROUND_STD = 0.0006
"""A circle drawn with compasses is round to this, relative (common practice, no source)."""
TAIL_DOF = 4.0
"""Degrees of freedom of the residuals' Student-t: drawn lengths have outliers."""
OUTLIER_Z = 5.0
"""A length further off than this many standard errors does not carry the fit."""
VOTE_WIDTH = 0.004
"""Least width of the vote's kernel, relative: lengths of one scale agree better than this."""
ITERATIONS = 12
"""Reweightings; the fit has settled long before."""


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
    """

    group: int
    measured_mm: float
    std_mm: float
    nominal_mm: float
    cos2: float
    trust: float = 1.0

    @property
    def log_ratio(self) -> float:
        """Log of part mm per paper mm."""
        return float(np.log(self.nominal_mm / self.measured_mm))


@dataclass(frozen=True)
class ScaleFit:
    """Log scale of each group and the sheet's stretch, with their covariance.

    Attributes
    ----------
    parameters : ndarray, float64, shape (G + 1,)
        Log of part mm per paper mm of each group, then the stretch.
    covariance : ndarray, float64, shape (G + 1, G + 1)
    pen_std_mm : float
        Pen error, mm of paper.
    weights : ndarray, float64, shape (N,)
        Final weight of each length, 0 for outliers.
    dof : float
        Degrees of freedom behind the pen error.
    """

    parameters: FloatArray
    covariance: FloatArray
    pen_std_mm: float
    weights: FloatArray
    dof: float

    def log_scale(self, group: int, cos2: float) -> tuple[float, float]:
        """Log of part mm per paper mm in a direction, and its standard error."""
        design = np.zeros(len(self.parameters))
        design[group], design[-1] = 1.0, cos2 / 2
        return float(design @ self.parameters), float(np.sqrt(design @ self.covariance @ design))

    def carriers(self, lengths: Sequence[Length], group: int) -> int:
        """How many lengths of a group carry the fit (weight over one half)."""
        return sum(1 for w, length in zip(self.weights, lengths, strict=True) if length.group == group and w > 0.5)

    def interval_factor(self) -> float:
        """Half width of the 95 % interval, in standard errors."""
        return float(student.ppf(0.975, self.dof))


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


@dataclass(frozen=True)
class Stretch:
    """What is known of the stretch apart from the lengths: its mean and standard deviation."""

    mean: float = 0.0
    std: float = STRETCH_PRIOR


def stretch_from_circles(squeeze: float, squeeze_std: float) -> Stretch:
    """What the sheet's circles say of the stretch, together with what is usual.

    Parameters
    ----------
    squeeze, squeeze_std : float
        Height over width of circles, less 1, and its standard error; infinite where no circle tells.

    Notes
    -----
    A drawn circle is round on the part: width s_x = height s_y, so the stretch is log(height / width).
    """
    if not np.isfinite(squeeze_std):
        return Stretch()
    precision = 1 / (squeeze_std**2 + ROUND_STD**2)
    usual = STRETCH_PRIOR**-2
    mean = precision * float(np.log1p(squeeze)) / (precision + usual)
    return Stretch(mean, (precision + usual) ** -0.5)


def fit_scale(
    lengths: Sequence[Length], groups: int, start: Sequence[float], stretch: Stretch | None = None
) -> ScaleFit:
    """Fit scale and stretch by reweighted least squares on log ratios.

    Parameters
    ----------
    lengths : sequence of Length
    groups : int
    start : sequence of float, length `groups`
        Log scale of each group, from `vote`.
    stretch : Stretch, optional
        What is known of it beforehand; the usual by default.

    Returns
    -------
    ScaleFit
        A group without lengths keeps its start value with an infinite-like variance.

    Notes
    -----
    log(nominal / measured) = d_group + stretch cos2 / 2 + error, the error's standard deviation being
    hypot(pen, std) / measured. The pen error is weighed over a grid of values; the weights are those of a
    Student-t with `TAIL_DOF` degrees of freedom.
    """
    y = np.array([length.log_ratio for length in lengths])
    measured = np.array([length.measured_mm for length in lengths])
    std = np.array([length.std_mm for length in lengths])
    design = np.zeros((len(lengths), groups + 1))
    design[np.arange(len(lengths)), [length.group for length in lengths]] = 1.0
    design[:, -1] = [length.cos2 / 2 for length in lengths]
    known = stretch or Stretch()
    parameters = np.append(np.asarray(start, dtype=np.float64), known.mean)
    prior_precision = np.append(np.full(groups, 1e-6), known.std**-2)
    prior_mean = parameters.copy()
    pen = PEN_START_MM
    for _ in range(ITERATIONS):
        sigma_mm = np.hypot(pen, std)
        z = (y - design @ parameters) * measured / sigma_mm
        weights = np.where(np.abs(z) < OUTLIER_Z, (TAIL_DOF + 1) / (TAIL_DOF + z**2), 0.0)
        precision = weights * (measured / sigma_mm) ** 2
        normal = design.T @ (precision[:, None] * design) + np.diag(prior_precision)
        parameters = np.linalg.solve(normal, design.T @ (precision * y) + prior_precision * prior_mean)
        pen, dof = _pen_error((y - design @ parameters) * measured, std, weights, groups + 1)
    return ScaleFit(parameters, np.linalg.inv(normal), pen, np.minimum(weights, 1.0), dof)


def _pen_error(residual_mm: FloatArray, std: FloatArray, weights: FloatArray, used: int) -> tuple[float, float]:
    """Pen error and its degrees of freedom.

    Notes
    -----
    Posterior mean of the variance over `PEN_GRID_MM` with a log-uniform prior, the likelihood lowered by the
    parameters already fitted (``used``), as an unbiased variance is.
    """
    carried = np.minimum(weights, 1.0)
    spread = np.hypot(PEN_GRID_MM[:, None], std[None, :])
    fitted = min(used, max(float(carried.sum()) - 1.0, 0.0))
    log_likelihood = -(carried * (np.log(spread) + 0.5 * (residual_mm / spread) ** 2)).sum(axis=1)
    log_likelihood += fitted * np.log(np.median(spread, axis=1))
    belief = np.exp(log_likelihood - log_likelihood.max())
    variance = float((belief * PEN_GRID_MM**2).sum() / belief.sum())
    return float(np.sqrt(variance)), PEN_PRIOR_DOF + max(float(carried.sum()) - fitted, 0.0)


def without(lengths: Sequence[Length], index: int) -> list[Length]:
    """The lengths with one left out: a value does not vouch for itself."""
    return [length for i, length in enumerate(lengths) if i != index]
