"""Pictures of the sheet for the report: bounded copies, and the lettering of one row turned upright."""

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray, GreyImage, LevelSheet
from digitize.dimensions.table import Dimension, State

CROP_HEIGHT_PX = 64  # of a figure's picture: easily read on a screen
CROP_WIDEST_PX = 640
CROP_MARGIN = 0.35  # paper kept round the figure, in parts of its height
_NARROWEST_PX = 1.0


def bounded(grey: GreyImage, most_px: float) -> tuple[GreyImage, float]:
    """Shrink an image to at most ``most_px`` pixels; also gives the factor from old to new lengths."""
    factor = min(1.0, math.sqrt(most_px / grey.size))
    if factor == 1.0:
        return grey, 1.0
    size = (max(1, round(grey.shape[1] * factor)), max(1, round(grey.shape[0] * factor)))
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), dtype=np.uint8), factor


def sixteen_greys(grey: GreyImage) -> GreyImage:
    """Paper grain smoothed away into sixteen greys: the picture is for looking, and is stored a tenth as large."""
    return np.asarray((grey >> 4) * np.uint8(17), dtype=np.uint8)


def level_quad(sheet: LevelSheet, dimension: Dimension) -> FloatArray:
    """Corners of a row's lettering in level pixels, shape (4, 2), in reading order from its top left."""
    return sheet.flat_points(np.array(dimension.quad_px, dtype=np.float64))


def encode_png(image: NDArray[np.uint8]) -> bytes:
    """PNG of a grey or BGR image."""
    return _encode(image, ".png", [cv2.IMWRITE_PNG_COMPRESSION, 3])


def encode_jpeg(image: NDArray[np.uint8], quality: int) -> bytes:
    """JPEG of a grey or BGR image."""
    return _encode(image, ".jpg", [cv2.IMWRITE_JPEG_QUALITY, quality])


def _encode(image: NDArray[np.uint8], suffix: str, options: list[int]) -> bytes:
    done, buffer = cv2.imencode(suffix, image, options)
    if not done:
        raise RuntimeError(f"the picture could not be encoded as {suffix}")
    return bytes(buffer)


def crop_upright(grey: GreyImage, quad: FloatArray) -> GreyImage:
    """Picture of one piece of lettering, turned so that it reads from left to right, with a margin round it."""
    right, down = quad[1] - quad[0], quad[3] - quad[0]
    width, height = (max(float(np.hypot(*side)), _NARROWEST_PX) for side in (right, down))
    margin = CROP_MARGIN * height
    along, across = right / width * margin, down / height * margin
    corners = quad + np.array([-along - across, along - across, along + across, -along + across])
    factor = min(CROP_HEIGHT_PX / (height + 2 * margin), CROP_WIDEST_PX / (width + 2 * margin))
    size = tuple(max(1, round((side + 2 * margin) * factor)) for side in (width, height))
    target = np.array([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]], dtype=np.float32)
    warp = cv2.getPerspectiveTransform(corners.astype(np.float32), target)
    white = 255
    return np.asarray(cv2.warpPerspective(grey, warp, size, flags=cv2.INTER_LINEAR, borderValue=white), dtype=np.uint8)


def unread_pictures(sheet: LevelSheet, dimensions: tuple[Dimension, ...]) -> dict[str, bytes]:
    """PNG of the lettering of each row that nobody could read, by row id."""
    return {
        each.id: encode_png(crop_upright(sheet.grey, level_quad(sheet, each)))
        for each in dimensions
        if each.state is State.UNREAD
    }
