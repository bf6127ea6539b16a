"""The sheet as tracing sees it: darkness and ink in the working frame, with the lettering taken out."""

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import LevelSheet
from digitize.strokes.centre_lines.thinning import BAND_PX, ByteImage
from digitize.strokes.slits import slits_in

FULL_DARKNESS = 255
LETTERING_MARGIN_MM = 0.08
"""The blurred edge of a letter reaches this far beyond its ink."""


@dataclass(frozen=True)
class Ground:
    """Pictures in the working frame, and the scale of paper.

    Attributes
    ----------
    dark : ndarray, uint8, shape (H, W)
        0 on paper and in slits (see `slits`), 255 on full ink; lettering blank.
    slitless : ndarray, uint8, shape (H, W)
        The same with the darkness that slits have; the same array where there are none.
    all_dark : ndarray, uint8, shape (H, W)
        The darkness with the lettering in it.
    ink : ndarray, bool, shape (H, W)
        Without lettering and slits.
    lettering : ndarray, bool, shape (H, W)
    mm_per_px, pen_px : float
    picture_from_round : ndarray, float64, shape (2, 2)
        From the coordinates of pieces (see `roundness`) to those of the pictures here.
    """

    dark: ByteImage
    slitless: ByteImage
    all_dark: ByteImage
    ink: NDArray[np.bool_]
    lettering: NDArray[np.bool_]
    mm_per_px: float
    pen_px: float
    picture_from_round: NDArray[np.float64] = field(default_factory=lambda: np.eye(2))

    def in_picture(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Carry points of pieces, shape (..., 2), to the coordinates of the pictures."""
        return np.asarray(points @ self.picture_from_round.T, dtype=np.float64)

    def px(self, length_mm: float) -> float:
        """Turn mm of paper into px."""
        return length_mm / self.mm_per_px


def ground_of(sheet: LevelSheet, lettering_mask: NDArray[np.bool_]) -> Ground:
    """Take the lettering out of a sheet's working picture.

    Parameters
    ----------
    sheet : LevelSheet
    lettering_mask : ndarray, bool, level frame
        True on ink that belongs to lettering.

    Raises
    ------
    ValueError
        If the mask is not as large as the level picture.
    """
    if lettering_mask.shape != sheet.grey.shape:
        raise ValueError("The lettering mask must be as large as the level sheet.")
    lettering = _in_working_frame(lettering_mask, sheet)
    margin = max(1, round(LETTERING_MARGIN_MM / sheet.paper_mm_per_px))
    kernel = np.ones((2 * margin + 1, 2 * margin + 1), np.uint8)
    all_dark, dark = np.empty_like(sheet.working_grey), np.empty_like(sheet.working_grey)
    ink = np.empty_like(sheet.working_ink)
    for top in range(0, len(dark), BAND_PX):
        band, first = slice(top, top + BAND_PX), max(top - margin, 0)
        blank = cv2.dilate(lettering[first : top + BAND_PX + margin].view(np.uint8), kernel)[top - first :][:BAND_PX]
        left = ~blank.view(bool)
        np.subtract(FULL_DARKNESS, sheet.working_grey[band], out=all_dark[band])
        np.multiply(all_dark[band], left, out=dark[band])
        np.logical_and(sheet.working_ink[band], left, out=ink[band])
    slitless, slits = dark, slits_in(dark, 1.0 / sheet.paper_mm_per_px)
    if len(slits[0]):
        dark = dark.copy()
        dark[slits], ink[slits] = 0, False
    return Ground(dark, slitless, all_dark, ink, lettering, sheet.paper_mm_per_px, sheet.pen_px)


def _in_working_frame(mask: NDArray[np.bool_], sheet: LevelSheet) -> NDArray[np.bool_]:
    """Carry a mask of the level frame into the working frame, to the nearest pixel."""
    rows, columns = sheet.working_grey.shape
    if mask.shape == (rows, columns) and np.array_equal(sheet.level_from_working, np.eye(3)):
        return mask
    flags = cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    carried = cv2.warpPerspective(mask.astype(np.uint8), sheet.level_from_working, (columns, rows), flags=flags)
    return np.asarray(carried > 0)
