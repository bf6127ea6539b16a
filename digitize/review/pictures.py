"""The sheet as the page shows it: tiles at every size, and each figure enlarged and level."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray
from digitize.strokes.primitives import Point

Picture = NDArray[np.uint8]

TILE_PX = 512
COLOUR_LIMIT_PX = 80_000_000
"""Larger sheets are shown grey, to keep memory at a byte a pixel."""
JPEG_QUALITY = 88
CLOSE_UP_HEIGHT_PX = 150
"""Height of a figure's own letters in its enlarged picture ..."""
CLOSE_UP_MARGIN = 0.9
"""... and the margin round them, as a share of their height."""
LARGEST_CLOSE_UP_PX = 1600


@dataclass(frozen=True)
class Pyramid:
    """A picture at halving sizes, the full one first."""

    levels: tuple[Picture, ...]

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height of the full picture."""
        height, width = self.levels[0].shape[:2]
        return width, height

    def tile(self, level: int, column: int, row: int) -> bytes | None:
        """One tile as JPEG; None outside the picture."""
        if not 0 <= level < len(self.levels) or column < 0 or row < 0:
            return None
        picture = self.levels[level]
        part = picture[row * TILE_PX : (row + 1) * TILE_PX, column * TILE_PX : (column + 1) * TILE_PX]
        return jpeg(part) if part.size else None


def level_picture(pixels: Picture, level_from_source: FloatArray, shape: tuple[int, int]) -> Picture:
    """The source laid straight, for looking only.

    Parameters
    ----------
    pixels : ndarray, uint8, shape (H, W) or (H, W, 3)
    level_from_source : ndarray, float64, shape (3, 3)
    shape : tuple of int
        (height, width) of the level frame.
    """
    if pixels.ndim == 3 and shape[0] * shape[1] > COLOUR_LIMIT_PX:
        pixels = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    sparse = pixels[::16, ::16]
    paper = np.atleast_1d(np.median(sparse.reshape(-1, *pixels.shape[2:]), axis=0)).tolist()
    size = shape[1], shape[0]
    flags = cv2.INTER_AREA if abs(np.linalg.det(level_from_source[:2, :2])) < 0.5 else cv2.INTER_LINEAR
    return np.asarray(cv2.warpPerspective(pixels, level_from_source, size, flags=flags, borderValue=paper))


def pyramid(picture: Picture) -> Pyramid:
    """Halve a picture until one tile holds it."""
    levels = [picture]
    while max(levels[-1].shape[:2]) > TILE_PX:
        height, width = levels[-1].shape[:2]
        half = max(1, math.ceil(width / 2)), max(1, math.ceil(height / 2))
        levels.append(np.asarray(cv2.resize(levels[-1], half, interpolation=cv2.INTER_AREA)))
    return Pyramid(tuple(levels))


def close_up(picture: Picture, quad: Sequence[Point], height_px: float) -> bytes:
    """A figure enlarged and turned to be read, as JPEG.

    Parameters
    ----------
    picture : ndarray, uint8
        Level frame.
    quad : sequence of 4 points
        In reading order from its top left, in level pixels.
    height_px : float
        Height of the letters.
    """
    corners = np.array(quad, dtype=np.float64)
    right, down = corners[1] - corners[0], corners[3] - corners[0]
    across, along = float(np.hypot(*right)), float(np.hypot(*down))
    if across < 1 or along < 1:
        right, down, across, along = np.array([1.0, 0.0]), np.array([0.0, 1.0]), 1.0, 1.0
    margin = CLOSE_UP_MARGIN * max(height_px, 1.0)
    size = np.array([across + 2 * margin, along + 2 * margin])
    zoom = min(CLOSE_UP_HEIGHT_PX / max(height_px, 1.0), LARGEST_CLOSE_UP_PX / float(size.max()))
    axes = np.stack([right / across, down / along])
    origin = corners[0] - margin * axes[0] - margin * axes[1]
    rotate = zoom * axes
    matrix = np.column_stack([rotate, -rotate @ origin])
    shape = max(1, round(float(size[0] * zoom))), max(1, round(float(size[1] * zoom)))
    border = np.atleast_1d(np.full(picture.shape[2:], 255.0)).tolist()
    return jpeg(np.asarray(cv2.warpAffine(picture, matrix, shape, flags=cv2.INTER_CUBIC, borderValue=border)))


def jpeg(picture: Picture) -> bytes:
    """Encode a grey or RGB picture."""
    stored = cv2.cvtColor(picture, cv2.COLOR_RGB2BGR) if picture.ndim == 3 else picture
    done, data = cv2.imencode(".jpg", stored, [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])
    if not done:
        raise RuntimeError("a tile could not be encoded")
    return data.tobytes()
