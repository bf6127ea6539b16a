"""Slits: the paper between two lines that lie nearer to each other than a scanner keeps apart.

There the paper is no lighter than half of full ink, so that the ink of both lines runs together: the circle of a gear's
tips and its pitch circle, the end of a shaft and the edge of its chamfer, a thread and its root. What is left of the
paper is a narrow valley in the darkness, full ink on both sides.
"""

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.thinning import BAND_PX, ByteImage, IntArray, pixels_of
from digitize.strokes.compiled import compiled

FloatArray = NDArray[np.float64]

PAPER = 64
"""What is lighter parts two lines without help, of 255."""
WIDEST_PX = 5
"""What is wider is seen as paper."""
LEAST_DEPTH = 20.0
"""A slit is so much less dark than the ink on both its sides, of 255: a twelfth of a pixel of paper."""
HALF_ALONG_PX = 3
"""Darkness is averaged so far along a slit to both sides, and"""
SHOULDERS_PX = (2, 3)
"""the ink beside it is met so far off: the finest line is 2 px wide."""
TURNS = np.pi / 8 * np.arange(8)
ACROSS = np.stack([np.cos(TURNS), np.sin(TURNS)], axis=1)
"""Directions across a slit that are tried."""
LEAST_LENGTH_MM, LONG_MM, LEAST_LENGTH_PX = 2.0, 5.0, 20.0
"""The grain of faded ink makes shorter ones, or crooked ones of less than the second length (from trials)."""
STRAYING_PX = 0.9
"""Root mean square distance of a slit's pixels to a parabola."""


def slits_in(dark: ByteImage, px_per_mm: float) -> tuple[IntArray, IntArray]:
    """Find the pixels of all slits.

    Parameters
    ----------
    dark : ndarray, uint8, shape (H, W)
        0 on paper, 255 on full ink.
    px_per_mm : float

    Returns
    -------
    rows, columns : ndarray, int32, shape (N,)
    """
    ys, xs = np.concatenate([_narrow_paper(dark, top) for top in range(0, len(dark), BAND_PX)], axis=1)
    if not len(ys):
        return ys, xs
    valley = _valleys(dark, ys, xs, ACROSS)
    ys, xs = ys[valley], xs[valley]
    number = np.zeros(dark.shape, np.int32)
    number[ys, xs] = np.arange(1, len(ys) + 1)
    group = _groups(number, ys, xs)
    large = np.flatnonzero(np.bincount(group) >= LEAST_LENGTH_PX)
    slits = [k for k in large.tolist() if _is_slit(ys[group == k], xs[group == k], px_per_mm)]
    kept = np.isin(group, slits)
    return _closed_to_corners(dark.shape, ys[kept], xs[kept])


def _narrow_paper(dark: ByteImage, top: int) -> IntArray:
    """Rows and columns, shape (2, N), of pixels of a band of rows that are lighter than ink close by on both sides."""
    first = max(top - WIDEST_PX, 0)
    around, band = dark[first : top + BAND_PX + WIDEST_PX], dark[top : top + BAND_PX]
    closed = cv2.morphologyEx(around, cv2.MORPH_CLOSE, np.ones((WIDEST_PX, WIDEST_PX), np.uint8))
    depth = cv2.subtract(closed[top - first :][: len(band)], band)
    narrow = cv2.bitwise_and(cv2.inRange(depth, LEAST_DEPTH, 255), cv2.inRange(band, PAPER, 255))
    ys, xs = pixels_of(np.asarray(narrow, np.uint8))
    return np.stack([ys + np.int32(top), xs])


def _closed_to_corners(shape: tuple[int, ...], ys: IntArray, xs: IntArray) -> tuple[IntArray, IntArray]:
    """The pixels and, where two of them touch by their corners, one beside both: ink holds together by corners too."""
    image = np.zeros(shape, bool)
    image[ys, xs] = True
    down_right, down_left = image[ys + 1, xs + 1], image[ys + 1, xs - 1]
    rows = np.concatenate([ys, ys[down_right], ys[down_left]])
    return rows, np.concatenate([xs, xs[down_right] + 1, xs[down_left] - 1])


def _is_slit(ys: IntArray, xs: IntArray, px_per_mm: float) -> bool:
    """Whether a group of pixels is long, and smooth unless it is longer than any grain."""
    length = math.hypot(np.ptp(ys), np.ptp(xs)) + 1.0
    if length < max(LEAST_LENGTH_MM * px_per_mm, LEAST_LENGTH_PX):
        return False
    if length >= LONG_MM * px_per_mm:
        return True
    places = np.stack([xs - xs.mean(), ys - ys.mean()], axis=1)
    across, along = (places @ np.linalg.eigh(places.T @ places)[1]).T
    off = across - np.polyval(np.polyfit(along, across, 2), along)
    return float(np.sqrt(np.mean(off**2))) <= STRAYING_PX


@compiled
def _valleys(dark: ByteImage, ys: IntArray, xs: IntArray, across: FloatArray) -> NDArray[np.bool_]:
    """Which pixels lie at the bottom of a valley of darkness that runs some way in one direction, ``across`` to it."""
    rows, columns = dark.shape
    found = np.zeros(len(ys), np.bool_)
    edge = HALF_ALONG_PX + SHOULDERS_PX[1] + 1
    for n in range(len(ys)):
        y, x = ys[n], xs[n]
        if y < edge or x < edge or y >= rows - edge or x >= columns - edge:
            continue
        for k in range(len(across)):
            dx, dy = across[k]
            here = _along(dark, x, y, dx, dy, 0)
            if here > min(_along(dark, x, y, dx, dy, 1), _along(dark, x, y, dx, dy, -1)):
                continue
            one = max(_along(dark, x, y, dx, dy, SHOULDERS_PX[0]), _along(dark, x, y, dx, dy, SHOULDERS_PX[1]))
            if one - here < LEAST_DEPTH:
                continue
            other = max(_along(dark, x, y, dx, dy, -SHOULDERS_PX[0]), _along(dark, x, y, dx, dy, -SHOULDERS_PX[1]))
            if other - here >= LEAST_DEPTH:
                found[n] = True
                break
    return found


@compiled
def _along(dark: ByteImage, x: int, y: int, dx: float, dy: float, off: int) -> float:
    """Mean darkness along a short stretch square to (dx, dy), ``off`` px that way from a pixel."""
    total = 0
    for t in range(-HALF_ALONG_PX, HALF_ALONG_PX + 1):
        total += dark[int(y + off * dy - t * dx + 0.5), int(x + off * dx + t * dy + 0.5)]
    return total / (2 * HALF_ALONG_PX + 1)


@compiled
def _groups(number: IntArray, ys: IntArray, xs: IntArray) -> NDArray[np.int64]:
    """Number of the connected group of each of some pixels; a picture holds their places, from 1, and is emptied."""
    rows, columns = number.shape
    found, waiting, groups = np.empty(len(ys), np.int64), np.empty(len(ys), np.int64), 0
    for first in range(len(ys)):
        if number[ys[first], xs[first]] == 0:
            continue
        number[ys[first], xs[first]] = 0
        waiting[0], count = first, 1
        while count:
            count -= 1
            n = waiting[count]
            found[n] = groups
            for row in range(max(ys[n] - 1, 0), min(ys[n] + 2, rows)):
                for column in range(max(xs[n] - 1, 0), min(xs[n] + 2, columns)):
                    if number[row, column]:
                        waiting[count] = number[row, column] - 1
                        number[row, column] = 0
                        count += 1
        groups += 1
    return found
