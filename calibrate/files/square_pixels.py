"""Pages of a fax, whose pixels are twice as high as wide, get square pixels."""

from dataclasses import replace

import cv2
import numpy as np

from calibrate.files.decoded import LARGEST_PX
from calibrate.files.resolution import LARGEST_AXIS_RATIO
from calibrate.sheet import PageImage

LEAST_OBLONG = 1.5
"""Ratio of the two resolutions from which the file's word is taken for it: no scanner's feed is so far off."""
MIDDLE_GREY = 127


def with_square_pixels(page: PageImage) -> PageImage:
    """A page as it is meant to be seen: enlarged along its coarser axis where its file states oblong pixels.

    A page of one bit stays one.
    """
    x_dpi, y_dpi = page.resolution.x_dpi, page.resolution.y_dpi
    if x_dpi is None or y_dpi is None:
        return page
    finer, (height, width) = max(x_dpi, y_dpi), page.pixels.shape[:2]
    size = round(width * finer / x_dpi), round(height * finer / y_dpi)
    if not LEAST_OBLONG <= finer / min(x_dpi, y_dpi) <= LARGEST_AXIS_RATIO or size[0] * size[1] > LARGEST_PX:
        return page
    pixels = np.asarray(cv2.resize(page.pixels, size, interpolation=cv2.INTER_CUBIC), np.uint8)
    if page.one_bit:
        cv2.threshold(pixels, MIDDLE_GREY, 255, cv2.THRESH_BINARY, dst=pixels)
    note = f"{page.resolution.note}: {x_dpi:g} x {y_dpi:g} dpi, of which square pixels were made"
    return replace(page, pixels=pixels, resolution=replace(page.resolution, x_dpi=finer, y_dpi=finer, note=note))
