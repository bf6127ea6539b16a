"""How a sheet bends, and where its points would lie if it were flat.

A curled or folded sheet is taken for part of a cylinder of any cross section: along one direction it stays straight,
and it is bent without stretching. An eye at a finite height sees a raised point further from the eye's foot, so lines
that were ruled straight come out bowed, each by its distance from the foot. The lens of a camera
may bow lines too, by the cube of their points' distance from the picture's middle.

Glossary
--------
across
    Coordinate square to the straight lines of the cylinder.
lift
    Height over the flat sheet as a part of the eye's height, as a function of the coordinate across: a spline.
bent, flat
    Where a point is seen, and where it would be seen on a flat sheet; both in level pixels.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline

FloatArray = NDArray[np.float64]
DEGREE = 3
GRID_STEPS = 600
"""Even, so that the middle lies half way between two."""
BEYOND = 1.15
"""The lift reaches further than the sheet along its axes: a cylinder may lean, and the corners lie further out."""
INVERSE_ROUNDS = 12
NUMERIC_STEP = 1e-6
STRAIN_REACH, STRAIN_PLACES, STRAIN_STEP = 0.7, 9, 0.1
"""Places, and lengths laid across them, in half sides, at which the error of lengths is taken, where lines told the
lift: beyond them, as above and below a broad sheet, it may be anything."""
POSE = 9
"""Terms before those of the lift: turn, shear, two tilts, foot x and y, log of the eye's height, lens, angle across."""
LOG_HEIGHT, ANGLE = 6, 8
SHORTENED_STD = 1.5
"""Foreshortening is unsure by so much of what is fitted: it goes by the squares of the slopes, which splines round off
along a crease, and of the eye's height (18 folded samples: error over stated error .8 so, 1.6 without, root mean
square)."""


@dataclass(frozen=True)
class Lift:
    """The splines that a lift is made of, free of constant and slope, which no line tells from a tilt.

    Attributes
    ----------
    grid : ndarray, float64, shape (G,)
        Coordinates across.
    values, slopes, curvatures : ndarray, float64, shape (G, M)
        Of M splines, at the grid.
    """

    grid: FloatArray
    values: FloatArray
    slopes: FloatArray
    curvatures: FloatArray


def lift_of(reach: float, pieces: int) -> Lift:
    """Cubic splines of a number of pieces, free of constant and slope between ``-reach`` and ``reach``; 0 for none."""
    end = BEYOND * reach
    grid = np.linspace(-end, end, GRID_STEPS)
    if pieces == 0:
        return Lift(grid, *(np.empty((GRID_STEPS, 0)) for _ in range(3)))
    knots = np.concatenate([[-end] * DEGREE, np.linspace(-end, end, pieces + 1), [end] * DEGREE])
    splines = BSpline(knots, np.eye(pieces + DEGREE), DEGREE)
    level = np.array([np.ones(len(grid)), grid]) * (np.abs(grid) <= reach)
    free = np.linalg.svd(level @ splines(grid))[2][2:].T
    return Lift(grid, *(np.asarray(splines.derivative(k)(grid) @ free, np.float64) for k in range(3)))


def flat_points(points: FloatArray, terms: FloatArray, lift: Lift) -> FloatArray:
    """Flat places of bent points, in coordinates about the sheet's middle.

    Parameters
    ----------
    points : ndarray, float64, shape (N, 2)
    terms : ndarray, float64, shape (..., POSE + M)
        Of one bend, or of several at once.
    lift : Lift

    Returns
    -------
    ndarray, float64, shape (..., N, 2)

    Notes
    -----
    First the lens's own bow is taken off: a point at radius r from the middle moves outward by lens r^3. Then
    flat = foot + (bent - foot) (1 - w(s)) + n a(s), with s = n . bent, w the lift and a the foreshortening of slopes,
    a(s) = h^2 / 2 times the integral of w'^2; then what is left of turn, shear and tilts is taken off.
    """
    pose = np.moveaxis(terms[..., :POSE, None], -2, 0)
    turn, shear, tilt_x, tilt_y, foot_x, foot_y, log_height, lens, angle = pose
    cosine, sine, splines = np.cos(angle), np.sin(angle), terms[..., POSE:]
    x, y = points.T
    outward = 1 + lens * (x**2 + y**2)
    x, y = x * outward, y * outward
    lifted, shortened = _interpolated(
        x * cosine + y * sine, lift.grid, (splines @ lift.values.T, _shortening(splines, lift))
    )
    shortened = np.exp(2 * log_height) * shortened
    x = foot_x + (x - foot_x) * (1 - lifted) + shortened * cosine
    y = foot_y + (y - foot_y) * (1 - lifted) + shortened * sine
    weight = 1 + tilt_x * x + tilt_y * y
    return np.asarray(np.stack([x - turn * y + shear * y, y + turn * x], axis=-1) / weight[..., None], np.float64)


def _shortening(splines: FloatArray, lift: Lift) -> FloatArray:
    """Half the integral of the squared slope from the middle on, at the lift's grid, shape (..., G)."""
    square = np.square(splines @ lift.slopes.T) / 2
    step, middle = lift.grid[1] - lift.grid[0], len(lift.grid) // 2
    half_way = np.cumsum((square[..., 1:] + square[..., :-1]) / 2 * step, axis=-1)
    total = np.concatenate([np.zeros_like(square[..., :1]), half_way], axis=-1)
    return np.asarray(total - (total[..., middle - 1 : middle] + total[..., middle : middle + 1]) / 2, np.float64)


