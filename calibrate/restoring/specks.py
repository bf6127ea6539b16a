"""Specks of dirt are taken off the ink; the points of small figures stay.

A point drawn with a finer pen than the lines is no larger than a speck: `.25` would become 25. What tells them apart is
where they lie: dirt falls anywhere, points lie beside letters.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import pieces_of
from calibrate.sheet import InkImage

SPECK_PEN_AREAS = 0.5
"""Blobs smaller than this many pen widths squared are specks; a decimal point has about one or more."""
SPECK_BAND_PX = 512
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
    place, speck = _specks(ink, SPECK_PEN_AREAS * pen_px**2)
    flat = ink.ravel()
    flat[place] = False
    size = np.bincount(speck, minlength=1)
    likely = np.flatnonzero(size >= max(POINT_PEN_AREAS * pen_px**2, POINT_PX))
    if 0 < len(likely) <= MOST_SPECKS:
        beside = [own for own in (place[speck == one] for one in likely) if _is_beside_letter(ink, own, pen_px)]
        if len(beside) >= LEAST_BESIDE * len(likely):
            flat[np.concatenate(beside)] = True
    return ink


def _specks(ink: InkImage, smallest_px: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Flat places of the pixels of blobs smaller than ``smallest_px``, and the number of the blob of each.

    Notes
    -----
    Found in bands of rows, which keeps the labels small. Each band is seen with a margin of ``smallest_px`` rows: a
    blob that reaches through the margin has as many pixels in it. A blob is of the band in which it begins.
    """
    margin, (height, width) = int(np.ceil(smallest_px)), ink.shape
    found, count = [(np.zeros(0, np.intp), np.zeros(0, np.intp))], 0
    for top in range(0, height, SPECK_BAND_PX):
        bottom, first = min(top + SPECK_BAND_PX, height), max(top - margin, 0)
        place, piece = pieces_of(ink[first : bottom + margin])
        place += first * width
        size = np.bincount(piece, minlength=1)
        begins = np.zeros(len(size), np.intp)
        begins[piece[::-1]] = place[::-1]
        speck = (size < smallest_px) & (begins >= top * width) & (begins < bottom * width)
        few = speck[piece]
        found.append((place[few], piece[few] + np.intp(count)))
        count += len(size)
    places, specks = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return places, specks


def _is_beside_letter(ink: InkImage, speck: NDArray[np.intp], pen_px: float) -> bool:
    """Does a blob of a letter's size end close to a speck?"""
    rows, columns = np.divmod(speck, ink.shape[1])
    y, x = int(rows.mean()), int(columns.mean())
    reach = int(np.ceil(LETTER_PENS[1] * (1 + BESIDE) * pen_px))
    top, left = max(y - reach, 0), max(x - reach, 0)
    window = np.ascontiguousarray(ink[top : y + reach + 1, left : x + reach + 1])
    _, _, stats, _ = cv2.connectedComponentsWithStats(window.view(np.uint8), connectivity=8)
    lefts, tops, widths, heights = stats[1:, :4].T
    longer = np.maximum(widths, heights)
    aside = np.maximum(np.maximum(lefts - (x - left), (x - left) - (lefts + widths - 1)), 0)
    above = np.maximum(np.maximum(tops - (y - top), (y - top) - (tops + heights - 1)), 0)
    is_letter = (longer > LETTER_PENS[0] * pen_px) & (longer < LETTER_PENS[1] * pen_px)
    return bool(np.any(is_letter & (np.hypot(aside, above) < BESIDE * longer)))
