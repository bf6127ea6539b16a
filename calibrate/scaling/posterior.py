"""Scale and pen error together: the posterior of a linear model whose errors are the pen's and the pixels'.

Notes
-----
For each pen error, pixel factor and part of the pen error that every length has to itself, the errors are Gaussian
with a known covariance, and the parameters' posterior is Gaussian (generalised least squares with a Gaussian prior:
Gelman and others, Bayesian Data Analysis, chapter 14, from memory). These are weighed by their evidence, so that what
is said of the scale is a mixture of Gaussians: it is wide where few lengths tell of the pen error, and needs no count
of degrees of freedom.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from calibrate.sheet import FloatArray

PEN_GRID_MM = np.geomspace(0.0002, 0.45, 23)
"""Pen errors weighed against each other, in mm of paper: from none that a scan could show to a shaky hand's."""
PIXEL_GRID = np.array([0.1, 0.3, 1.0, 2.0])
"""Factors by which the pixels' own standard errors may be off: strokes state theirs with a floor. Of 252 plotted sheets
the median is .2 clean, .5 aged and 1 in photographs, and 19 in 20 clean ones lie above .07."""
PIXEL_BELIEF = np.array([0.3, 0.2, 0.35, 0.15])
HAND_MM, HAND_SPREAD = 0.18, 0.45
"""Pen error of a draughtsman's hand: median in mm of paper and spread of its log; 0.1 to 0.3 mm is usual ..."""
HAND_SHARE = 0.5
"""... for this share of the sheets; of the rest nothing is known beforehand (no source)."""
OWN_PARTS = (1e-6, 0.1)
"""Part of the pen error's variance that a length has to itself where it shares edges: next to none where all are taken
from the edge, a tenth where each extension line is set anew (no source). To take the second for granted misleads: a
chain of the first kind closes however far off its edges are, and closing would speak for a small pen error."""
WHOLE = 0.9
"""A length of at least this weight counts in full: ever so little error of its own would open a chain that closes."""
LEAST_BELIEF = 1e-4
TINY = 1e-300
INTERVAL = 0.95
BISECTIONS = 40


@dataclass(frozen=True)
class Model:
    """Lengths as a linear model, one row a length, residuals in mm of paper.

    Attributes
    ----------
    y : ndarray, float64, shape (N,)
        Log of nominal over measured, times the measured length.
    design : ndarray, float64, shape (N, P)
    pen_shapes : ndarray, float64, shape (K, N, N)
        Covariances that a pen error of 1 mm would give, all with the same diagonal, under each of K suppositions.
    pixel_std, fixed_std : ndarray, float64, shape (N,)
        Standard errors from the pixels, and those that neither pen nor pixels have part in.
    pixel_shape : ndarray, float64, shape (N, N)
        Correlations of the first: where a line lies is measured once, however many lengths are taken from it.
    prior_mean, prior_precision : ndarray, float64, shape (P,)
    """

    y: FloatArray
    design: FloatArray
    pen_shapes: FloatArray
    pixel_std: FloatArray
    fixed_std: FloatArray
    pixel_shape: FloatArray
    prior_mean: FloatArray
    prior_precision: FloatArray

    def sigma(self, pen_mm: float) -> FloatArray:
        """Standard deviation of each residual under a pen error."""
        return np.sqrt(pen_mm**2 * np.diag(self.pen_shapes[0]) + self.pixel_std**2 + self.fixed_std**2)