def _interpolated(at: FloatArray, grid: FloatArray, tables: tuple[FloatArray, ...]) -> tuple[FloatArray, ...]:
    """Tables over an even grid, each of shape (..., G), at places of shape (..., N); beyond its ends as at them."""
    place = np.clip((at - grid[0]) / (grid[1] - grid[0]), 0, len(grid) - 1)
    before = np.minimum(place.astype(np.intp), len(grid) - 2)
    share = place - before
    rows = np.arange(at.size // at.shape[-1]).reshape(*at.shape[:-1], 1) * len(grid)
    found = ((t.take(rows + before), t.take(rows + before + 1)) for t in tables)
    return tuple(low + (high - low) * share for low, high in found)


@dataclass(frozen=True)
class Bend:
    """A bend that was found, in level pixels.

    Attributes
    ----------
    middle_px : ndarray, float64, shape (2,)
    unit_px : float
        Coordinates of the model are level pixels about the middle, over this.
    terms : ndarray, float64, shape (POSE + M,)
    covariance : ndarray, float64, shape (POSE + M, POSE + M)
    lift : Lift
    bow_px : float
        Largest distance of a ruled line from straight before the correction.
    left_px : float
        Typical distance of the ruled lines from straight after it.
    corrected : bool
        False where no smooth bend explains the lines: then nothing is moved, and standard errors are the bow's size.
    """

    middle_px: FloatArray
    unit_px: float
    terms: FloatArray
    covariance: FloatArray
    lift: Lift
    bow_px: float
    left_px: float
    corrected: bool = True

    @property
    def by_lens(self) -> bool:
        """Whether the sheet is flat, and the camera's lens alone bows its lines."""
        return len(self.terms) == POSE

    def flattened(self, points: FloatArray) -> FloatArray:
        """Move bent level points, shape (N, 2), to where they would lie on a flat sheet."""
        points = np.asarray(points, np.float64).reshape(-1, 2)
        return self._placed(points, self.terms) if self.corrected else points

    def bent(self, points: FloatArray) -> FloatArray:
        """Undo `flattened`."""
        target = np.asarray(points, np.float64).reshape(-1, 2)
        found = target
        for _ in range(INVERSE_ROUNDS):
            found = found + target - self.flattened(found)
        return found

    def std_px(self, points: FloatArray) -> FloatArray:
        """Standard error of flat places, the larger of x and y, shape (N,)."""
        points = np.asarray(points, np.float64).reshape(-1, 2)
        if not self.corrected:
            return np.full(len(points), self.bow_px)
        slopes, covariance = self._slopes(points), self._covariance()
        variance = np.einsum("inc,ij,jnc->nc", slopes, covariance, slopes).max(axis=1)
        return np.asarray(np.sqrt(np.maximum(variance, 0.0) + self.left_px**2), np.float64)

    def strain_std(self) -> float:
        """Standard error of a length as a part of itself, beside one common scale on each axis.

        Notes
        -----
        The root mean square over a grid of places on the sheet of what the terms' covariance makes of the strain along
        x and y, less its mean over the grid. Without a correction it is guessed from the bow: a sheet that bows by b
        over half its side is strained by about 2 b over that.
        """
        if not self.corrected:
            return 2 * self.bow_px / self.unit_px
        share = np.linspace(-STRAIN_REACH, STRAIN_REACH, STRAIN_PLACES)
        grid = np.stack(np.meshgrid(share, share), axis=-1).reshape(-1, 2)
        angle = self.terms[ANGLE]
        across = np.abs(grid @ [np.cos(angle), np.sin(angle)])
        told = max(self.lift.grid[-1] / BEYOND, 2 * STRAIN_STEP)
        grid = self.middle_px + self.unit_px * grid[across + STRAIN_STEP <= told]
        step = STRAIN_STEP * self.unit_px
        strain = [
            (self._slopes(grid + shift)[..., axis] - self._slopes(grid - shift)[..., axis]) / (2 * step)
            for axis, shift in enumerate(step * np.eye(2))
        ]
        apart = np.concatenate([part - part.mean(axis=1, keepdims=True) for part in strain], axis=1)
        variance = np.einsum("in,ij,jn->n", apart, self._covariance(), apart)
        return float(np.sqrt(max(float(variance.mean()), 0.0)))

    def _slopes(self, points: FloatArray) -> FloatArray:
        """Derivatives of flat places by the terms, and what foreshortening moves them by, shape (terms + 1, N, 2)."""
        stepped = self._placed(points, self.terms + NUMERIC_STEP * np.eye(len(self.terms)))
        there = self._placed(points, self.terms)
        unshortened = self.terms.copy()
        unshortened[LOG_HEIGHT] = -np.inf
        shortened = there - self._placed(points, unshortened)
        return np.concatenate([(stepped - there) / NUMERIC_STEP, shortened[None]])

    def _covariance(self) -> FloatArray:
        """Covariance of the terms and, last, of the part by which foreshortening is wrong."""
        return np.pad(self.covariance, (0, 1)) + np.diag(np.append(np.zeros(len(self.terms)), SHORTENED_STD**2))

    def _placed(self, points: FloatArray, terms: FloatArray) -> FloatArray:
        return self.middle_px + self.unit_px * flat_points((points - self.middle_px) / self.unit_px, terms, self.lift)
