"""Grey and ink carried together into another frame."""

import cv2
import numpy as np

from calibrate.restoring.faint import add_fine_lines, fill_worn_places
from calibrate.sheet import FloatArray, GreyImage, InkImage

PAPER = 255
INK_SHARE = 0.5
"""Part of the local full ink from which a pixel counts as ink: a blurred edge is half dark where the pen's edge was."""
NEIGHBOURHOOD = np.ones((3, 3), np.uint8)


def ink_of(grey: GreyImage) -> InkImage:
    """Tell ink from paper on an even grey (paper 255, full ink 0)."""
    return fill_worn_places(grey, np.asarray(grey < PAPER * (1 - INK_SHARE), np.bool_))


def moved(
    grey: GreyImage, ink: InkImage, matrix: FloatArray, size: tuple[int, int], pen_px: float
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

    Returns
    -------
    tuple of ndarray, uint8 and bool, shape ``size``
    """
    flat = bool(np.allclose(matrix[2], [0, 0, 1], rtol=0, atol=1e-15))
    warp, terms = (cv2.warpAffine, matrix[:2]) if flat else (cv2.warpPerspective, matrix)
    new_grey = warp(
        grey, terms, size[::-1], flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_CONSTANT, borderValue=(PAPER,) * 4
    )
    near = warp(cv2.dilate(ink.view(np.uint8), NEIGHBOURHOOD), terms, size[::-1], flags=cv2.INTER_NEAREST)
    even = np.asarray(new_grey, np.uint8)
    new_ink = add_fine_lines(even, ink_of(even), pen_px)
    return even, np.logical_and(new_ink, np.asarray(near, np.uint8).view(np.bool_), out=new_ink)
