"""Front and back of one sheet: the lines of one side shine faintly through the paper, in mirror image, on the other.

Terms
-----
strong, faint
    Ink as dark as a side's own lines; marks too light to be one, such as what shines through.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray

LOOK_PX = 512
"""Longer side of the pictures that are compared: two scans of a sheet lie some pixels and tenths of a degree apart."""
GROUND_SHARE = 0.06
"""Side of the square over which the paper's own tone is taken, as a part of the picture's longer side."""
INK_PERCENTILE = 99.0
"""Darkness of a side's own lines: they cover some hundredths of it."""
LEAST_INK = 25.0
"""Grey levels below the paper; a side with lighter lines than this has none that could be known again."""
STRONG_SHARE = 0.4
"""What shines through is less dark than this part of the other side's lines."""
AROUND_STRONG_PX = 5
SMOOTH_PX = 1.2
MOST_SHIFT_SHARE = 0.06
"""How far the two scans may lie apart, as a part of the longer side."""
MOST_SIZE_RATIO = 1.03
LEAST_HEIGHT = 12.0
"""Of the peak over the correlation elsewhere, in standard deviations. Of 66 pairs of sheets without show-through the
highest came to 10, the others to less than 8; blank backs with lines of a twentieth of the ink come to 13 and more."""
LEAST_LEAD = 1.5
"""The mirror image must agree so much better than the picture itself, which agrees where a sheet was scanned twice."""

Look = FloatArray
"""Darkness of a page against its paper, small, float64, shape (H, W)."""


@dataclass(frozen=True)
class Through:
    """How well faint marks of one side agree with the other's lines: in mirror image, and as they are."""

    mirrored: float
    plain: float

    @property
    def is_back(self) -> bool:
        """Does one side shine through?"""
        return self.mirrored >= LEAST_HEIGHT and self.mirrored >= LEAST_LEAD * self.plain


def look_of(pixels: NDArray[np.uint8]) -> Look:
    """Reduce a page to what is compared."""
    grey = pixels if pixels.ndim == 2 else cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    scale = LOOK_PX / max(grey.shape)
    size = max(1, round(grey.shape[1] * scale)), max(1, round(grey.shape[0] * scale))
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    if np.median(small) < 128:  # light lines on dark
        small = cv2.bitwise_not(small)
    side = 2 * round(GROUND_SHARE * LOOK_PX / 2) + 1
    ground = cv2.medianBlur(small, side)
    return np.asarray(cv2.subtract(ground, small), dtype=np.float64)


def through(one: Look, other: Look) -> Through | None:
    """Compare two sides, each seen through the other.

    Parameters
    ----------
    one, other : ndarray, float64, shape (H, W)

    Returns
    -------
    Through or None
        The better of the two ways; None where the pages are not of one size or neither has lines.
    """
    sides = np.array([one.shape, other.shape], dtype=np.float64)
    if (sides.max(axis=0) / sides.min(axis=0)).max() > MOST_SIZE_RATIO:
        return None
    height, width = np.maximum(one.shape, other.shape)
    looks = [_padded(look, height, width) for look in (one, other)]
    found = [each for each in (_seen(*looks), _seen(*looks[::-1])) if each is not None]
    return max(found, key=lambda each: each.mirrored, default=None)


def _padded(look: Look, height: int, width: int) -> Look:
    return np.pad(look, ((0, height - look.shape[0]), (0, width - look.shape[1])))


def _seen(front: Look, back: Look) -> Through | None:
    """Do the lines of the front shine through on the back, turned over sideways or head to foot?"""
    ink = float(np.percentile(front, INK_PERCENTILE))
    if ink < LEAST_INK:
        return None
    strong = np.asarray(back > STRONG_SHARE * ink, dtype=np.uint8)
    reach = np.ones((2 * AROUND_STRONG_PX + 1,) * 2, np.uint8)
    faint = np.where(cv2.dilate(strong, reach) > 0, 0.0, back)
    turned = (front[:, ::-1], front[::-1])
    return Through(
        max(_peak(each, faint) for each in turned), max(_peak(each, faint) for each in (front, front[::-1, ::-1]))
    )


def _peak(lines: Look, faint: Look) -> float:
    """Height of the correlation's peak near no shift over what it is elsewhere, in standard deviations."""
    spectra = [np.fft.rfft2(_whitened(each)) for each in (lines, faint)]
    correlation = np.fft.irfft2(np.conj(spectra[0]) * spectra[1], lines.shape)
    spread = float(correlation.std())
    reach = round(MOST_SHIFT_SHARE * max(lines.shape))
    near = np.roll(correlation, (reach, reach), axis=(0, 1))[: 2 * reach + 1, : 2 * reach + 1]
    return float(near.max()) / spread if spread > 0 else 0.0


def _whitened(look: Look) -> Look:
    """Lines thin and of one height, so that long ones do not agree with everything along them."""
    smooth = cv2.GaussianBlur(look, (0, 0), SMOOTH_PX)
    edges = smooth - cv2.GaussianBlur(smooth, (0, 0), 3 * SMOOTH_PX)
    return np.asarray(edges - edges.mean(), dtype=np.float64)
