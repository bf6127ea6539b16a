"""How much the paper shrank more one way than the other, told by circles that are no longer round.

Linen and paper shrink by up to about one per cent, and differently along and across. Every circle of the sheet becomes
the same ellipse, its axes along the sheet's; a squeeze of coordinates makes all of them round again.

Glossary
--------
squeeze
    Height over width of the sheet's circles, less 1.
round frame
    Working coordinates stretched by half the squeeze along x and shrunk by half of it along y (axes of the sheet), so
    that areas stay and circles are round.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from calibrate.scaling.stretching import OUT_OF_ROUND_PX
from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.centre_lines.refine import DOUBTFUL, Trail
from digitize.strokes.ground import Ground
from digitize.strokes.pieces import Piece

FloatArray = NDArray[np.float64]

LEAST_RADIUS_MM = 4.0
LEAST_COVER = 0.6
SECTORS = 24
DRAWN_SHARE = 0.5
"""Share of a circle's 24 sectors that must be drawn, each by this share of its length: a half circle that runs on along
the tangents at its ends, as round a slot, looks squeezed."""
LARGEST_SQUEEZE = 0.05
"""A scanner off its rate stretches an axis by some 3 %, on top of what the paper did; more is no circle."""
SAME_CIRCLE = (0.01, 0.06, 0.1)
"""Arcs of one circle agree in centre and radius to this part of the radius, tried one after the other: on a sheet
hardly stretched, where a gear's outside and pitch circles are not to be taken for one; on a usual sheet; and on one
much stretched, whose arcs curve each in its own way."""
LEAST_SQUEEZE = 0.0004
SIGMAS = 3.0
GAUSS_STEPS = 6


@dataclass(frozen=True)
class Squeeze:
    """Height over width of the sheet's circles less 1, its standard error, and how many circles tell."""

    value: float = 0.0
    std: float = float("inf")
    circles: int = 0

    @property
    def is_real(self) -> bool:
        """Whether the squeeze stands clear of its error."""
        return self.circles > 0 and abs(self.value) > max(SIGMAS * self.std, LEAST_SQUEEZE)


def measure_squeeze(ground: Ground, trail: Trail, pieces: list[Piece], turn_deg: float) -> Squeeze:
    """Measure the squeeze from all wide circles.

    Parameters
    ----------
    ground : Ground
    trail : Trail
    pieces : list of Piece
        After joining; the arcs of one circle may still be apart.
    turn_deg : float
        From working to level frame, counter-clockwise as seen: the sheet's axes are the level ones.
    """
    arcs = [p for p in pieces if p.track.kind == ARC and p.track.radius >= ground.px(LEAST_RADIUS_MM)]
    found: list[tuple[float, float]] = []
    for share in SAME_CIRCLE:
        fits = [(group, _ellipse_of(trail, group, turn_deg)) for group in _same_circle(ground, arcs, share)]
        found += [fit for _, fit in fits if fit is not None]
        arcs = [piece for group, fit in fits if fit is None for piece in group]
    if not found:
        return Squeeze()
    value, std = np.array(found).T
    weight = 1.0 / np.maximum(std, 1e-5) ** 2
    centre = _weighted_median(value, weight)
    near = np.abs(value - centre) <= np.maximum(4 * std, 0.002)
    if not near.any():
        return Squeeze()  # two circles that contradict each other, as on a bent sheet, tell nothing
    weight = weight[near]
    mean = float(np.average(value[near], weights=weight))
    scatter = float(np.sqrt(np.average((value[near] - mean) ** 2, weights=weight) / max(near.sum() - 1, 1)))
    return Squeeze(mean, max(float(weight.sum() ** -0.5), scatter), int(near.sum()))


def _weighted_median(value: FloatArray, weight: FloatArray) -> float:
    """Where half the weight lies on either side: six small holes out of round alike do not outvote one large circle."""
    order = np.argsort(value)
    share = (np.cumsum(weight[order]) - 0.5 * weight[order]) / weight.sum()
    return float(np.interp(0.5, share, value[order]))


