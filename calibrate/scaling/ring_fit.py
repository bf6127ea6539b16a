"""A ring's ellipse: fitted to points, and measured on the grey across its pen line.

Glossary
--------
ring
    A circle of the drawing as it is seen: an ellipse that is nearly round, its pen line followed all the way round.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates

from calibrate.sheet import FloatArray, LevelSheet, apply_homography

SECTORS, LEAST_COVER = 24, 0.6
"""Share of a ring's sectors in which it must be seen."""
LARGEST_STRETCH = 0.06
"""A scanner off its rate stretches an axis by some 3 %, on top of what the paper did; more is no circle."""
REACH_PENS = 2.5
SAMPLE_PX = 0.25
"""Step of the grey's samples across the pen line."""
WIDTH_TOLERANCE = 0.35
"""Places at which the line's width strays from its own by more are crossings or touching lettering."""
FIT_ROUNDS, OUTLIER_SIGMAS = 8, 2.5
SMALLEST_SIGMA_PX = 0.05
LEAST_FOLLOWED = 0.5
"""Part of the places looked at round a ring where its line is seen by itself: tips of teeth make no circle."""
SLOW_WAVES = (3, 4)
"""Waves round a ring that no stretch makes: a hand's errors go as slowly, and tell what it did to the second."""
LARGEST_OFF_PX, LARGEST_OFF_SHARE = 0.3, 0.0015
"""Sectors of a drawn circle lie this near to the ellipse: pixels, and part of the radius (no source)."""


@dataclass(frozen=True)
class Ring:
    """One circle as it is seen.

    Attributes
    ----------
    x_px, y_px, radius_px : float
        Level frame.
    stretch : float
        Log of its width over its height.
    std : float
        Standard error of that, by how far sectors stray from the ellipse, one by one or in slow waves.
    """

    x_px: float
    y_px: float
    radius_px: float
    stretch: float
    std: float


def sectors(dx: FloatArray, dy: FloatArray) -> NDArray[np.intp]:
    return np.asarray((np.arctan2(dy, dx) / (2 * np.pi) + 0.5) * SECTORS, np.intp) % SECTORS


def fitted(x: FloatArray, y: FloatArray, start: FloatArray) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]] | None:
    """Ellipse through points, far ones left out.

    Distance from the middle is radius (1 + (a cos 2t + b sin 2t) / 2), t the angle from the x axis: an ellipse, but for
    terms of a squared that have no part in a. The log of its width over its height is 2 artanh(a / 2), or a to 2e-5.

    Returns
    -------
    ndarray, shape (5,), ndarray, shape (N,), and ndarray, bool, shape (N,)
        Middle x and y, radius, a, b; the points' distances from the ellipse; which of them were near. None where they
        give no ellipse, or a flat one.
    """
    terms = start.copy()
    near = np.ones(len(x), np.bool_)
    off = np.zeros(len(x))
    for _ in range(FIT_ROUNDS):
        dx, dy = x - terms[0], y - terms[1]
        distance = np.hypot(dx, dy)
        cos, sin = dx / distance, dy / distance
        cos2, sin2 = cos**2 - sin**2, 2 * sin * cos
        swell = 1 + (terms[3] * cos2 + terms[4] * sin2) / 2
        off = distance - terms[2] * swell
        sigma = max(1.4826 * float(np.median(np.abs(off[near]))), SMALLEST_SIGMA_PX)
        near = np.abs(off) <= OUTLIER_SIGMAS * sigma
        if near.sum() < SECTORS:
            return None
        rows = np.stack([cos, sin, swell, terms[2] * cos2 / 2, terms[2] * sin2 / 2], axis=1)
        step, _, rank, _ = np.linalg.lstsq(rows[near], off[near], rcond=None)
        terms = terms + step
        if rank < len(terms) or np.hypot(terms[3], terms[4]) > LARGEST_STRETCH or terms[2] <= 0:
            return None
    return terms, off, near


