"""Even light: the local paper and the local full ink, and a grey that runs from one to the other.

Terms
-----
darkness
    Local paper minus grey, never below zero.
peak
    Darkness of full ink: global over the sheet, and local in tiles, where the ink may have faded.
step
    Where the paper's tone changes within a millimetre or two: the edge of a strip of tape, a pasted patch, a hard
    crease. Dirt gathers there, half as dark as ink.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.polarity import REDUCTION, counts_of_levels, window_px
from calibrate.sheet import GreyImage, InkImage

PAPER_REACH_PX = 5
"""Neighbourhood whose lightest pixel stands for the paper, so that dense hatching does not darken it."""
SOLID_SHARE = 0.6
"""Local paper darker than this share of the wide paper is solid ink, not paper."""
WIDE_FACTOR = 4
"""The wide paper is seen at a further quarter of the size, through the same number of pixels."""
STEP_WINDOW, STEP_REACH, SLOPE_REACH, CORNER_REACH = 17, 2, 5, 6
"""Median window that leaves strips of tape and no lines; reach of a step, that over which a slope is told from it, and
that of the corners which the median rounds off; in reduced pixels."""
SHARP = 0.75
"""Part of the change over the longer reach that a step makes within its own; a slope makes two fifths."""
LEAST_STEP = 0.06
"""Part by which the tone changes at a step."""
STEP_DOUBT = 2 / 3
"""Darkness counts so much at a step: what is less than three quarters as dark as full ink there is dirt."""
NOISE_SAMPLE_STEP = 7
INK_CORE_SHARE = 0.6
"""Floor of the local peak, as part of the global one; ink fainter than this share of the floor has no say in it."""
PEAK_POWER = 4
"""The local peak is the mean of ink's darkness weighted by this power of itself: near the maximum, but steadier."""
PEAK_SAMPLE_STEP = 2
FAINTEST_PEAK, PEAK_OVER_NOISE = 12.0, 8.0
"""Grey levels, and standard deviations of paper noise, below which nothing can be told from paper."""
NOISE_SHARE, NOISE_QUANTILE = 0.75, 0.674
"""Ink covers less than a quarter of a drawing; this share of a normal noise lies below so many deviations."""
PEAK_TILE = 16
"""Tiles of the local peak, in reduced pixels."""
BAND_PX = 256
PEAK_REACH = 5
"""Tiles over which the local peak is smoothed."""


def local_paper(grey: GreyImage) -> tuple[GreyImage, InkImage]:
    """Estimate the paper under the ink of a picture with dark ink, and find its steps.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)

    Returns
    -------
    paper : ndarray, uint8, shape (H, W)
    steps : ndarray, bool, shape (H / REDUCTION, W / REDUCTION), rounded up
    """
    height, width = grey.shape
    small = _lightest(grey)
    window = window_px(max(height, width))
    tone = np.asarray(cv2.medianBlur(small, STEP_WINDOW), np.uint8)
    near = tone if window == STEP_WINDOW else cv2.medianBlur(small, window)
    wide = _wide_paper(small, window)
    small_paper = np.where(near < SOLID_SHARE * wide, wide, near)
    small_paper = cv2.GaussianBlur(small_paper, (0, 0), window / 4)
    small_paper, steps = _beside_steps(np.asarray(small_paper, np.uint8), tone, window)
    paper = np.asarray(cv2.resize(small_paper, (width, height), interpolation=cv2.INTER_LINEAR), np.uint8)
    # The lightest of a neighbourhood lies above the paper by the noise; take that off again.
    seen, own = (
        np.ascontiguousarray(image[::NOISE_SAMPLE_STEP, ::NOISE_SAMPLE_STEP], np.uint8) for image in (paper, grey)
    )
    noise = int(np.median(np.asarray(cv2.subtract(seen, own))))
    return np.asarray(cv2.subtract(paper, np.full(4, noise, np.float64), dst=paper), np.uint8), steps


def _beside_steps(smooth: GreyImage, tone: GreyImage, window: int) -> tuple[GreyImage, InkImage]:
    """The smooth paper, no lighter than the darker side of each step near by, and the steps."""
    light, dark = _extremes(tone, STEP_REACH)
    fall = cv2.subtract(light, dark)
    steps = (fall > LEAST_STEP * light) & (fall < (1 - SOLID_SHARE) * light)
    if steps.any():
        steps &= fall > SHARP * cv2.subtract(*_extremes(tone, SLOPE_REACH))
    if not steps.any():
        return smooth, steps
    near, corners = (
        cv2.dilate(steps.view(np.uint8), np.ones((side, side), np.uint8)) > 0 for side in (window, 2 * CORNER_REACH + 1)
    )
    return np.where(near, np.minimum(smooth, dark), smooth), corners


def _extremes(tone: GreyImage, reach: int) -> tuple[GreyImage, GreyImage]:
    """Lightest and darkest tone within a reach."""
    kernel = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
    return np.asarray(cv2.dilate(tone, kernel), np.uint8), np.asarray(cv2.erode(tone, kernel), np.uint8)


def _lightest(grey: GreyImage) -> GreyImage:
    """Lightest pixel round each of the reduced picture's; in bands of rows, which need no second full picture."""
    offset, reach, kernel = REDUCTION // 2, PAPER_REACH_PX // 2, np.ones((PAPER_REACH_PX, PAPER_REACH_PX), np.uint8)
    bands = []
    for top in range(0, len(grey), BAND_PX):
        first = max(top - reach, 0)
        lightest = cv2.dilate(grey[first : top + BAND_PX + reach], kernel)[top - first :][:BAND_PX]
        bands.append(lightest[offset::REDUCTION, offset::REDUCTION])
    return np.asarray(np.concatenate(bands), np.uint8)