def _same_circle(ground: Ground, arcs: list[Piece], share: float) -> list[list[Piece]]:
    """Group arcs whose circles agree within what a squeeze may do to them."""
    order = sorted(arcs, key=lambda p: (-p.length, p.start))
    x, y, radius = np.array([(p.track.x, p.track.y, p.track.radius) for p in order]).reshape(-1, 3).T
    free, found = np.ones(len(order), bool), []
    for k, seed in enumerate(order):
        if not free[k]:
            continue
        slack = share * seed.track.radius + ground.px(0.3)
        alike = free & (np.hypot(x - x[k], y - y[k]) <= slack) & (np.abs(radius - radius[k]) <= slack)
        alike[k] = True
        free &= ~alike
        found.append([order[n] for n in np.flatnonzero(alike)])
    return found


def _ellipse_of(trail: Trail, group: list[Piece], turn_deg: float) -> tuple[float, float] | None:
    """Squeeze of one circle and its standard error; None where too little of it is drawn or it is no ellipse.

    Gauss-Newton on centre, radius and squeeze e: distance = |((1 + e/2) x, (1 - e/2) y)| - r, x and y from the centre.
    """
    picks = np.concatenate([np.arange(a, b) for p in group for a, b in p.spans])
    picks = picks[trail.weight[picks] > 5 * DOUBTFUL]
    if len(picks) < SECTORS:
        return None
    x, y = turned(trail.x[picks], trail.y[picks], turn_deg)
    track = group[0].track
    cx, cy = (float(v) for v in turned(np.array(track.x), np.array(track.y), turn_deg))
    e, radius = 0.0, track.radius
    sectors = ((np.arctan2(y - cy, x - cx) / (2 * np.pi) + 0.5) * SECTORS).astype(int).clip(0, SECTORS - 1)
    drawn_px = np.bincount(sectors, trail.weight[picks], minlength=SECTORS)
    if (drawn_px >= DRAWN_SHARE * 2 * np.pi * radius / SECTORS).sum() < LEAST_COVER * SECTORS:
        return None
    for _ in range(GAUSS_STEPS):
        ux, uy = (1 + e / 2) * (x - cx), (1 - e / 2) * (y - cy)
        distance = np.hypot(ux, uy)
        off = distance - radius
        rows = (
            np.stack([-(1 + e / 2) * ux, -(1 - e / 2) * uy, -distance, (ux * (x - cx) - uy * (y - cy)) / 2], axis=1)
            / distance[:, None]
        )
        step, *_ = np.linalg.lstsq(rows, -off, rcond=None)
        cx, cy, radius, e = cx + step[0], cy + step[1], radius + step[2], e + step[3]
    rms = float(np.sqrt(np.mean(off**2)))
    if rms > 0.6 + 0.002 * radius or abs(e) > LARGEST_SQUEEZE:
        return None
    # neighbouring centres share their noise, about one pen width
    share = max(float(np.median(trail.width[picks])), 1.0)
    covariance = np.linalg.pinv(rows.T @ rows) * max(rms, 0.03) ** 2 * share
    return e, float(np.hypot(np.sqrt(covariance[3, 3]), 2 * OUT_OF_ROUND_PX / radius))


def turned(x: FloatArray, y: FloatArray, turn_deg: float) -> tuple[FloatArray, FloatArray]:
    """Turn points counter-clockwise as seen, about the origin."""
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    return c * x + s * y, -s * x + c * y


def round_from_working(squeeze: Squeeze, turn_deg: float) -> FloatArray:
    """Return the 2x2 matrix from working coordinates to the round frame; the identity where no squeeze is real."""
    if not squeeze.is_real:
        return np.eye(2)
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    turn = np.array([[c, s], [-s, c]])
    stretch = np.sqrt(1 + squeeze.value)
    return np.asarray(turn.T @ np.diag([stretch, 1 / stretch]) @ turn, dtype=np.float64)


def rounded(trail: Trail, matrix: FloatArray) -> Trail:
    """Carry a trail into the round frame."""
    x = matrix[0, 0] * trail.x + matrix[0, 1] * trail.y
    y = matrix[1, 0] * trail.x + matrix[1, 1] * trail.y
    return replace(trail, x=x, y=y)