@dataclass(frozen=True)
class Mixture:
    """Posterior of the parameters: Gaussians with their beliefs.

    Attributes
    ----------
    belief : ndarray, float64, shape (M,)
    means : ndarray, float64, shape (M, P)
    covariances : ndarray, float64, shape (M, P, P)
    pen_mm : float
        Root of the mean variance of the pen.
    log_evidence : float
        Of the lengths that were weighed, in mm.
    """

    belief: FloatArray
    means: FloatArray
    covariances: FloatArray
    pen_mm: float
    log_evidence: float

    @property
    def mean(self) -> FloatArray:
        """Mean, shape (P,)."""
        return np.asarray(self.belief @ self.means, np.float64)

    @property
    def covariance(self) -> FloatArray:
        """Covariance, shape (P, P)."""
        off = self.means - self.mean
        spread = self.covariances + off[:, :, None] * off[:, None, :]
        return np.asarray(np.einsum("m,mij->ij", self.belief, spread), np.float64)

    def without_last(self) -> "Mixture":
        """Of all parameters but the last, whatever that is."""
        return replace(self, means=self.means[:, :-1], covariances=self.covariances[:, :-1, :-1])

    def or_else(self, other: "Mixture", share: float) -> "Mixture":
        """The posterior where another model holds with a probability, ``share``."""
        parts = ((self, 1 - share), (other, share))
        belief = np.concatenate([part.belief * weight for part, weight in parts])
        likely = belief > LEAST_BELIEF
        return Mixture(
            belief[likely] / belief[likely].sum(),
            np.concatenate([part.means for part, _ in parts])[likely],
            np.concatenate([part.covariances for part, _ in parts])[likely],
            float(np.sqrt(sum(weight * part.pen_mm**2 for part, weight in parts))),
            float(np.logaddexp(*(part.log_evidence + np.log(max(weight, TINY)) for part, weight in parts))),
        )

    def half_width(self, direction: FloatArray) -> float:
        """Half width of the 95 % interval about the mean, of the parameters along a direction, shape (P,)."""
        middle = float(direction @ self.mean)
        at = self.means @ direction - middle
        std = np.sqrt(np.einsum("i,mij,j->m", direction, self.covariances, direction))
        low, high = 0.0, float((np.abs(at) + 6 * std).max())
        for _ in range(BISECTIONS):
            half = (low + high) / 2
            inside = float(self.belief @ (ndtr((half - at) / std) - ndtr((-half - at) / std)))
            low, high = (half, high) if inside < INTERVAL else (low, half)
        return high


def posterior(model: Model, weights: FloatArray) -> Mixture:
    """Weigh all pen errors, pixel factors and suppositions on the pen's shape against each other.

    Parameters
    ----------
    model : Model
    weights : ndarray, float64, shape (N,)
        A length of a weight w below `WHOLE` has errors of its own besides, which make its variance larger by
        1 / w - 1 / WHOLE; one of weight 0 is left out.

    Returns
    -------
    Mixture
    """
    kept = weights > 0
    suppositions = len(model.pen_shapes)
    pens = np.repeat(PEN_GRID_MM, len(PIXEL_GRID) * suppositions)
    factors = np.tile(np.repeat(PIXEL_GRID, suppositions), len(PEN_GRID_MM))
    white, white_off, log_root = _whitened(model, weights, kept)
    transposed = np.swapaxes(white, 1, 2)
    precision = transposed @ white + np.diag(model.prior_precision)
    covariances = np.linalg.inv(precision)
    shifts = (covariances @ (transposed @ white_off[:, :, None]))[:, :, 0]
    residuals = white_off - (white @ shifts[:, :, None])[:, :, 0]
    misfit = (residuals**2).sum(axis=1) + shifts**2 @ model.prior_precision
    means = model.prior_mean + shifts
    volume = log_root - np.linalg.slogdet(precision)[1] / 2
    constant = (np.log(model.prior_precision).sum() - kept.sum() * np.log(2 * np.pi)) / 2
    log_belief = volume - misfit / 2 + _log_prior(pens, factors) - np.log(suppositions)
    evidence = float(np.logaddexp.reduce(log_belief))
    belief = np.exp(log_belief - evidence)
    pen_mm = float(np.sqrt(belief @ pens**2))
    likely = belief > LEAST_BELIEF
    share = belief[likely] / belief[likely].sum()
    return Mixture(share, means[likely], covariances[likely], pen_mm, evidence + float(constant))


