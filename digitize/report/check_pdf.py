"""The check print as a PDF of the paper's own size, to lay beside or over the print."""

from collections.abc import Sequence
from io import BytesIO
from pathlib import Path

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from calibrate.sheet import FloatArray, LevelSheet, ResolutionStatus
from digitize.report.marks import COLOURS, Mark
from digitize.report.picture import bounded, encode_jpeg
from digitize.report.place_marks import PlaceMark

PICTURE_PIXELS = 16e6
"""An A3 sheet at 300 dpi keeps its own pixels."""
JPEG_QUALITY = 80
LARGEST_PT = 14400.0
"""Readers of PDF stop at 200 inches a side."""
TEXT_MM = 3.0
UNKNOWN_SIZE = "The resolution of the scan is not known: the size of this page is a guess."


def write_pdf(path: Path, sheet: LevelSheet, marks: Sequence[Mark], places: Sequence[PlaceMark] = ()) -> None:
    """Write the level sheet with its marks.

    Parameters
    ----------
    path : Path
    sheet : LevelSheet
    marks : sequence of Mark
        In level pixels.
    places : sequence of PlaceMark
        Where outlines do not close, and dimension lines without a figure.

    Notes
    -----
    Where the resolution of the scan is known, a millimetre of paper is a millimetre of the page; where it is not, the
    page says so.
    """
    canvas, point = sheet_page(path, sheet, f"Check print of {sheet.path.stem}")
    height = sheet.grey.shape[0]
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    for mark in marks:
        canvas.setStrokeColor(HexColor(COLOURS[mark.state]))
        canvas.setLineWidth(mark.width_px * point)
        canvas.setStrokeAlpha(0.75)
        for line in mark.paths:
            _draw(canvas, line, height, point)
    for place in places:
        canvas.setStrokeColor(HexColor(place.colour))
        canvas.setFillColor(HexColor(place.colour))
        canvas.setLineWidth(place.pen_px * point)
        for line in place.paths:
            _draw(canvas, line, height, point)
        canvas.setFont("Helvetica", place.height_px * 1.4 * point)
        canvas.drawString((place.text_at[0] + 0.5) * point, (height - place.text_at[1] - 0.5) * point, place.words)
    canvas.setFillColor(HexColor("#000000"))
    if sheet.resolution.status is ResolutionStatus.UNKNOWN:
        canvas.setFont("Helvetica", TEXT_MM * mm)
        canvas.drawString(TEXT_MM * mm, TEXT_MM * mm, UNKNOWN_SIZE)
    canvas.save()


def sheet_page(path: Path, sheet: LevelSheet, title: str, font: str = "Helvetica") -> tuple[Canvas, float]:
    """A page with the level picture on it, and how many points a level pixel is.

    Parameters
    ----------
    path : Path
    sheet : LevelSheet
    title : str
    font : str
        The first on the page; one that is registered with reportlab by its file is embedded.
    """
    height, width = sheet.grey.shape
    point = min(sheet.paper_mm_per_px * mm, LARGEST_PT / max(width, height))
    size = width * point, height * point
    canvas = Canvas(str(path), size, invariant=1, initialFontName=font)  # type: ignore[arg-type]  # a name it is
    canvas.setTitle(title)
    picture, _factor = bounded(sheet.grey, PICTURE_PIXELS)
    canvas.drawImage(ImageReader(BytesIO(encode_jpeg(picture, JPEG_QUALITY))), 0, 0, width * point, height * point)
    return canvas, point


def _draw(canvas: Canvas, line: FloatArray, height: int, point: float) -> None:
    drawn = canvas.beginPath()
    corners = [((x + 0.5) * point, (height - 0.5 - y) * point) for x, y in line.tolist()]
    drawn.moveTo(*corners[0])
    for corner in corners[1:]:
        drawn.lineTo(*corner)
    canvas.drawPath(drawn)
