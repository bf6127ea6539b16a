"""Pictures to files, in the format that the archive kept, with the resolution that the file states."""

import io
from typing import Any

from PIL import Image

from samples.aging import Scan

QUICK = 2  # of 9: noise does not pack any better
FORMATS = {".png": "PNG", ".jpg": "JPEG", ".tif": "TIFF"}


def image_options(scan: Scan) -> dict[str, Any]:
    """The stated resolution, if the file states one."""
    dpi = scan.exposure.dpi_stated
    return {} if dpi is None else {"dpi": (dpi, dpi)}


def encoded(scan: Scan) -> bytes:
    """The file's bytes."""
    options = image_options(scan)
    image = Image.fromarray(scan.picture)
    if scan.suffix == ".tif":
        image, options["compression"] = image.convert("1"), "group4"
    if scan.suffix == ".jpg":
        options["quality"] = scan.quality
    if scan.suffix == ".png":
        options["compress_level"] = QUICK
    stream = io.BytesIO()
    image.save(stream, FORMATS[scan.suffix], **options)
    return stream.getvalue()
