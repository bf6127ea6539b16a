"""Punched holes and like dark discs near the edge of a sheet, which are no ink."""

import cv2
import numpy as np

from calibrate.restoring.polarity import REDUCTION, reduced
from calibrate.sheet import InkImage

SMALLEST_PENS, LARGEST_PENS = 13.0, 34.0
"""Diameters of holes, 4 to 10 mm, in widths of the fine pen (ISO 838 punches 6 mm, from memory)."""
OPENING_PENS = 7.0
"""Solid ink narrower than this, 2 mm, is drawn."""
LONGEST_OVER_SHORTEST = 1.2
LEAST_FILL = 0.9
"""Area over that of the ellipse in the same box."""
EDGE_SHARE = 0.12
"""Holes lie within this part of the picture from its edge."""
MARGIN_PX = 3


def find_holes(ink: InkImage, pen_px: float) -> list[tuple[int, int, int, int]]:
    """Find holes.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
    pen_px : float

    Returns
    -------
    list of (left, top, right, bottom)
        Boxes in pixels, the last two exclusive.
    """
    small = reduced(ink.view(np.uint8) * np.uint8(255)) > 127
    side = max(3, round(OPENING_PENS * pen_px / REDUCTION)) | 1
    solid = cv2.morphologyEx(
        small.astype(np.uint8), cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
    )
    _, _, stats, _ = cv2.connectedComponentsWithStats(solid, connectivity=4)
    boxes = [tuple(int(v) for v in row) for row in np.asarray(stats)[1:]]
    return [_full_size(x, y, w, h) for x, y, w, h, area in boxes if _is_hole(x, y, w, h, area, solid.shape, pen_px)]


def _is_hole(x: int, y: int, w: int, h: int, area: int, shape: tuple[int, ...], pen_px: float) -> bool:
    diameter = (w + h) / 2 * REDUCTION
    round_enough = max(w, h) <= LONGEST_OVER_SHORTEST * min(w, h) and area >= LEAST_FILL * np.pi / 4 * w * h
    sized = SMALLEST_PENS * pen_px <= diameter <= LARGEST_PENS * pen_px
    across, down = (x + w / 2) / shape[1], (y + h / 2) / shape[0]
    return bool(round_enough and sized and min(across, 1 - across, down, 1 - down) <= EDGE_SHARE)


def _full_size(x: int, y: int, w: int, h: int) -> tuple[int, int, int, int]:
    margin = MARGIN_PX + REDUCTION
    left, top = max(0, x * REDUCTION - margin), max(0, y * REDUCTION - margin)
    return left, top, (x + w) * REDUCTION + margin, (y + h) * REDUCTION + margin


def disc_in(shape: tuple[int, ...]) -> InkImage:
    """Mask of the disc that fills a box of so many rows and columns, so that a line past its corner stays."""
    rows, columns = (np.abs(np.linspace(-1, 1, side)) for side in shape)
    return np.asarray(np.hypot(rows[:, None], columns) <= 1, np.bool_)
