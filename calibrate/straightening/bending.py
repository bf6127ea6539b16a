"""Whether a sheet lies flat, and how it bends where it doesn't: from how its ruled lines bow.

A line ruled straight is straight on a flat sheet whatever the perspective. Where several long lines bow, a cylinder is
fitted to all of them (`calibrate.straightening.bend`), smooth or sharply folded. It is kept where it leaves little of
their bow and lengths well known; else nothing is moved, and it is said that the sheet does not lie flat.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from calibrate.sheet import FloatArray
from calibrate.straightening.bars import Bars
from calibrate.straightening.bend import NUMERIC_STEP, POSE, Bend, Lift, flat_points, lift_of
from calibrate.straightening.ruled_tracks import (
    ARCHED_STDS,
    FEWEST_BOWED,
    POINTS_APART,
    Tracks,
    arching,
    bows_plainly,
    extent,
    kink_in_line,
    straightness,
    tracks_of,
)

MOST_STRAIN = 0.02
"""A correction that leaves lengths more unsure than this, relative, is not made (no source: worse than any paper)."""
BOWED_PX = 0.4
"""Root mean square distance of a line's points from straight, in pixels, from which it counts as bowed."""
LONG_SHARE = 0.2
"""Lines shorter than this part of the longer side say little of a bend."""
LENS_ALONE, SMOOTH, FOLDED = (0, 1.0), (6, 0.5), (22, 8.0)
"""Pieces of the lift's spline, and the standard deviation of its second derivative; none where the sheet is flat."""
PRIOR_STEP = 6
PRIOR_WEIGHT = 0.1
"""The lift is held to its usual size and smoothness at a hundred places, together as much as one place."""
LIFT_STD = 0.03
"""Lift, as a part of the eye's height, that paper on a table reaches."""
EVERY_START_DEG = (0.0, 90.0, 45.0, 135.0)
TURN_STD, TILT_STD, ANGLE_STD = 0.02, 0.03, 0.5
FOOT = slice(4, 6)
"""Where the terms of a bend hold the eye's foot."""
FOOT_STD = 0.05
"""The camera's axis is not known well: standard deviation of the foot in half sides (no source). Its distance from the
middle goes with the height, and is as little known; it is what the error of lengths hangs on most."""
LENS_STD = 0.02
"""Bow of a lens at half the picture's longer side, as a part of that: cameras for near things (no source)."""
MOST_STEPS, SETTLED = 30, 1e-4
"""The search ends after so many steps, or where one betters the misfit by less than this part of it."""
MOST_LEFT = 0.35
"""Part of the bow of bowed lines that may be left where a bend is understood."""


@dataclass(frozen=True)
class Eye:
    """Foot of the camera's eye on the sheet, and its height over it, in level pixels; the error of the height's log."""

    foot_px: FloatArray
    height_px: float
    log_height_std: float


def find_bend(level: Bars, upright: Bars, shape: tuple[int, int], pen_px: float, eye: Eye) -> Bend | None:
    """Find the bend of a sheet from its ruled lines, in the frame that these lie in.

    Parameters
    ----------
    level, upright : Bars
        Level pixels.
    shape : (int, int)
        Height and width of the level picture.
    pen_px : float
    eye : Eye
        Where the camera probably stood.

    Returns
    -------
    Bend or None
        None where the sheet lies flat as far as its lines tell.
    """
    unit, middle = max(shape) / 2, (np.array([shape[1], shape[0]]) - 1) / 2
    tracks = tracks_of(level, upright, unit, middle, pen_px)
    off = straightness(tracks.points, tracks.along)[0]
    long = extent(tracks.points) >= 2 * LONG_SHARE
    bowed = long & (unit * np.sqrt(np.square(off).mean(axis=1)) > BOWED_PX)
    several = np.count_nonzero(bowed | (long & (arching(off, tracks.std) > ARCHED_STDS))) >= FEWEST_BOWED
    if not bowed.any() or not (several or bows_plainly(tracks, bowed)):
        return None
    return _best(tracks, _beforehand(eye, unit, middle), bowed, unit, middle)


@dataclass(frozen=True)
class Pose:
    """What is known of a bend's pose beforehand: its terms and their standard deviations, shape (POSE,)."""

    mean: FloatArray
    std: FloatArray

    def across(self, angle_deg: float) -> "Pose":
        """The same of a cylinder that bends along an angle."""
        return replace(self, mean=np.append(self.mean[:-1], np.radians(angle_deg)))


def _beforehand(eye: Eye, unit: float, middle: FloatArray) -> Pose:
    foot = (eye.foot_px - middle) / unit
    foot_std = FOOT_STD + eye.log_height_std * float(np.hypot(*foot))
    mean = np.array([0.0, 0, 0, 0, *foot, np.log(eye.height_px / unit), 0.0, 0.0])
    std = [TURN_STD, TURN_STD, TILT_STD, TILT_STD, foot_std, foot_std, eye.log_height_std, LENS_STD, ANGLE_STD]
    return Pose(mean, np.array(std))


def _soft(misfit: FloatArray) -> FloatArray:
    """Root of Cauchy's loss: small misfits as they are, large ones hardly more."""
    return np.asarray(np.copysign(np.sqrt(np.log1p(np.square(misfit))), misfit), np.float64)


