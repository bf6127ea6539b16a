"""Drawn circles of a level sheet, found and measured: rings (see `ring_fit`) tell across from up.

Lines that run askew vote along their normals for centres, octave by octave of the radius, since an ellipse's normals
miss its middle by a part of its radius. About each centre, rings are what lies at one distance all the way round. They
are then measured on the working grey, across the pen line.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from calibrate.restoring.connected import ink_places
from calibrate.scaling.ring_fit import LEAST_COVER, SECTORS, Ring, fitted, measured, sectors
from calibrate.sheet import FloatArray, LevelSheet

LEAST_RADIUS_MM = 4.0
"""Smaller ones may be lettering, and tell little."""
LOOK_MM = 0.2
"""Pixel of the picture in which centres are looked for: about the finest pen."""
MOST_POINTS = 60_000
LEAST_ONE_WAY = 0.8
"""Coherence of the grey's slopes about a point of one line; where lines cross it is lower."""
SQUARE_ON_DEG = 2.0
"""Points of level and upright lines are left out: most of a sheet's ink, and a few hundredths of a circle's."""
CELL_SHARE = 0.05
"""Cell of the votes, over the radius at which its octave begins."""
CENTRES_TRIED = 40
"""In each octave."""
LEAST_VOTES = 0.3
"""Votes for a centre over the points that the smallest whole circle of its octave would give."""
RADIAL_DEG = 6.0
"""Normals of a ring's points meet its middle to this: a stretch of 5 % turns them by 2 degrees."""
BAND_SHARE = 0.05
"""A ring's points lie within so much of one distance from its middle."""
SAME_PLACE = 0.1
"""Rings whose middles lie within this part of the smaller radius stand about one centre."""


@dataclass(frozen=True)
class Points:
    """Points of lines, shape (N,): places, and unit normals of either sense, in pixels of the picture looked at."""

    x: FloatArray
    y: FloatArray
    nx: FloatArray
    ny: FloatArray


def find_rings(sheet: LevelSheet) -> tuple[Ring, ...]:
    """Find and measure the circles of a sheet, widest first.

    Parameters
    ----------
    sheet : LevelSheet

    Returns
    -------
    tuple of Ring
        Each once; none where nothing round is drawn.
    """
    factor = max(1, round(sheet.px(LOOK_MM)))
    points, share = line_points(sheet, factor)
    found: list[Ring] = []
    least = sheet.px(LEAST_RADIUS_MM) / factor
    largest = max(sheet.ink.shape) / factor / 2
    while least < largest:
        for centre in _centres(points, least, share * sheet.pen_px / factor, sheet.ink.shape, factor):
            for rough in _round_about(points, centre, least):
                ring = measured(sheet, _scaled(rough, factor))
                if ring is not None and not any(_same(ring, other) for other in found):
                    found.append(ring)
        least *= 2
    return tuple(sorted(found, key=lambda ring: -ring.radius_px))


