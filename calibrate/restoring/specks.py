"""Specks of dirt are taken off the ink; the points of small figures stay.

A point drawn with a finer pen than the lines is no larger than a speck: `.25` would become 25. What tells them apart is
where they lie: dirt falls anywhere, points lie beside letters.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import Counts, erase, pieces_of
from calibrate.sheet import FloatArray, InkImage

SPECK_PEN_AREAS = 0.5
"""Blobs smaller than this many pen widths squared are specks; a decimal point has about one or more."""
POINT_PEN_AREAS, POINT_PX = 0.25, 2
"""A finer pen than the lines' may draw points as small as this, and no single pixel is one."""
LETTER_PENS = 4.0, 16.0
"""The longer side of a letter in pen widths: figures of 2.5 to 5 mm by pens of .25 to .5 mm (ISO 3098-1)."""
BESIDE = 0.5
"""A point lies no further from a letter than this, in the letter's longer side."""
LEAST_BESIDE = 1 / 3
"""Lettering covers a few hundredths of a sheet: where so many specks lie beside letters, those that do are points."""
MOST_SPECKS = 1000
"""More than all points of a sheet full of notes: then most are dirt, and which are not can't be told."""


def without_specks(ink: InkImage, pen_px: float) -> InkImage:
    """Remove blobs (8-connected) of fewer pixels than a speck has, in place, and give the array back.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
    pen_px : float
        Width of the finest pen's lines: by the measure of a broad outline every point is a speck.
    """
    pieces = pieces_of(ink)
    size = pieces.stats[:, cv2.CC_STAT_AREA]
    is_speck = size < SPECK_PEN_AREAS * pen_px**2
    likely = np.flatnonzero(is_speck & (size >= max(POINT_PEN_AREAS * pen_px**2, POINT_PX)))
    if 0 < len(likely) <= MOST_SPECKS:
        beside = _are_beside_letters(pieces.centres[likely], pieces.stats, pen_px)
        if beside.mean() >= LEAST_BESIDE:
            is_speck[likely[beside]] = False
    erase(ink, pieces, is_speck)
    return ink


def _are_beside_letters(centres: FloatArray, stats: Counts, pen_px: float) -> NDArray[np.bool_]:
    """Which places (x, y), shape (N, 2), have a blob of a letter's size that ends close to them."""
    longer = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(axis=1)
    letters = stats[(longer > LETTER_PENS[0] * pen_px) & (longer < LETTER_PENS[1] * pen_px)]
    first, size = letters[:, :2], letters[:, 2:4]
    reach = BESIDE * size.max(axis=1)
    beside = np.zeros(len(centres), np.bool_)
    for n, place in enumerate(centres):
        off = np.maximum(np.maximum(first - place, place - (first + size - 1)), 0)
        beside[n] = np.any(np.hypot(*off.T) < reach)
    return beside
