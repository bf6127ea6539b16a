"""Which channel shows the ink best, and whether the ink is darker or lighter than its paper."""

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import GreyImage, Polarity

REDUCTION = 4
"""Looked at in quarter size: thin lines stay visible, noise is averaged away."""
PAPER_WINDOW_SHARE = 1 / 40
"""Side of the median window that removes ink, as part of the longer side: 10 mm on an A3 sheet."""
SMALLEST_WINDOW, LARGEST_WINDOW = 11, 61
STRONG_PERCENTILE = 99.5
"""Ink covers a few percent of a drawing; this percentile of the contrast lies well inside it."""
NOISE_FLOOR = 2.0
"""Grey levels of noise below which a channel counts as clean."""
NOISE_STEP = 4
"""Every fourth row and column of the reduced picture tells its noise well enough."""
BETTER_CHANNEL_RATIO = 1.3
"""A single channel replaces the luminance only when clearly better: JPEG files keep colour at half resolution."""


def window_px(longer_side_px: int, reduction: int = REDUCTION) -> int:
    """Give the odd side of the window, in reduced pixels, that spans more than any line and less than a view."""
    side = round(longer_side_px * PAPER_WINDOW_SHARE / reduction)
    return min(max(side, SMALLEST_WINDOW), LARGEST_WINDOW) | 1


def best_grey(pixels: NDArray[np.uint8]) -> GreyImage:
    """Choose the grey image on which ink stands out best from paper noise.

    Parameters
    ----------
    pixels : ndarray, uint8, shape (H, W) or (H, W, 3)

    Returns
    -------
    ndarray, uint8, shape (H, W)
        The luminance, or one channel where that is clearly better (white lines on blue: red).
    """
    if pixels.ndim == 2:
        return pixels
    small = _reduced(pixels)
    window = window_px(max(pixels.shape[:2]))
    luminance = _telling(np.asarray(cv2.cvtColor(small, cv2.COLOR_RGB2GRAY), np.uint8), window)
    channels = [_telling(np.asarray(channel, np.uint8), window) for channel in cv2.split(small)]
    best = int(np.argmax(channels))
    if channels[best] > BETTER_CHANNEL_RATIO * luminance:
        return np.ascontiguousarray(pixels[..., best])
    return np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), np.uint8)


def polarity_of(grey: GreyImage) -> Polarity:
    """Decide whether ink is darker or lighter than the paper around it.

    Ink is what differs from the local median; the median follows stains, uneven light and a dark table.
    """
    small = _reduced(grey)
    difference = _difference(small, window_px(max(grey.shape))).astype(np.float32)
    threshold = 3 * float(np.median(np.abs(difference[::NOISE_STEP, ::NOISE_STEP]))) + NOISE_FLOOR
    darker = np.square(np.clip(difference - threshold, 0, None)).sum()
    lighter = np.square(np.clip(-difference - threshold, 0, None)).sum()
    return Polarity.LIGHT_ON_DARK if lighter > darker else Polarity.DARK_ON_LIGHT


def _reduced(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The picture in quarter size; the last rows and columns, which fill no pixel of it, would make OpenCV slow."""
    if min(pixels.shape[:2]) < REDUCTION:
        return pixels
    height, width = (side // REDUCTION for side in pixels.shape[:2])
    whole = pixels[: height * REDUCTION, : width * REDUCTION]
    return np.asarray(cv2.resize(whole, (width, height), interpolation=cv2.INTER_AREA), np.uint8)


def _difference(small: GreyImage, window: int) -> NDArray[np.int16]:
    """Local paper minus grey, positive on dark ink."""
    return np.asarray(cv2.subtract(cv2.medianBlur(small, window), small, dtype=cv2.CV_16S), np.int16)


def _telling(small: GreyImage, window: int) -> float:
    """Contrast of the ink over the noise of the paper, which is seen at a further half of the size."""
    half = cv2.medianBlur(cv2.resize(small, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_NEAREST), window // 2 | 1)
    paper = cv2.resize(half, small.shape[::-1], interpolation=cv2.INTER_LINEAR)
    size = np.bincount(cv2.absdiff(small, paper).ravel(), minlength=256).cumsum()
    strong, noise = np.searchsorted(size, [STRONG_PERCENTILE / 100 * size[-1], size[-1] / 2])
    return float(strong) / (float(noise) + NOISE_FLOOR)
