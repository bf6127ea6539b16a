"""What every file reader gives, and the bounds it keeps before it decodes anything."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibrate.errors import InputError
from calibrate.sheet import Resolution

LARGEST_PX = 400_000_000
"""Pixels of one page: an A0 sheet at 500 dpi has 387 million."""
SMALLEST_SIDE_PX = 100
"""Nothing can be read in a smaller picture."""


@dataclass(frozen=True)
class Decoded:
    """One page's pixels, uint8, grey (H, W) or RGB (H, W, 3), upright, and what the file states of them.

    ``focus`` is the camera's focal length over the picture's longer side.
    """

    pixels: NDArray[np.uint8]
    page_count: int
    resolution: Resolution
    focus: float | None = None


def check_size(width_px: int, height_px: int) -> None:
    """Refuse pictures too large to decode or too small to hold a drawing.

    Raises
    ------
    InputError
    """
    if width_px * height_px > LARGEST_PX:
        raise InputError(
            f"The picture is {width_px} x {height_px} pixels, more than the {LARGEST_PX // 1_000_000} million that"
            " can be handled; scan it at a lower resolution or cut it into parts."
        )
    if min(width_px, height_px) < SMALLEST_SIDE_PX:
        size = f"{width_px} x {height_px}"
        raise InputError(f"The picture is only {size} pixels, too small for a drawing; scan it larger.")


def check_page(page: int, page_count: int) -> None:
    """Refuse a page that the file does not have.

    Raises
    ------
    InputError
    """
    if not 1 <= page <= page_count:
        has = "one page" if page_count == 1 else f"{page_count} pages"
        raise InputError(f"There is no page {page}: the file has {has}; ask for one from 1 to {page_count}.")