def _whitened(model: Model, weights: FloatArray, kept: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Design and lengths in units of independent errors, and the log determinant of what makes them so, for each of M
    pen errors, pixel factors and suppositions, the last changing fastest.

    Returns
    -------
    design, shape (M, N, P); lengths less what the prior means leave, shape (M, N); log determinant, shape (M,)

    Notes
    -----
    One symmetric-definite eigenproblem serves all pen errors (Golub and Van Loan, Matrix Computations, section 8.7,
    from memory): with the noise of the finest pen B = R^-1 R^-T and the pen's shape S, R S R^T = Q diag(l) Q^T, that of
    any other is B + d S, and Q^T R turns it into diag(1 + d l). No d is below nought, so that nothing cancels.
    """
    shapes, pixel, fixed = _enlarged(model, weights, kept)
    finest = PEN_GRID_MM[0] ** 2
    root = np.linalg.inv(np.linalg.cholesky(finest * shapes + (PIXEL_GRID**2)[:, None, None, None] * pixel + fixed))
    from_pen, axes = np.linalg.eigh(root @ shapes @ np.swapaxes(root, -1, -2))
    turned = np.swapaxes(axes, -1, -2) @ root
    variance = 1 + (PEN_GRID_MM**2 - finest)[:, None, None, None] * np.maximum(from_pen, 0.0)
    # Solved for what the prior means leave, and misfits summed from residuals: exact lengths leave little of either.
    off = model.y[kept] - model.design[kept] @ model.prior_mean
    white = (turned @ model.design[kept]) / np.sqrt(variance)[..., None]
    white_off = (turned @ off) / np.sqrt(variance)
    log_root = np.log(np.diagonal(root, axis1=-2, axis2=-1)).sum(axis=-1) - np.log(variance).sum(axis=-1) / 2
    cases, (lengths, parameters) = log_root.size, white.shape[-2:]
    return white.reshape(cases, lengths, parameters), white_off.reshape(cases, lengths), log_root.ravel()


def _enlarged(model: Model, weights: FloatArray, kept: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Covariances from the pen, the pixels and the rest, with what lengths of little weight have to themselves."""
    diagonal = np.eye(int(kept.sum()))
    more = np.maximum(1 / weights[kept] - 1 / WHOLE, 0.0)
    shapes = model.pen_shapes[:, kept][:, :, kept]
    shapes = shapes + diagonal * np.diag(shapes[0]) * more
    pixel_std, fixed_std = model.pixel_std[kept], model.fixed_std[kept]
    pixel = (model.pixel_shape[:, kept][kept] + diagonal * more) * np.outer(pixel_std, pixel_std)
    return shapes, pixel, diagonal * fixed_std**2 * (1 + more)


def _log_prior(pens: FloatArray, factors: FloatArray) -> FloatArray:
    """Log belief in each pair of pen error and pixel factor beforehand; sums to one over the grid."""
    z = np.log(PEN_GRID_MM / HAND_MM) / HAND_SPREAD
    hand = np.exp(-0.5 * z**2)
    pen = HAND_SHARE * hand / hand.sum() + (1 - HAND_SHARE) / len(PEN_GRID_MM)
    at = np.searchsorted(PEN_GRID_MM, pens)
    return np.asarray(np.log(pen[at]) + np.log(PIXEL_BELIEF[np.searchsorted(PIXEL_GRID, factors)]), np.float64)


def shared_by_edges(ends: Sequence[tuple[int, int] | None]) -> FloatArray:
    """Correlations of lengths whose errors are all their edges'.

    Parameters
    ----------
    ends : sequence of (int, int) or None, length N
        Numbers of the two edges that each length lies between, the first on the side where coordinates are low; None
        where they are its own.

    Returns
    -------
    ndarray, float64, shape (N, N)

    Notes
    -----
    Each edge is off by its own error of variance 1/2; a length is the difference of two. Lengths from one edge to both
    sides are off in opposite ways; two from one edge to the same side alike.

    Examples
    --------
    >>> shared_by_edges([(0, 1), (1, 2), None]).tolist()
    [[1.0, -0.5, 0.0], [-0.5, 1.0, 0.0], [0.0, 0.0, 1.0]]
    """
    numbers = {number: i for i, number in enumerate(sorted({e for pair in ends if pair is not None for e in pair}))}
    loads = np.zeros((len(ends), len(numbers)))
    for row, pair in enumerate(ends):
        if pair is not None:
            loads[row, numbers[pair[0]]], loads[row, numbers[pair[1]]] = -1.0, 1.0
    return np.asarray(loads @ loads.T / 2 + np.diag([float(pair is None) for pair in ends]), np.float64)


def partly_own(shared: FloatArray, own: float) -> FloatArray:
    """Correlations where each length has a part of the variance to itself."""
    return np.asarray((1 - own) * shared + own * np.eye(len(shared)), np.float64)
