"""TIFF: many pages, strips and tiles, fax and other codecs, all depths."""

from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import tifffile
from numpy.typing import NDArray

from calibrate.errors import InputError
from calibrate.files.decoded import Decoded, check_page, check_size
from calibrate.files.depth import WHITE, exchanges_axes, over_white, to_eight_bit, upright, without_idle_colour
from calibrate.files.resolution import CM_PER_INCH, stated, turned, unknown
from calibrate.sheet import Resolution

RESOLUTION_UNIT_INCH, RESOLUTION_UNIT_CM = 2, 3
RGB_CHANNELS = 3


def count_tiff(path: Path) -> int:
    """Count the pages, thumbnails left out."""
    with tifffile.TiffFile(path) as tiff:
        return len(_pages(tiff))


def read_tiff(path: Path, page: int) -> Decoded:
    """Read one page."""
    with tifffile.TiffFile(path) as tiff:
        pages = _pages(tiff)
        check_page(page, len(pages))
        chosen = pages[page - 1]
        check_size(chosen.imagewidth, chosen.imagelength)
        _check_complete(chosen, path.stat().st_size)
        orientation = int(_tag(chosen, "Orientation") or 1)
        resolution = _resolution(chosen)
        pixels = upright(without_idle_colour(_pixels(chosen)), orientation)
        return Decoded(pixels, len(pages), turned(resolution) if exchanges_axes(orientation) else resolution)


def _pages(tiff: tifffile.TiffFile) -> list[tifffile.TiffPage]:
    # Counting follows the chain of pages once and ends where it comes back on itself; walking through it does not end.
    chain = (tiff.pages[index] for index in range(len(tiff.pages)))
    pages = [page for page in chain if isinstance(page, tifffile.TiffPage) and not page.is_reduced]
    if not pages:
        raise InputError("The TIFF file holds no picture; scan it again.")
    return pages


def _check_complete(page: tifffile.TiffPage, file_bytes: int) -> None:
    spans = zip(page.dataoffsets, page.databytecounts, strict=False)
    if not page.dataoffsets or any(offset + count > file_bytes for offset, count in spans):
        raise InputError("The TIFF file is cut short; copy or scan it again.")


def _tag(page: tifffile.TiffPage, name: str) -> Any:
    tag = page.tags.get(name)
    return None if tag is None else tag.value


def _resolution(page: tifffile.TiffPage) -> Resolution:
    unit = _tag(page, "ResolutionUnit")
    # A missing unit means inches (TIFF 6.0, from memory).
    per_inch = {None: 1.0, RESOLUTION_UNIT_INCH: 1.0, RESOLUTION_UNIT_CM: CM_PER_INCH}.get(unit)
    x, y = (_ratio(_tag(page, name)) for name in ("XResolution", "YResolution"))
    if per_inch is None:
        return unknown("the file states a pixel shape but no resolution")
    return stated(x * per_inch, y * per_inch, "TIFF tags")


def _ratio(value: tuple[int, int] | None) -> float:
    return float(Fraction(value[0], value[1])) if value and value[1] else 0.0


def _pixels(page: tifffile.TiffPage) -> NDArray[np.uint8]:
    photometric = tifffile.PHOTOMETRIC
    samples = np.asarray(page.asarray())
    if page.planarconfig == tifffile.PLANARCONFIG.SEPARATE and samples.ndim == 3:
        samples = np.moveaxis(samples, 0, -1)
    if samples.ndim not in (2, 3):
        raise InputError("The TIFF page is a stack of pictures, not a scan of a sheet; save the sheet alone.")
    if page.photometric == photometric.PALETTE and page.colormap is not None:
        return to_eight_bit(np.moveaxis(page.colormap[:, samples], 0, -1))
    if samples.dtype == np.uint8 and page.bitspersample < 8:
        samples = (
            samples.astype(np.bool_) if page.bitspersample == 1 else samples * (WHITE // (2**page.bitspersample - 1))
        )
    eight = to_eight_bit(samples, white_is_zero=page.photometric == photometric.MINISWHITE)
    if page.photometric == photometric.SEPARATED:
        return _rgb_of_inks(eight)
    return _without_extra(eight, RGB_CHANNELS if page.photometric in (photometric.RGB, photometric.YCBCR) else 1)


def _rgb_of_inks(inks: NDArray[np.uint8]) -> NDArray[np.uint8]:
    black = 255 - inks[..., 3:4].astype(np.uint16)
    return ((255 - inks[..., :3].astype(np.uint16)) * black // 255).astype(np.uint8)


def _without_extra(eight: NDArray[np.uint8], colours: int) -> NDArray[np.uint8]:
    if eight.ndim == 2:
        return eight
    colour = eight[..., :colours] if colours > 1 else eight[..., 0]
    return over_white(colour, eight[..., colours]) if eight.shape[2] > colours else colour
