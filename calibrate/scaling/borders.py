"""The drawn border as a witness of the scale: where it runs, and which standard sheet it is the border of."""

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

import cv2
import numpy as np

from calibrate.scaling.sizes import SheetSize, sheet_sizes
from calibrate.sheet import FloatArray, InkImage

BORDER_COVER = 0.6
"""A border line is inked along this part of the picture's side or more."""
BORDER_DEPTH = 0.15
"""It lies within this part of the side from the edge of the picture."""
THICKEST_MM = 2.0
"""A border line is thinner than this, or it is none (ISO 128, from memory: 2 mm)."""
LARGEST_DEVIATION = 0.01
"""Paper shrinks by up to 1.2 %, both ways alike in the main; a border that strays further is of no standard sheet."""


@dataclass(frozen=True)
class Border:
    """Distance between the middles of a border's lines, in level pixels."""

    width_px: float
    height_px: float


@dataclass(frozen=True)
class StandardBorder:
    """The border of a standard sheet: its size within the margins."""

    size: SheetSize
    width_mm: float
    height_mm: float


@lru_cache(maxsize=1)
def standard_borders() -> tuple[StandardBorder, ...]:
    """Borders of the table, each with the sheet's long side lying and standing."""
    sizes = {(size.series, size.name): size for size in sheet_sizes()}
    text = resources.files("calibrate").joinpath("sheet_borders.csv").read_text(encoding="utf-8")
    found = []
    for row in csv.DictReader(text.splitlines()):
        size = sizes[row["series"], row["name"]]
        across, up = (float(row[a]) + float(row[b]) for a, b in (("left_mm", "right_mm"), ("top_mm", "bottom_mm")))
        for width, height in ((size.long_mm, size.short_mm), (size.short_mm, size.long_mm)):
            found.append(StandardBorder(size, width - across, height - up))
    return tuple(found)


def find_border(ink: InkImage, mm_per_px: float) -> Border | None:
    """Find the border of a level sheet.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
        Level.
    mm_per_px : float
        Paper millimetres per pixel, for thresholds.

    Returns
    -------
    Border or None
        None where any of its four lines is not to be seen.
    """
    thickest = max(1.0, THICKEST_MM / mm_per_px)
    sides = [_outermost(_cover(ink, axis), thickest) for axis in (0, 1)]
    if sides[0] is None or sides[1] is None:
        return None
    return Border(sides[0][1] - sides[0][0], sides[1][1] - sides[1][0])


def _cover(ink: InkImage, axis: int) -> FloatArray:
    """Part of each column (axis 0) or row that is inked."""
    inked = cv2.reduce(ink.view(np.uint8), axis, cv2.REDUCE_SUM, dtype=cv2.CV_32S)
    return np.asarray(inked.ravel() / ink.shape[axis], np.float64)


def _outermost(cover: FloatArray, thickest: float) -> tuple[float, float] | None:
    """Places of the first and last line across a profile of ink."""
    inked = np.flatnonzero(cover >= BORDER_COVER)
    if len(inked) < 2:
        return None
    lines = np.split(inked, np.flatnonzero(np.diff(inked) > 1) + 1)
    first, last = (float(np.average(line, weights=cover[line])) for line in (lines[0], lines[-1]))
    deepest = BORDER_DEPTH * len(cover)
    thin = max(len(lines[0]), len(lines[-1])) <= thickest
    return (first, last) if thin and first <= deepest and last >= len(cover) - 1 - deepest else None


def matching_border(border: Border, mm_per_px: tuple[float, float]) -> StandardBorder | None:
    """The standard border nearest to one seen; None where none is near."""
    width_mm, height_mm = border.width_px * mm_per_px[0], border.height_px * mm_per_px[1]
    off = [max(abs(width_mm / b.width_mm - 1), abs(height_mm / b.height_mm - 1)) for b in standard_borders()]
    best = int(np.argmin(off))
    return standard_borders()[best] if off[best] <= LARGEST_DEVIATION else None