def _wide_paper(small: GreyImage, window: int) -> GreyImage:
    height, width = small.shape
    size = (max(width // WIDE_FACTOR, 1), max(height // WIDE_FACTOR, 1))
    tiny = cv2.resize(small, size, interpolation=cv2.INTER_AREA)
    wide = cv2.resize(cv2.medianBlur(tiny, window), (width, height), interpolation=cv2.INTER_LINEAR)
    return np.asarray(wide, np.uint8)


def global_peak(darkness: GreyImage) -> float:
    """Darkness of full ink on the whole sheet: the typical one among pixels beyond the best two-class threshold."""
    sample = np.ascontiguousarray(darkness[::2, ::3])
    threshold, _ = cv2.threshold(sample, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    counts = counts_of_levels(sample)
    # Half of the paper's pixels lie above its own level, where darkness is cut off at 0; the rest show the noise.
    noise = _quarter_from_top(counts) / NOISE_QUANTILE
    core = np.where(np.arange(256) > max(threshold, FAINTEST_PEAK / 2), counts, 0)
    return max(_quarter_from_top(core), FAINTEST_PEAK, PEAK_OVER_NOISE * noise)


def _quarter_from_top(counts: NDArray[np.intp]) -> float:
    """Grey level that three quarters of the pixels counted do not exceed."""
    return float(np.searchsorted(np.cumsum(counts), NOISE_SHARE * counts.sum()))


def local_peak(darkness: GreyImage, peak: float) -> NDArray[np.float32]:
    """Darkness of full ink around each tile.

    Parameters
    ----------
    darkness : ndarray, uint8, shape (H, W)
    peak : float
        The global one.

    Returns
    -------
    ndarray, float32, shape (H / tile, W / tile)
        Never below the floor of `INK_CORE_SHARE` of the global peak.
    """
    height, width = darkness.shape
    tile = PEAK_TILE * REDUCTION
    size = (max(width // tile, 1), max(height // tile, 1))
    sample = np.ascontiguousarray(darkness[::PEAK_SAMPLE_STEP, ::PEAK_SAMPLE_STEP])
    level = np.arange(256, dtype=np.float32) / 255
    level[level < INK_CORE_SHARE * INK_CORE_SHARE * peak / 255] = 0
    below, above = (_tile_means(cv2.LUT(sample, level**power), size) for power in (PEAK_POWER, PEAK_POWER + 1))
    local = 255 * above / np.maximum(below, np.finfo(np.float32).tiny)
    return np.asarray(np.maximum(local, INK_CORE_SHARE * peak), np.float32)


def _tile_means(image: NDArray[np.generic], size: tuple[int, int]) -> NDArray[np.float32]:
    tiles = cv2.resize(np.asarray(image, np.float32), size, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.boxFilter(tiles, -1, (PEAK_REACH, PEAK_REACH), normalize=True), np.float32)


def doubted(darkness: GreyImage, steps: InkImage) -> GreyImage:
    """Take ink at the steps of the paper for fainter than it is, in place, and give the array back.

    Parameters
    ----------
    darkness : ndarray, uint8, shape (H, W)
    steps : ndarray, bool, shape (H / REDUCTION, W / REDUCTION)
        Of `local_paper`.
    """
    fainter = np.rint(STEP_DOUBT * np.arange(256)).astype(np.uint8)
    band = BAND_PX // REDUCTION
    for top in range(0, len(steps), band):
        at = steps[top : top + band]
        if at.any():
            own = darkness[top * REDUCTION : (top + band) * REDUCTION]
            size = (at.shape[1] * REDUCTION, at.shape[0] * REDUCTION)
            place = cv2.resize(at.view(np.uint8), size, interpolation=cv2.INTER_NEAREST)[: len(own), : own.shape[1]]
            own = own[: len(place), : place.shape[1]]
            np.copyto(own, cv2.LUT(own, fainter), where=place.view(np.bool_))
    return darkness


def evened(darkness: GreyImage, peaks: NDArray[np.float32]) -> GreyImage:
    """Grey from 255 on paper to 0 on full ink, written over ``darkness``.

    Parameters
    ----------
    darkness : ndarray, uint8, shape (H, W)
    peaks : ndarray, float32
        Of `local_peak`; drawn out to the full size in bands of rows, which keeps the float copies small.
    """
    height, width = darkness.shape
    tiles = len(peaks)
    wide = np.asarray(cv2.resize(255 / peaks, (width, tiles), interpolation=cv2.INTER_LINEAR), np.float32)
    place = np.clip((np.arange(height) + 0.5) * tiles / height - 0.5, 0, tiles - 1)
    for top in range(0, height, BAND_PX):
        rows = slice(top, min(top + BAND_PX, height))
        first, last = int(place[rows][0]), int(np.ceil(place[rows][-1]))
        near = 1 - np.abs(place[rows, None] - np.arange(first, last + 1))
        scale = np.clip(near, 0, 1).astype(np.float32) @ wide[first : last + 1]
        cv2.bitwise_not(cv2.multiply(darkness[rows], scale, dtype=cv2.CV_8U), dst=darkness[rows])
    return darkness