def measured(sheet: LevelSheet, rough: FloatArray) -> Ring | None:
    """Measure a ring across its pen line, all the way round; None where it is no circle seen well enough."""
    count = int(np.clip(2 * np.pi * rough[2] / max(sheet.pen_px, 1.0), 4 * SECTORS, 60 * SECTORS))
    angle = 2 * np.pi * (np.arange(count) + 0.5) / count
    along = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    terms = rough
    for _ in range(2):
        swell = 1 + (terms[3] * np.cos(2 * angle) + terms[4] * np.sin(2 * angle)) / 2
        offset, width = _across(sheet, terms[:2] + along * (terms[2] * swell)[:, None], along)
        typical = float(np.median(width[width > 0])) if (width > 0).any() else 0.0
        clean = np.abs(width - typical) <= WIDTH_TOLERANCE * typical
        if clean.sum() < LEAST_COVER * SECTORS:
            return None
        places = (terms[:2] + along * (terms[2] * swell + offset)[:, None])[clean]
        fit = fitted(places[:, 0], places[:, 1], terms)
        if fit is None:
            return None
        terms, off, near = fit
    if near.sum() < LEAST_FOLLOWED * count:
        return None
    return _told(terms, places, off, near)


def _across(sheet: LevelSheet, places: FloatArray, normals: FloatArray) -> tuple[FloatArray, FloatArray]:
    """How far outside of places the pen line runs, and its width, in pixels; width 0 off the picture."""
    reach = REACH_PENS * sheet.pen_px + 1
    steps = np.arange(-reach, reach + SAMPLE_PX / 2, SAMPLE_PX)
    lines = places[:, None] + steps[:, None] * normals[:, None]
    working = apply_homography(np.asarray(np.linalg.inv(sheet.level_from_working)), lines.reshape(-1, 2))
    grey = map_coordinates(sheet.working_grey, working.T[::-1], output=np.float64, order=1, cval=0.0)
    darkness = 255.0 - grey.reshape(len(places), len(steps))
    ground = np.minimum(darkness[:, :3].max(axis=1), darkness[:, -3:].max(axis=1))
    darkness = np.maximum(darkness - ground[:, None], 0.0)
    total = darkness.sum(axis=1)
    return darkness @ steps / np.maximum(total, 1.0), total * SAMPLE_PX / 255.0


def _told(terms: FloatArray, places: FloatArray, off: FloatArray, near: NDArray[np.bool_]) -> Ring | None:
    """The ring with its standard error, by how sectors stray; None where they stray too far or too few are seen."""
    away = places[near] - terms[:2]
    sector = sectors(away[:, 0], away[:, 1])
    seen = np.unique(sector)
    if len(seen) < LEAST_COVER * SECTORS:
        return None
    stray = np.array([off[near][sector == one].mean() for one in seen])
    spread = max(float(np.sqrt((stray**2).sum() / (len(seen) - len(terms)))), SMALLEST_SIGMA_PX)
    if spread > LARGEST_OFF_PX + LARGEST_OFF_SHARE * terms[2]:
        return None
    angle = 2 * np.pi * ((seen + 0.5) / SECTORS - 0.5)
    waves = [wave(k * angle) for k in (1, 2, *SLOW_WAVES) for wave in (np.cos, np.sin)]
    rows = np.stack([np.ones(len(seen)), *waves], axis=1)
    sizes = np.linalg.lstsq(rows, stray, rcond=None)[0]
    drawn = float(np.sqrt(np.mean(sizes[-2 * len(SLOW_WAVES) :] ** 2)))
    seen_std = spread * float(np.sqrt(np.linalg.inv(rows.T @ rows)[3, 3]))
    std = max(seen_std, drawn) / (terms[2] / 2)
    return Ring(float(terms[0]), float(terms[1]), float(terms[2]), float(terms[3]), std)
