"""How much memory a sheet will need, so that large ones do not all run at once."""

import warnings
from pathlib import Path

import pypdfium2
import tifffile
from PIL import Image

BASE_BYTES = 700_000_000
"""What one process holds before it opens a sheet, with the reader and the compiled code (measured)."""
BYTES_PER_PIXEL = 22
"""Peak of a whole run above that, by pixel of the page (measured from A4 to E size)."""
USABLE = 0.7
"""Share of the memory that is free now which a batch may take."""
MEMINFO = Path("/proc/meminfo")
ASSUMED_BYTES = 4_000_000_000
"""Where the system does not say how much is free."""


SCANNED_DPI = 400
"""A page of a PDF is taken for a scan of this resolution until it is opened."""
UNKNOWN_PIXELS = 150_000_000
"""A page whose size can't be told is taken for a large one."""


def page_pixels(path: Path, page: int) -> int:
    """Pixels of a page by its header, nothing decoded."""
    try:
        if path.suffix.lower() == ".pdf":
            return _pdf_pixels(path, page)
        if path.suffix.lower() in (".tif", ".tiff"):
            with tifffile.TiffFile(path) as tiff:
                height, width = tiff.series[0].shape[-2:] if len(tiff.pages) == 1 else tiff.pages[page - 1].shape[:2]
                return int(height * width)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(path) as image:
                return image.width * image.height
    except Exception:  # a damaged file is refused when it is opened in earnest, with its sentence
        return UNKNOWN_PIXELS


def _pdf_pixels(path: Path, page: int) -> int:
    document = pypdfium2.PdfDocument(path)
    try:
        width, height = document[page - 1].get_size()
        return int(width * height * (SCANNED_DPI / 72) ** 2)
    finally:
        document.close()


def needed_bytes(path: Path, page: int) -> int:
    """Memory that digitizing a page will take, from the size its header states."""
    return BASE_BYTES + BYTES_PER_PIXEL * page_pixels(path, page)


def usable_bytes() -> int:
    """Memory that a batch may take on this machine now."""
    try:
        lines = dict(line.split(":", 1) for line in MEMINFO.read_text(encoding="ascii").splitlines())
        free = int(lines["MemAvailable"].split()[0]) * 1024
    except (OSError, KeyError, ValueError):
        free = ASSUMED_BYTES
    return int(USABLE * free)
