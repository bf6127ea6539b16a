"""Long level pieces of ink, found on a levelled copy."""

from dataclasses import dataclass

import cv2
import numpy as np

from calibrate.restoring.connected import connected_pieces
from calibrate.sheet import FloatArray, GreyImage, InkImage

SHORTEST_PENS, SHORTEST_SHARE = 67.0, 0.05
"""Bars shorter than this many pens (20 mm), or this part of the picture's longer side, say too little of the angle."""
UNBROKEN_SHARE = 1 / 3
"""Part of its least length that a bar runs without a break; longer than the straight parts of letters."""
BRIDGE_SHARE = 0.1
"""Breaks up to this part of the least length, where lettering or a crossing interrupts a line, are bridged."""
COLUMN_SHARE = 1 / 16
"""Runs are looked for in whole pieces of this part of their least length."""
THICKEST_PENS = 5.0
"""Broad lines are twice or thrice as wide as the fine ones that the pen's width stands for."""
MOST_BARS = 400
BOW_PENS, BOW_DEGREE = 0.75, 6
"""A piece that strays from its straight line by more than the first is followed along a curve of the second degree."""
BOW_POINTS = 40


@dataclass(frozen=True)
class Bar:
    """Points (x, y) along a bar's centre line, x growing, to about a pixel; shape (K, 2), K at least 2."""

    path: FloatArray


def find_bars(ink: InkImage, coarse_deg: float, pen_px: float) -> list[Bar]:
    """Find nearly level bars.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
    coarse_deg : float
        Skew, known to about 0.1 degrees.
    pen_px : float

    Returns
    -------
    list of Bar
        In the pixels of ``ink``, longest first.
    """
    slope = float(np.tan(np.radians(coarse_deg)))
    bars = []
    for path in _level_pieces(sheared(ink.view(np.uint8), slope), pen_px):
        path[:, 1] -= slope * path[:, 0] + _fall(slope, ink.shape[1])
        bars.append(Bar(path))
    return sorted(bars, key=lambda bar: float(bar.path[0, 0] - bar.path[-1, 0]))[:MOST_BARS]


def sheared(image: GreyImage, slope: float) -> GreyImage:
    """Slide columns down by ``slope`` to the right, and all by `_fall`: sheared instead of turned, they stay columns.

    Columns that slide by as many whole pixels go together, in a third of the time that OpenCV takes for each pixel.
    """
    height, width = image.shape
    slide = np.rint(slope * np.arange(width) + _fall(slope, width)).astype(np.intp)
    starts = np.flatnonzero(np.diff(slide, prepend=slide[0] - 1))
    level = np.zeros((height + int(slide.max()), width), np.uint8)
    for first, last in zip(starts, [*starts[1:], width], strict=True):
        level[slide[first] : slide[first] + height, first:last] = image[:, first:last]
    return level


def _fall(slope: float, width: int) -> float:
    """Pixels by which all columns slide down so that none slides beyond the top."""
    return max(0.0, -slope * (width - 1))


def _level_pieces(level: GreyImage, pen_px: float) -> list[FloatArray]:
    """Centre lines of long thin pieces in a levelled picture, each as in `Bar`."""
    shortest = max(SHORTEST_PENS * pen_px, SHORTEST_SHARE * max(level.shape))
    unbroken = max(3, round(UNBROKEN_SHARE * shortest))
    step = max(1, int(COLUMN_SHARE * unbroken))
    runs = _all_inked(level, step)
    kept = cv2.morphologyEx(runs, cv2.MORPH_OPEN, np.ones((1, max(1, unbroken // step - 1)), np.uint8))
    bridge = np.ones((1, max(1, round(BRIDGE_SHARE * shortest / step))), np.uint8)
    joined = cv2.morphologyEx(kept, cv2.MORPH_CLOSE, bridge)
    found = connected_pieces(np.asarray(joined, np.uint8).view(np.bool_))
    pieces = []
    for label in range(1, len(found.stats)):
        x, y, width, height, area = (int(v) for v in found.stats[label])
        if width * step < shortest or area > THICKEST_PENS * pen_px * width:
            continue
        part = found.labels[y : y + height, x : x + width] == label
        middle = y + (part * np.arange(height)[:, None]).sum(axis=0) / np.maximum(part.sum(axis=0), 1)
        along = np.asarray(step * (np.arange(width) + 0.5), np.float64)
        pieces.append(np.add(_path(along, np.asarray(middle, np.float64), BOW_PENS * pen_px), [step * x, 0.0]))
    return pieces


def _path(x: FloatArray, y: FloatArray, bow_px: float) -> FloatArray:
    """Ends of the straight line through points, or points along a curve where they stray from it by ``bow_px``."""
    first, last = 0.0, float(x[0] + x[-1]) - 1
    centred = x - x.mean()
    slope = float(centred @ y / (centred @ centred))
    offset = float(y.mean()) - slope * float(x.mean())
    ends = np.array([[first, offset], [last, offset + slope * last]])
    if len(x) <= 2 * BOW_DEGREE or np.abs(y - offset - slope * x).max() <= bow_px:
        return ends
    curve = np.polynomial.Polynomial.fit(x, y, BOW_DEGREE)
    along = np.linspace(x[0], x[-1], BOW_POINTS)
    bowed = np.column_stack([along, curve(along)])
    return bowed if np.abs(bowed[:, 1] - offset - slope * along).max() > bow_px else ends


def _all_inked(level: GreyImage, step: int) -> GreyImage:
    """Tell of each row's pieces, ``step`` pixels long, whether they are ink throughout, shape (H, W // step)."""
    throughout = cv2.erode(level, np.ones((1, step), np.uint8))
    return np.ascontiguousarray(throughout[:, step // 2 : level.shape[1] // step * step : step], np.uint8)
