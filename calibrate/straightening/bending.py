"""Whether a sheet lies flat, and how it bends where it doesn't: from how its ruled lines bow.

A line ruled straight is straight on a flat sheet whatever the perspective. Where several long lines bow, a cylinder is
fitted to all of them (`calibrate.straightening.bend`), smooth or sharply folded, and kept only if lines that had no
part in the fit come out straighter by it.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from calibrate.sheet import FloatArray
from calibrate.straightening.bars import TRACK_POINTS, Bars
from calibrate.straightening.bend import NUMERIC_STEP, POSE, Bend, Lift, flat_points, lift_of
from calibrate.straightening.pieces import as_one, in_one_line

MOST_STRAIN = 0.02
"""A correction that leaves lengths more unsure than this, relative, is not made (no source: worse than any paper)."""
BOWED_PX = 0.4
"""Root mean square distance of a line's points from straight, in pixels, from which it counts as bowed."""
LONG_SHARE = 0.2
"""Lines shorter than this part of the longer side say little of a bend."""
ARCHED_STDS = 3.0
"""Standard errors of a line's arch from which it counts as bowed beside one that is: flat sheets stay below 1.5. Also
of a point that is a line's kink."""
FEWEST_BOWED = 2
CORNER_POINTS = 2
"""A ruled line may run into a corner or a fillet: so many points at each end are no kink over a crease."""
CREASE_LEAN_DEG = 10.0
"""A crease is square to the lines it kinks to within this (no source: sheets are folded along their sides)."""
CREASE_SHARE = 0.2
"""Lines that tell of one crease lie further apart than this part of the longer side: one stain kinks two neighbours."""
PLAIN_SHARE, PLAIN_PENS = 0.5, 0.5
"""Lines longer than this part of the longer side are borders, centre lines and edges, and no flat arcs; a ruler strays
by a tenth of this part of its pen (no source for either)."""
WOBBLE_PENS = 0.04
"""A ruled line strays along itself by this part of the pen's width (measured on drawn samples)."""
POINTS_APART = 8
"""Independent points of a track: what strays, strays over some length."""
STRAY_PENS = 0.5
"""One end of a line against the other, square to it, as drawn."""
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


@dataclass(frozen=True)
class Tracks:
    """Points along ruled lines, about the sheet's middle in units of half its longer side.

    Attributes
    ----------
    points : ndarray, float64, shape (N, TRACK_POINTS, 2)
    along : ndarray, int, shape (N,)
        Coordinate along each line: 0 for level lines, 1 for upright ones.
    std, stray : ndarray, float64, shape (N,)
        Standard deviation of points about a straight line, and of its rise over its length.
    """

    points: FloatArray
    along: NDArray[np.intp]
    std: FloatArray
    stray: FloatArray


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
    tracks = _tracks(level, upright, unit, middle, pen_px)
    off = straightness(tracks.points, tracks.along)[0]
    long = _extent(tracks.points) >= 2 * LONG_SHARE
    bowed = long & (unit * np.sqrt(np.square(off).mean(axis=1)) > BOWED_PX)
    several = np.count_nonzero(bowed | (long & (_arching(off, tracks.std) > ARCHED_STDS))) >= FEWEST_BOWED
    if not bowed.any() or not (several or _bows_plainly(tracks, bowed)):
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


def _tracks(level: Bars, upright: Bars, unit: float, middle: FloatArray, pen_px: float) -> Tracks:
    """What the sheet's lines were ruled as: pieces of one line that a crease parted are one again."""
    both = level.joined(upright)
    along = np.repeat([0, 1], [len(level.tracks), len(upright.tracks)])
    lines = in_one_line(both.tracks, along, 2 * unit, pen_px)
    along = np.array([along[line[0]] for line in lines], np.intp)
    points = [as_one(both.tracks[line], axis) for line, axis in zip(lines, along, strict=True)]
    track_std_px = np.array([both.track_std_px[line].max() for line in lines])
    std = np.hypot(track_std_px, WOBBLE_PENS * pen_px) * (TRACK_POINTS / POINTS_APART) ** 0.5 / unit
    stray = np.full(len(along), STRAY_PENS * pen_px / unit)
    return Tracks((np.reshape(points, (-1, TRACK_POINTS, 2)) - middle) / unit, along, std, stray)


