"""PNG, JPEG and JPEG 2000, each one page."""

import math
import os
from pathlib import Path

import imagecodecs
import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.Jpeg2KImagePlugin import Jpeg2KImageFile
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile

from calibrate.errors import InputError
from calibrate.files.decoded import Decoded, check_page, check_size
from calibrate.files.depth import exchanges_axes, over_white, to_eight_bit, upright, without_idle_colour
from calibrate.files.plain_png import read_plain_png
from calibrate.files.resolution import MM_PER_INCH, stated, turned, unknown
from calibrate.sheet import Resolution

EXIF_ORIENTATION = 274
EXIF_SUB_DIRECTORY = 0x8769
EXIF_EXPOSURE_TIME = 33434
EXIF_FOCUS_OF_FILM_MM, EXIF_WIDTH_PX, EXIF_HEIGHT_PX = 41989, 40962, 40963
FILM_DIAGONAL_MM = (36**2 + 24**2) ** 0.5
"""A focal length on 35 mm film is one of the same angle of view across the picture's diagonal (CIPA DCG-001, from
memory)."""
JPEG_END = JPEG_2000_END = b"\xff\xd9"
JFIF_INCH, JFIF_CM = 1, 2
CM_PER_INCH = MM_PER_INCH / 10


def read_png(path: Path, page: int) -> Decoded:
    """Read a PNG of any depth, palette or transparency."""
    return _read(PngImageFile(path), page, "PNG pHYs")


def read_jpeg(path: Path, page: int) -> Decoded:
    """Read a JPEG, turned as its EXIF says."""
    return _read(JpegImageFile(path), page, "JPEG header")


def read_jpeg_2000(path: Path, page: int) -> Decoded:
    """Read a JPEG 2000 file or bare codestream.

    Raises
    ------
    InputError
        Where the codestream lacks its end: the decoder would quietly give a coarser picture.
    """
    if JPEG_2000_END not in path.read_bytes()[-64:]:
        raise InputError("The JPEG 2000 file is cut short; copy or scan it again.")
    return _read(Jpeg2KImageFile(path), page, "JPEG 2000 resolution box")


def _read(image: Image.Image, page: int, where: str) -> Decoded:
    # These classes are opened directly: Image.open has one global bound on pixels, ours is set per file.
    with image:
        check_page(page, 1)
        check_size(*image.size)
        plain = _whole_jpeg(image) if isinstance(image, JpegImageFile) else read_plain_png(image)
        # Pillow's PNG asks for chunks behind the pixels, and decodes these to get there.
        exif = image.getexif() if plain is None else Image.Image.getexif(image)
        orientation = int(exif.get(EXIF_ORIENTATION, 1))
        resolution, focus = _resolution(image, exif, where), _focus(image, exif)
        samples = _pixels(image) if plain is None else plain
        pixels = upright(without_idle_colour(samples), orientation)
    return Decoded(pixels, 1, turned(resolution) if exchanges_axes(orientation) else resolution, focus)


def _whole_jpeg(image: JpegImageFile) -> NDArray[np.uint8] | None:
    """Samples of a grey or RGB JPEG that ends with its own end mark; None of any other, which Pillow reads or refuses.

    libjpeg's own array saves Pillow's copies. A file cut short it would fill up with grey and say nothing.
    """
    data = Path(os.fsdecode(image.filename)).read_bytes()
    if image.mode not in ("L", "RGB") or not data.endswith(JPEG_END):
        return None
    return np.asarray(imagecodecs.jpeg8_decode(data), np.uint8)


def _focus(image: Image.Image, exif: Image.Exif) -> float | None:
    """Focal length over the longer side; None where none is stated or the picture is not as large as it was taken."""
    taken = exif.get_ifd(EXIF_SUB_DIRECTORY)
    focus_mm, size = taken.get(EXIF_FOCUS_OF_FILM_MM), (taken.get(EXIF_WIDTH_PX), taken.get(EXIF_HEIGHT_PX))
    if not focus_mm or size != image.size:
        return None
    return float(focus_mm) / FILM_DIAGONAL_MM * math.hypot(*image.size) / max(image.size)


def _resolution(image: Image.Image, exif: Image.Exif, where: str) -> Resolution:
    if EXIF_EXPOSURE_TIME in exif.get_ifd(EXIF_SUB_DIRECTORY):
        return unknown("a camera took the picture, which knows nothing of the paper's size")
    if isinstance(image, JpegImageFile) and "jfif_density" in image.info:
        x, y = image.info["jfif_density"]
        per_inch = {JFIF_INCH: 1.0, JFIF_CM: CM_PER_INCH}.get(image.info.get("jfif_unit", 0))
        if per_inch is not None:
            return stated(x * per_inch, y * per_inch, where)
    x_dpi, y_dpi = image.info.get("dpi", (None, None))
    return stated(x_dpi, y_dpi, where)


def _pixels(image: Image.Image) -> NDArray[np.uint8]:
    if image.mode == "P":
        image = image.convert("RGBA" if "transparency" in image.info else "RGB")
    elif "transparency" in image.info and image.mode in ("1", "L", "RGB"):
        image = image.convert("RGBA")
    elif image.mode in ("CMYK", "YCbCr", "LAB", "HSV"):
        image = image.convert("RGB")
    elif image.mode == "PA":
        image = image.convert("RGBA")
    samples = np.asarray(image)
    if image.mode in ("LA", "RGBA"):
        eight = to_eight_bit(samples)
        colour = eight[..., 0] if image.mode == "LA" else eight[..., :3]
        return over_white(colour, eight[..., -1])
    if samples.dtype.kind == "i":
        samples = samples.astype(np.uint32)
    return to_eight_bit(samples)
