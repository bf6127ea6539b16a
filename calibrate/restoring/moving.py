"""Grey and ink carried together into another frame."""

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.faint import add_fine_lines, fill_worn_places
from calibrate.sheet import FloatArray, GreyImage, InkImage

Places = NDArray[np.float32]

PAPER = 255
INK_SHARE = 0.5
"""Part of the local full ink from which a pixel counts as ink: a blurred edge is half dark where the pen's edge was."""
NEIGHBOURHOOD = np.ones((3, 3), np.uint8)
STRIP_ROWS, PLACES_APART_PX = 512, 16
"""A picture is carried along curves strip by strip, and the places between every sixteenth are taken from a straight
line: paper bends by less than a hundredth of a pixel over so short a way."""


def ink_of(grey: GreyImage) -> InkImage:
    """Tell ink from paper on an even grey (paper 255, full ink 0)."""
    lightest = int(PAPER * (1 - INK_SHARE))
    return fill_worn_places(grey, np.asarray(grey <= np.uint8(lightest), np.bool_))


def moved(
    grey: GreyImage, ink: InkImage, matrix: FloatArray, size: tuple[int, int], pen_px: float, *, roughly: bool = False
) -> tuple[GreyImage, InkImage]:
    """Warp grey and ink, paper filling what comes in from outside.

    The new ink is told on the new grey, which keeps its edges smooth, and only near old ink, so that specks which
    were taken out stay out.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
    ink : ndarray, bool, shape (H, W)
    matrix : ndarray, float64, shape (3, 3)
        From old to new pixels.
    size : (int, int)
        Height and width of the new images.
    pen_px : float
        Width of the pen lines, in new pixels.
    roughly : bool
        Between four pixels instead of sixteen, in a third of the time: softer, in the same place.

    Returns
    -------
    tuple of ndarray, uint8 and bool, shape ``size``
    """
    between = cv2.INTER_LINEAR if roughly else cv2.INTER_CUBIC
    flat = bool(np.allclose(matrix[2], [0, 0, 1], rtol=0, atol=1e-15))
    warp, terms = (cv2.warpAffine, matrix[:2]) if flat else (cv2.warpPerspective, matrix)
    new_grey = warp(grey, terms, size[::-1], flags=between, borderMode=cv2.BORDER_CONSTANT, borderValue=(PAPER,) * 4)
    near = warp(cv2.dilate(ink.view(np.uint8), NEIGHBOURHOOD), terms, size[::-1], flags=cv2.INTER_NEAREST)
    return _with_ink(np.asarray(new_grey, np.uint8), np.asarray(near, np.uint8), pen_px)


def moved_along(
    grey: GreyImage, ink: InkImage, old_places: Callable[[FloatArray], FloatArray], size: tuple[int, int], pen_px: float
) -> tuple[GreyImage, InkImage]:
    """Warp grey and ink along curves, as `moved` does along straight lines.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
    ink : ndarray, bool, shape (H, W)
    old_places : callable
        Places (x, y) in the old pictures of places in the new ones, both of shape (N, 2).
    size : (int, int)
        Height and width of the new images.
    pen_px : float
        Width of the pen lines, in new pixels.

    Returns
    -------
    tuple of ndarray, uint8 and bool, shape ``size``
    """
    near_old = cv2.dilate(ink.view(np.uint8), NEIGHBOURHOOD)
    even, near = np.empty(size, np.uint8), np.empty(size, np.uint8)
    for top in range(0, size[0], STRIP_ROWS):
        strip = slice(top, min(top + STRIP_ROWS, size[0]))
        x, y = _places(old_places, strip, size[1])
        even[strip] = cv2.remap(grey, x, y, cv2.INTER_CUBIC, borderMode=cv2.BORDER_CONSTANT, borderValue=(PAPER,) * 4)
        near[strip] = cv2.remap(near_old, x, y, cv2.INTER_NEAREST, borderMode=cv2.BORDER_CONSTANT)
    return _with_ink(even, near, pen_px)


def _places(old_places: Callable[[FloatArray], FloatArray], rows: slice, width: int) -> tuple[Places, Places]:
    """Old places, x and y, of a strip of new pixels."""
    height = rows.stop - rows.start
    # Each coarse place stands for the middle of a square, as OpenCV's resize has it, and one more lies on each side.
    x, y = (PLACES_APART_PX * (np.arange(-1, side // PLACES_APART_PX + 2) + 0.5) - 0.5 for side in (width, height))
    coarse = np.stack(np.meshgrid(x, rows.start + y), axis=-1)
    found = old_places(coarse.reshape(-1, 2)).reshape(coarse.shape).astype(np.float32)
    times, inner = PLACES_APART_PX, slice(PLACES_APART_PX, None)
    old_x, old_y = (
        np.asarray(cv2.resize(found[..., axis], None, fx=times, fy=times, interpolation=cv2.INTER_LINEAR), np.float32)
        for axis in (0, 1)
    )
    return old_x[inner, inner][:height, :width], old_y[inner, inner][:height, :width]


def _with_ink(grey: GreyImage, near: GreyImage, pen_px: float) -> tuple[GreyImage, InkImage]:
    new_ink = add_fine_lines(grey, ink_of(grey), pen_px)
    return grey, np.logical_and(new_ink, near.view(np.bool_), out=new_ink)
