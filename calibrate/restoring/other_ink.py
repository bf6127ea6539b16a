"""Marks in another ink than the drawing's: what somebody wrote or struck out later, in red, blue or green.

Where ink covers a pixel in part, its colour is a mixture of paper and ink: it lies on the straight line from the one
colour to the other. What lies well off that line, however dark, was drawn with something else. Mixtures stay on the
line when a picture is reduced, so that it is looked at in quarter size, where a scanner's fringes and the coarser
colours of a JPEG file cancel.
"""

import colorsys

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.polarity import REDUCTION, reduced, window_px
from calibrate.sheet import FloatArray, InkImage, OtherInk

INK_PERCENTILE = 99.0
"""Ink covers a few percent of a drawing; what is as far from the paper as this percentile is ink, and not its edge."""
LEAST_OFF, LEAST_OFF_NOISES = 20.0, 8.0
"""Levels by which a colour lies off the line from paper to ink, and the same in usual deviations of the paper ..."""
LEAST_OFF_SHARE = 0.14
"""... and as a part of its distance from the paper: ink that went thin or grey stays on it."""
LEAST_DARK = 0.35
"""A mark is as far from the paper as this part of what ink is: stains, and paper beside a table, are paler."""
LEAST_CELLS, LEAST_LENGTH_CELLS = 6, 5
"""Fewer pixels of the reduced picture, which hang together, are a speck; so are those that reach no further."""
LARGEST_SPOT_SHARE = 0.5
"""A mark is made of lines: its pixels fill less than this of its box, unless it is a line along the sheet ..."""
THIN_CELLS = 3
"""... which is no wider than this."""
MOST_MARKS = 2000
"""More of them are no amendments: the paper is printed in colours, or mottled."""
HUES = ("red", 20), ("brown", 45), ("yellow", 70), ("green", 165), ("blue", 255), ("violet", 330), ("red", 361)
"""Names of hues, and the degrees of the colour circle at which each ends (common usage, no source)."""


def other_ink(pixels: NDArray[np.uint8], outside: InkImage | None) -> tuple[OtherInk, ...]:
    """Find what is drawn or written in another colour than the rest.

    Parameters
    ----------
    pixels : ndarray, uint8, shape (H, W) or (H, W, 3)
        RGB; a grey picture has no other colours.
    outside : ndarray, bool, shape (H, W), or None
        True off the sheet.

    Returns
    -------
    tuple of OtherInk
        One for each mark that hangs together; in source pixels.
    """
    if pixels.ndim == 2:
        return ()
    small = reduced(pixels)
    difference = _from_paper(small, window_px(max(pixels.shape[:2])))
    far = np.sqrt(np.square(difference).sum(axis=2))
    if outside is not None:
        rows, columns = (REDUCTION * np.arange(side) + REDUCTION // 2 for side in far.shape)
        far[outside[np.ix_(rows.clip(0, len(outside) - 1), columns.clip(0, outside.shape[1] - 1))]] = 0.0
    ink = max(float(np.percentile(far, INK_PERCENTILE)), LEAST_OFF)
    inked = far >= ink
    if not inked.any():
        return ()
    to_ink = np.median(difference[inked], axis=0)
    to_ink /= np.linalg.norm(to_ink)
    off = np.sqrt(np.clip(np.square(far) - np.square(difference @ to_ink), 0.0, None))
    noise = float(np.median(off[::REDUCTION, ::REDUCTION]))
    marked = (off > max(LEAST_OFF, LEAST_OFF_NOISES * noise)) & (off > LEAST_OFF_SHARE * far)
    marks = _marks(marked, small, far / ink)
    return marks if len(marks) <= MOST_MARKS else ()


def _from_paper(small: NDArray[np.uint8], window: int) -> NDArray[np.float32]:
    """Colours less those of the paper round about, shape (h, w, 3)."""
    half = np.ascontiguousarray(small[::2, ::2])
    paper = cv2.medianBlur(half, max(window // 2, 3) | 1)
    whole = cv2.resize(paper, (small.shape[1], small.shape[0]), interpolation=cv2.INTER_LINEAR)
    return np.asarray(cv2.subtract(small, whole, dtype=cv2.CV_32F), np.float32)


def _marks(marked: InkImage, small: NDArray[np.uint8], dark: NDArray[np.float32]) -> tuple[OtherInk, ...]:
    count, labels, stats, _ = cv2.connectedComponentsWithStats(marked.astype(np.uint8), connectivity=8)
    found = []
    for label in range(1, count):
        left, top, width, height, cells = (int(part) for part in stats[label])
        spot = cells > LARGEST_SPOT_SHARE * width * height and min(width, height) > THIN_CELLS
        if spot or cells < LEAST_CELLS or max(width, height) < LEAST_LENGTH_CELLS:
            continue
        box = np.s_[top : top + height, left : left + width]
        own = labels[box] == label
        if np.median(dark[box][own]) < LEAST_DARK:
            continue
        colour = np.median(small[box][own], axis=0)
        (x0, y0), (x1, y1) = (
            (REDUCTION * x - 0.5, REDUCTION * y - 0.5) for x, y in ((left, top), (left + width, top + height))
        )
        found.append(OtherInk(_hue(colour), (x0, y0), (x1, y1)))
    return tuple(found)


def _hue(colour: FloatArray) -> str:
    hue, _, _ = colorsys.rgb_to_hsv(*(float(part) for part in colour))
    return next(name for name, end in HUES if 360 * hue < end)
