"""The exact maps between the frames of a sheet, as homographies on (x, y, 1)."""

from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray

_Sample = TypeVar("_Sample", bound=np.generic)
ROTATIONS = {1: cv2.ROTATE_90_COUNTERCLOCKWISE, 2: cv2.ROTATE_180, 3: cv2.ROTATE_90_CLOCKWISE}


def quarter_turn(height_px: int, width_px: int, quarters: int) -> FloatArray:
    """Map of pixel centres under ``numpy.rot90(image, quarters)``: counter-clockwise as seen.

    Parameters
    ----------
    height_px, width_px : int
        Of the image before the turn.
    quarters : int

    Returns
    -------
    ndarray, float64, shape (3, 3)

    Examples
    --------
    >>> quarter_turn(2, 3, 1) @ [2, 0, 1]  # the top-right pixel comes to the top left
    array([0., 0., 1.])
    """
    match quarters % 4:
        case 1:
            return np.array([[0.0, 1, 0], [-1, 0, width_px - 1], [0, 0, 1]])
        case 2:
            return np.array([[-1.0, 0, width_px - 1], [0, -1, height_px - 1], [0, 0, 1]])
        case 3:
            return np.array([[0.0, -1, height_px - 1], [1, 0, 0], [0, 0, 1]])
        case _:
            return np.eye(3)


def mirroring(width_px: int) -> FloatArray:
    """Map of pixel centres, shape (3, 3), that exchanges left and right in a picture so wide."""
    return np.array([[-1.0, 0, width_px - 1], [0, 1, 0], [0, 0, 1]])


def quarter_turned(image: NDArray[_Sample], quarters: int) -> NDArray[_Sample]:
    """Turn an image of one byte a pixel as `quarter_turn` says.

    Notes
    -----
    A copy of numpy's turned view takes ten times as long: it reads across the rows.
    """
    if quarters % 4 == 0:
        return image
    turned = cv2.rotate(image.view(np.uint8), ROTATIONS[quarters % 4])
    return np.asarray(turned).view(image.dtype)


def levelling(height_px: int, width_px: int, skew_deg: float) -> tuple[FloatArray, tuple[int, int]]:
    """Map that takes the skew off, and the (height, width) that then holds the whole sheet.

    Parameters
    ----------
    height_px, width_px : int
        Of the image before.
    skew_deg : float
        Counter-clockwise as seen; the map turns clockwise by it.

    Returns
    -------
    tuple of ndarray, float64, shape (3, 3), and (int, int)
    """
    angle = np.radians(skew_deg)
    cosine, sine = np.cos(angle), np.sin(angle)
    turn = np.array([[cosine, -sine], [sine, cosine]])
    corners = np.array([[0.0, 0], [width_px - 1, 0], [width_px - 1, height_px - 1], [0, height_px - 1]]) @ turn.T
    low, high = corners.min(axis=0), corners.max(axis=0)
    size = np.ceil(high - low - 1e-9).astype(int) + 1
    matrix = np.eye(3)
    matrix[:2, :2] = turn
    matrix[:2, 2] = -low
    return matrix, (int(size[1]), int(size[0]))