def _misfit(terms: FloatArray, tracks: Tracks, lift: Lift) -> tuple[FloatArray, FloatArray]:
    """Points' distances from straight and lines' rises in their standard deviations; terms of shape (..., P)."""
    flat = flat_points(tracks.points.reshape(-1, 2), terms, lift)
    flat = flat.reshape(*terms.shape[:-1], *tracks.points.shape)
    off, rise = straightness(flat, tracks.along)
    growth = extent(flat) / extent(tracks.points)
    return off / (growth * tracks.std)[..., None], rise / (growth * tracks.stray)


@dataclass(frozen=True)
class Fit:
    """A fitted bend: its terms, their covariance, its splines, and Schwarz's criterion (smaller is better)."""

    terms: FloatArray
    covariance: FloatArray
    lift: Lift
    criterion: float


def _fit(tracks: Tracks, known: Pose, first: FloatArray, form: tuple[int, float]) -> Fit:
    """Fit a lift of one form; ``first`` is the pose at which the search begins.

    Notes
    -----
    Schwarz's criterion of Cauchy errors: 2 sum log(1 + r^2) + terms log(points), points that are independent.
    """
    pieces, roughness = form
    half = np.abs(tracks.points).max(axis=(0, 1))
    angle = float(known.mean[-1])
    lift = lift_of(float(np.abs([np.cos(angle), np.sin(angle)]) @ half), pieces)

    usual_shape = PRIOR_WEIGHT * np.concatenate([lift.curvatures / roughness, lift.values / LIFT_STD])[::PRIOR_STEP].T

    def residuals(terms: FloatArray) -> FloatArray:
        off, rise = _misfit(terms, tracks, lift)
        usual = (terms[..., :POSE] - known.mean) / known.std
        soft = _soft(off).reshape(*rise.shape[:-1], -1), _soft(rise)
        return np.concatenate([*soft, usual, terms[..., POSE:] @ usual_shape], axis=-1)

    def slopes(terms: FloatArray) -> FloatArray:
        # All steps at once: a search one term after the other spends its time in small arrays.
        found = residuals(terms + NUMERIC_STEP * np.eye(len(terms) + 1, len(terms)))
        return np.asarray((found[:-1] - found[-1]).T / NUMERIC_STEP, np.float64)

    start = np.append(first, np.zeros(lift.values.shape[1]))
    fit = least_squares(residuals, start, jac=slopes, method="trf", ftol=SETTLED, max_nfev=MOST_STEPS)
    terms, jacobian = np.asarray(fit.x, np.float64), np.asarray(fit.jac, np.float64)
    points = POINTS_APART * len(tracks.points)
    criterion = 2 * _cost(terms, tracks, lift) + len(terms) * float(np.log(points))
    return Fit(terms, np.asarray(np.linalg.pinv(jacobian.T @ jacobian), np.float64), lift, criterion)


def _as_drawn(tracks: Tracks, fit: Fit) -> Tracks:
    """The tracks with the straying of their lines as a first fit finds it, in place of what was supposed."""
    rise = _misfit(fit.terms, tracks, fit.lift)[1] * tracks.stray
    stray = np.full(len(rise), 1.4826 * float(np.median(np.abs(rise))))
    return replace(tracks, stray=np.maximum(stray, tracks.std))


def _cost(terms: FloatArray, tracks: Tracks, lift: Lift) -> float:
    return float(np.square(_soft(_misfit(terms, tracks, lift)[0])).sum())


def _best(tracks: Tracks, pose: Pose, bowed: NDArray[np.bool_], unit: float, middle: FloatArray) -> Bend | None:
    """The bend that explains the lines best, or a lens; None where a flat sheet does.

    Nothing is corrected where only kinks in one line or one long line speak against a flat sheet.
    """
    sides = set(tracks.along[bowed].tolist())
    starts = EVERY_START_DEG if len(sides) > 1 else (90.0 * sides.pop(),)
    smooth = []
    for start in starts:
        known = pose.across(start)
        smooth.append((_fit(tracks, known, known.mean, SMOOTH), known))
    fit, known = min(smooth, key=lambda one: one[0].criterion)
    others = [(_fit(tracks, known, fit.terms[:POSE], form), form) for form in (FOLDED, LENS_ALONE)]
    fit, form = min([(fit, SMOOTH), *others], key=lambda one: one[0].criterion)
    before = straightness(tracks.points, tracks.along)[0]
    explained = fit.criterion < 2 * float(np.square(_soft(before / tracks.std[:, None])).sum())
    if not (explained or kink_in_line(tracks, bowed, pose.mean[FOOT]) or bows_plainly(tracks, bowed)):
        return None
    fit = _fit(_as_drawn(tracks, fit), known, fit.terms[:POSE], form)
    flat = flat_points(tracks.points.reshape(-1, 2), fit.terms, fit.lift).reshape(tracks.points.shape)
    after = straightness(flat, tracks.along)[0]
    weight = extent(tracks.points)[bowed]
    was, left = (unit * np.sqrt(np.square(off[bowed]).mean(axis=1)) for off in (before, after))
    left_px = float(np.average(left, weights=weight))
    understood = explained and left_px < MOST_LEFT * float(np.average(was, weights=weight))
    bow_px = unit * float(np.abs(before[bowed]).max())
    bend = Bend(middle, unit, fit.terms, fit.covariance, fit.lift, bow_px, left_px, understood)
    # A correction that leaves lengths so unsure knows less of the sheet than that it is near flat.
    return replace(bend, corrected=False) if bend.strain_std() > MOST_STRAIN else bend