def straightness(points: FloatArray, along: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
    """Distances of tracks' points from their own straight lines, and each line's rise.

    Parameters
    ----------
    points : ndarray, float64, shape (..., N, K, 2)
        In order along each track.
    along : ndarray, int, shape (N,)

    Returns
    -------
    tuple of ndarray, float64, shapes (..., N, K) and (..., N)
    """
    level = (along == 0)[:, None]
    x, y = (np.where(level, points[..., k], points[..., 1 - k]) for k in (0, 1))
    x, y = x - x.mean(axis=-1, keepdims=True), y - y.mean(axis=-1, keepdims=True)
    slope = (x * y).sum(axis=-1) / np.square(x).sum(axis=-1)
    return y - slope[..., None] * x, slope * np.abs(x[..., -1] - x[..., 0])


def _extent(points: FloatArray) -> FloatArray:
    """How far tracks reach along x or y, whichever is more; points of shape (..., K, 2)."""
    return np.asarray(np.abs(points[..., -1, :] - points[..., 0, :]).max(axis=-1), np.float64)


def _arching(off: FloatArray, std: FloatArray) -> FloatArray:
    """How far lines arch, as part of what their points' distances from an arch leave unsure, shape (N,)."""
    along = np.linspace(-1, 1, TRACK_POINTS)
    arch = (along**2 - np.mean(along**2)) / np.linalg.norm(along**2 - np.mean(along**2))
    rise = off @ arch
    left = (np.square(off).sum(axis=1) - np.square(rise)) / POINTS_APART
    return np.asarray(np.abs(rise) / np.sqrt(left + np.square(std)), np.float64)


def _soft(misfit: FloatArray) -> FloatArray:
    """Root of Cauchy's loss: small misfits as they are, large ones hardly more."""
    return np.asarray(np.copysign(np.sqrt(np.log1p(np.square(misfit))), misfit), np.float64)


def _misfit(terms: FloatArray, tracks: Tracks, lift: Lift) -> tuple[FloatArray, FloatArray]:
    """Points' distances from straight and lines' rises in their standard deviations; terms of shape (..., P)."""
    flat = flat_points(tracks.points.reshape(-1, 2), terms, lift)
    flat = flat.reshape(*terms.shape[:-1], *tracks.points.shape)
    off, rise = straightness(flat, tracks.along)
    growth = _extent(flat) / _extent(tracks.points)
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


def _kink_in_line(tracks: Tracks, bowed: NDArray[np.bool_], foot: FloatArray) -> bool:
    """Whether two bowed lines of one direction kink as over one crease.

    A soft loss takes a sharp kink for outliers. That of a raised crease moves every line away from the eye's foot, that
    of a valley towards it, and all kinks lie in one straight line.
    """
    points = tracks.points[:, CORNER_POINTS:-CORNER_POINTS]
    off = straightness(points, tracks.along)[0]
    most = np.abs(off).argmax(axis=1)[:, None]
    kink = np.take_along_axis(points, most[..., None], axis=1)[:, 0]
    for along in (0, 1):
        clear = np.abs(off).max(axis=1) > ARCHED_STDS * tracks.std
        own = np.flatnonzero(bowed & clear & (tracks.along == along))
        outward = np.take_along_axis(off, most, axis=1)[own, 0] * (kink[own, 1 - along] - foot[1 - along])
        apart = np.abs(kink[own, None] - kink[own])
        step = np.ptp(tracks.points[own, :, along], axis=1) / TRACK_POINTS
        near = apart[..., along] < np.tan(np.radians(CREASE_LEAN_DEG)) * apart[..., 1 - along] + step
        alike = np.outer(outward, outward) > 0
        if (near & alike & (apart[..., 1 - along] > 2 * CREASE_SHARE)).any():
            return True
    return False


def _bows_plainly(tracks: Tracks, bowed: NDArray[np.bool_]) -> bool:
    """Whether a line over half the sheet, which is no arc of the part, bows by half its pen's width, and others do.

    A bend bows more than one line, though what it bows besides may be short.
    """
    off = np.sqrt(np.square(straightness(tracks.points, tracks.along)[0]).mean(axis=1))
    plain = off > PLAIN_PENS * tracks.stray / STRAY_PENS
    long = bowed & (_extent(tracks.points) > 2 * PLAIN_SHARE)
    return bool((plain & long).any() and np.count_nonzero(plain) >= FEWEST_BOWED)


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
    if not (explained or _kink_in_line(tracks, bowed, pose.mean[FOOT]) or _bows_plainly(tracks, bowed)):
        return None
    fit = _fit(_as_drawn(tracks, fit), known, fit.terms[:POSE], form)
    flat = flat_points(tracks.points.reshape(-1, 2), fit.terms, fit.lift).reshape(tracks.points.shape)
    after = straightness(flat, tracks.along)[0]
    weight = _extent(tracks.points)[bowed]
    was, left = (unit * np.sqrt(np.square(off[bowed]).mean(axis=1)) for off in (before, after))
    left_px = float(np.average(left, weights=weight))
    understood = explained and left_px < MOST_LEFT * float(np.average(was, weights=weight))
    bow_px = unit * float(np.abs(before[bowed]).max())
    bend = Bend(middle, unit, fit.terms, fit.covariance, fit.lift, bow_px, left_px, understood)
    # A correction that leaves lengths so unsure knows less of the sheet than that it is near flat.
    return replace(bend, corrected=False) if bend.strain_std() > MOST_STRAIN else bend