def line_points(sheet: LevelSheet, factor: int) -> tuple[Points, float]:
    """Points of lines that run neither level nor upright, on the picture made smaller, and the share of them kept."""
    small = cv2.resize(sheet.grey, None, fx=1 / factor, fy=1 / factor, interpolation=cv2.INTER_AREA)
    inked = cv2.resize(sheet.ink.view(np.uint8), small.shape[::-1], interpolation=cv2.INTER_AREA).astype(np.bool_)
    slope_x, slope_y = (cv2.Sobel(small, cv2.CV_32F, *order, scale=1 / 8) for order in ((1, 0), (0, 1)))
    xx, xy, yy = (cv2.GaussianBlur(product, (0, 0), 1.5) for product in (slope_x**2, slope_x * slope_y, slope_y**2))
    rows, columns = ink_places(inked)
    difference, cross, total = (part[rows, columns] for part in (xx - yy, 2 * xy, xx + yy))
    strength = np.hypot(difference, cross)
    normal = np.arctan2(cross, difference) / 2
    off_square = np.abs((np.degrees(normal) + 45.0) % 90.0 - 45.0)
    kept = np.flatnonzero((strength > LEAST_ONE_WAY * total) & (off_square > SQUARE_ON_DEG))
    thin = max(1, -(-len(kept) // MOST_POINTS))
    kept = kept[::thin]
    angle = normal[kept].astype(np.float64)
    return Points(
        columns[kept].astype(np.float64), rows[kept].astype(np.float64), np.cos(angle), np.sin(angle)
    ), 1 / thin


def _centres(
    points: Points, least: float, points_a_pixel: float, shape: tuple[int, ...], factor: int
) -> Iterator[tuple[float, float]]:
    """Places that many normals meet at a distance between ``least`` and twice that, the likeliest first."""
    cell = max(1.0, CELL_SHARE * least)
    height, width = (int(side / factor / cell) + 1 for side in shape[:2])
    votes = np.zeros(height * width)
    for distance in np.arange(least, 2 * least, cell):
        for sign in (-1, 1):
            column = ((points.x + sign * distance * points.nx) / cell).astype(np.intp)
            row = ((points.y + sign * distance * points.ny) / cell).astype(np.intp)
            inside = (column >= 0) & (column < width) & (row >= 0) & (row < height)
            votes += np.bincount(row[inside] * width + column[inside], minlength=len(votes))
    together = cv2.boxFilter(votes.reshape(height, width), -1, (3, 3), normalize=False)
    peaks = (together == cv2.dilate(together, np.ones((3, 3), np.uint8))).ravel()
    enough = LEAST_VOTES * 2 * np.pi * least * points_a_pixel
    best = np.flatnonzero(peaks & (together.ravel() >= enough))
    best = best[np.argsort(-together.ravel()[best], kind="stable")][:CENTRES_TRIED]
    for place in best.tolist():
        yield (place % width + 0.5) * cell, (place // width + 0.5) * cell


def _round_about(points: Points, centre: tuple[float, float], least: float) -> Iterator[FloatArray]:
    """Rough rings about a centre: middle x and y, radius, and the two parts of the stretch, as `fitted` gives them."""
    dx, dy = points.x - centre[0], points.y - centre[1]
    distance = np.hypot(dx, dy)
    near = np.flatnonzero((distance >= least * (1 - BAND_SHARE)) & (distance < 2 * least * (1 + BAND_SHARE)))
    dx, dy, distance = dx[near], dy[near], distance[near]
    along = np.abs(dx * points.nx[near] + dy * points.ny[near]) / distance
    radial = along > np.cos(np.radians(RADIAL_DEG))
    dx, dy, distance = dx[radial], dy[radial], distance[radial]
    sector = sectors(dx, dy)
    for at in least * (1 + BAND_SHARE) ** np.arange(np.log(2) / np.log1p(BAND_SHARE)):
        band = np.abs(distance / at - 1) < BAND_SHARE
        if len(np.unique(sector[band])) < LEAST_COVER * SECTORS:
            continue
        rough = fitted(dx[band] + centre[0], dy[band] + centre[1], np.array([*centre, at, 0.0, 0.0]))
        if rough is not None:
            yield rough[0]


def _scaled(terms: FloatArray, factor: int) -> FloatArray:
    """A ring of the small picture in level pixels."""
    middle = (terms[:2] + 0.5) * factor - 0.5
    return np.array([*middle, terms[2] * factor, *terms[3:]])


def _same(one: Ring, other: Ring) -> bool:
    """Whether two rings are one, found twice."""
    slack = SAME_PLACE * min(one.radius_px, other.radius_px)
    apart = np.hypot(one.x_px - other.x_px, one.y_px - other.y_px)
    return bool(apart < slack and abs(one.radius_px - other.radius_px) < BAND_SHARE / 2 * one.radius_px)
