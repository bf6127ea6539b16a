"""PDF: the scan inside a page at its own resolution, or a vector page drawn at a usual one.

A page is taken for a scan when one picture covers it and nothing else on it is drawn; the invisible words that a
reading program leaves behind do not count.
"""

import math
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw
from numpy.typing import NDArray

from calibrate.errors import InputError
from calibrate.files.decoded import Decoded, check_page, check_size
from calibrate.files.depth import to_eight_bit, without_idle_colour
from calibrate.files.resolution import stated

POINTS_PER_INCH = 72.0
VECTOR_DPI = 300.0
"""Resolution at which pages without a scan are drawn."""
COVERING_SHARE = 0.8
"""Part of the page that the scan fills, at least; page frames are often a little larger than the scan."""
MOST_PATHS_BESIDE_SCAN = 20
"""Stamps and frames that programs add; a page with more drawn on it is drawn as a whole."""
LARGEST_TILT = 0.02
"""Off-axis part of the placing matrix, beyond which the page is drawn as a whole."""
END_MARK, END_SEARCH_BYTES = b"%%EOF", 4096


def count_pdf(path: Path) -> int:
    """Count the pages."""
    document = _open(path)
    try:
        return len(document)
    finally:
        document.close()


def read_pdf(path: Path, page: int) -> Decoded:
    """Read one page."""
    document = _open(path)
    try:
        check_page(page, len(document))
        chosen = document[page - 1]
        try:
            pixels, x_dpi, y_dpi, where = _scan_or_drawing(chosen)
        finally:
            chosen.close()
        return Decoded(without_idle_colour(pixels), len(document), stated(x_dpi, y_dpi, where))
    finally:
        document.close()


def _open(path: Path) -> pdfium.PdfDocument:
    if END_MARK not in path.read_bytes()[-END_SEARCH_BYTES:]:
        raise InputError("The PDF is cut short; copy or export it again.")
    try:
        return pdfium.PdfDocument(path)
    except pdfium.PdfiumError as error:
        if error.err_code == pdfium_raw.FPDF_ERR_PASSWORD:
            raise InputError("The PDF is locked by a password; save it without one.") from error
        raise


def _scan_or_drawing(page: pdfium.PdfPage) -> tuple[NDArray[np.uint8], float, float, str]:
    kinds = (pdfium_raw.FPDF_PAGEOBJ_IMAGE, pdfium_raw.FPDF_PAGEOBJ_PATH, pdfium_raw.FPDF_PAGEOBJ_SHADING)
    objects = list(page.get_objects(filter=kinds))
    scans = [thing for thing in objects if isinstance(thing, pdfium.PdfImage)]
    drawn = len(objects) - len(scans)
    if len(scans) == 1 and drawn <= MOST_PATHS_BESIDE_SCAN and _is_scan_of(page, scans[0]):
        return _embedded(page, scans[0])
    finest = max([VECTOR_DPI, *(min(_dpi(scan)) for scan in scans if _covers(page, scan) > COVERING_SHARE)])
    return (*_drawn(page, finest), "page drawn from its PDF")


def _covers(page: pdfium.PdfPage, scan: pdfium.PdfImage) -> float:
    left, bottom, right, top = scan.get_bounds()
    page_left, page_bottom, page_right, page_top = page.get_bbox()
    width = min(right, page_right) - max(left, page_left)
    height = min(top, page_top) - max(bottom, page_bottom)
    page_area = (page_right - page_left) * (page_top - page_bottom)
    return max(width, 0.0) * max(height, 0.0) / page_area if page_area > 0 else 0.0


def _is_scan_of(page: pdfium.PdfPage, scan: pdfium.PdfImage) -> bool:
    a, b, c, d = _placing(scan)
    size = max(math.hypot(a, b), math.hypot(c, d))
    squarely = min(abs(a) + abs(d), abs(b) + abs(c)) < LARGEST_TILT * size
    cut = page.get_bbox()
    left, bottom, right, top = scan.get_bounds()
    inside = min(left - cut[0], bottom - cut[1], cut[2] - right, cut[3] - top) > -LARGEST_TILT * size
    return squarely and inside and _covers(page, scan) >= COVERING_SHARE


def _placing(scan: pdfium.PdfImage) -> tuple[float, float, float, float]:
    a, b, c, d, _, _ = scan.get_matrix().get()
    return a, b, c, d


def _dpi(scan: pdfium.PdfImage) -> tuple[float, float]:
    a, b, c, d = _placing(scan)
    width_px, height_px = scan.get_px_size()
    return width_px * POINTS_PER_INCH / math.hypot(a, b), height_px * POINTS_PER_INCH / math.hypot(c, d)


def _embedded(page: pdfium.PdfPage, scan: pdfium.PdfImage) -> tuple[NDArray[np.uint8], float, float, str]:
    check_size(*scan.get_px_size())
    pixels = _array(scan.get_bitmap(render=False))
    if pixels.shape[:2] != scan.get_px_size()[::-1]:
        raise InputError("The picture inside the PDF can't be decoded; export the scan as TIFF or PNG.")
    x_dpi, y_dpi = _dpi(scan)
    placed, exchanged = _as_placed(pixels, _placing(scan))
    quarters = page.get_rotation() // 90
    if exchanged != bool(quarters % 2):
        x_dpi, y_dpi = y_dpi, x_dpi
    # /Rotate turns the page clockwise.
    return np.ascontiguousarray(np.rot90(placed, -quarters)), x_dpi, y_dpi, "size of the scan on its PDF page"


def _as_placed(pixels: NDArray[np.uint8], placing: tuple[float, float, float, float]) -> tuple[NDArray[np.uint8], bool]:
    # A picture's unit square has its first row at y = 1; the page has y up.
    a, b, c, d = placing
    exchanged = abs(b) + abs(c) > abs(a) + abs(d)
    if exchanged:
        pixels = np.swapaxes(pixels, 0, 1)
        # Rows now run along the picture's x, which lies along the page's y by b; columns along -c.
        flip_columns, flip_rows = c > 0, b > 0
    else:
        flip_columns, flip_rows = a < 0, d < 0
    if flip_columns:
        pixels = pixels[:, ::-1]
    if flip_rows:
        pixels = pixels[::-1]
    return pixels, exchanged


def _drawn(page: pdfium.PdfPage, dpi: float) -> tuple[NDArray[np.uint8], float, float]:
    width_pt, height_pt = page.get_size()
    scale = dpi / POINTS_PER_INCH
    check_size(math.ceil(width_pt * scale), math.ceil(height_pt * scale))
    return _array(page.render(scale=scale)), dpi, dpi


def _array(bitmap: pdfium.PdfBitmap) -> NDArray[np.uint8]:
    """Copy a bitmap; the library frees it with its last reference, and calls closing a decoded one unsafe."""
    samples = to_eight_bit(bitmap.to_numpy())
    if samples.ndim == 2:
        return samples.copy()
    if samples.shape[2] == 1:
        return samples[..., 0].copy()
    return samples[..., 2::-1].copy()
