"""Which channel shows the ink best, and whether the ink is darker or lighter than its paper."""

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import GreyImage, Polarity

REDUCTION = 4
"""Looked at in quarter size: thin lines stay visible, noise is averaged away."""
PAPER_WINDOW_SHARE = 1 / 40
"""Side of the median window that removes ink, as part of the longer side: 10 mm on an A3 sheet."""
SMALLEST_WINDOW, QUICK_WINDOW, LARGEST_WINDOW, SMALLEST_LOOK_WINDOW = 11, 17, 61, 5
"""Where one of 7 to 15 would do, one of 17 is taken: from there on OpenCV's median goes by histograms, in a quarter to
a half of the time."""
STRONG_PERCENTILE = 99.5
"""Ink covers a few percent of a drawing; this percentile of the contrast lies well inside it."""
NOISE_FLOOR = 2.0
"""Grey levels of noise below which a channel counts as clean."""
NOISE_STEP = 2
"""Every other row and column of the picture looked at tells its noise well enough."""
BETTER_CHANNEL_RATIO = 1.3
"""A single channel replaces the luminance only when clearly better: JPEG files keep colour at half resolution."""


def window_px(longer_side_px: int) -> int:
    """Give the odd side of the window, in reduced pixels, that spans more than any line and less than a view."""
    side = round(longer_side_px * PAPER_WINDOW_SHARE / REDUCTION)
    return SMALLEST_WINDOW if side < SMALLEST_WINDOW else min(max(side, QUICK_WINDOW), LARGEST_WINDOW) | 1


def _look_window_px(pixels: NDArray[np.uint8]) -> int:
    """The same at a further half of the size, where only polarity and channel are looked for."""
    side = round(float(max(pixels.shape[:2])) * PAPER_WINDOW_SHARE / (2 * REDUCTION))
    return SMALLEST_LOOK_WINDOW if side <= SMALLEST_LOOK_WINDOW else min(max(side, QUICK_WINDOW), LARGEST_WINDOW) | 1


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
    small = reduced(pixels)
    window = _look_window_px(pixels)
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
    difference = _difference(reduced(grey), _look_window_px(grey))
    threshold = 3 * float(np.median(np.abs(difference[::NOISE_STEP, ::NOISE_STEP]))) + NOISE_FLOOR
    darker = np.square(np.clip(difference - threshold, 0, None)).sum()
    lighter = np.square(np.clip(-difference - threshold, 0, None)).sum()
    return Polarity.LIGHT_ON_DARK if lighter > darker else Polarity.DARK_ON_LIGHT


def reduced(pixels: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The picture in quarter size, by halves, for which OpenCV has fast code; rows and columns left over would make it
    slow.
    """
    if min(pixels.shape[:2]) < REDUCTION:
        return pixels
    height, width = (side // REDUCTION for side in pixels.shape[:2])
    whole = pixels[: height * REDUCTION, : width * REDUCTION]
    half = cv2.resize(whole, (2 * width, 2 * height), interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.resize(half, (width, height), interpolation=cv2.INTER_AREA), np.uint8)


def counts_of_levels(grey: cv2.typing.MatLike) -> NDArray[np.intp]:
    """Pixels of each grey level, shape (256,), as `numpy.bincount` has them, in a tenth of its time."""
    return np.asarray(cv2.calcHist([grey], [0], None, [256], [0, 256]).ravel(), np.intp)


def median_level(counts: NDArray[np.intp]) -> float:
    """Median of the pixels counted, as `numpy.median` has it.

    Examples
    --------
    >>> median_level(np.array([2, 0, 1])), median_level(np.array([1, 0, 1]))
    (0.0, 1.0)
    """
    total = int(counts.sum())
    return float(np.searchsorted(counts.cumsum(), [(total - 1) // 2, total // 2], side="right").mean())


def _difference(reduced_grey: GreyImage, window: int) -> NDArray[np.float32]:
    """Local paper minus grey, positive on dark ink, at a further half of the size."""
    half = np.ascontiguousarray(reduced_grey[::2, ::2])
    return np.asarray(cv2.subtract(cv2.medianBlur(half, window), half, dtype=cv2.CV_32F), np.float32)


def _telling(reduced_grey: GreyImage, window: int) -> float:
    """Contrast of the ink over the noise of the paper."""
    size = counts_of_levels(cv2.convertScaleAbs(_difference(reduced_grey, window))).cumsum()
    strong, noise = np.searchsorted(size, [STRONG_PERCENTILE / 100 * size[-1], size[-1] / 2])
    return float(strong) / (float(noise) + NOISE_FLOOR)
