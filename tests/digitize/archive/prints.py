"""A small drawn print and its result folder: calibrated in earnest, read by hand."""

import json
from pathlib import Path

import cv2
import numpy as np
import tifffile
from PIL import Image

from calibrate.level import calibrate_sheet
from digitize.found import Found, save
from digitize.lettering.text import Reading, Text, TextBlock
from digitize.strokes.primitives import Strokes
from tests.digitize.archive.folders import result, value

DPI = 150
TEXTS = {
    "SPINDLE": ((120.0, 100.0), 0.0),
    '14 1/2"': ((560.0, 330.0), 0.0),
    "Ø 1.250": ((760.0, 420.0), 90.0),
}
"""Low left corner in level pixels and reading direction of each text."""
WIDTH_PX, HEIGHT_PX = 110.0, 22.0


def drawn(shift: int = 0) -> np.ndarray:
    """A plate with a hole inside a border."""
    grey = np.full((600, 900), 245, np.uint8)
    cv2.rectangle(grey, (20, 20), (880, 580), 20, 2)
    cv2.rectangle(grey, (200 + shift, 150), (700, 450), 20, 2)
    cv2.circle(grey, (450, 300), 80, 20, 2)
    return grey


def text(written: str) -> Text:
    """A text at its place."""
    (x, y), angle = TEXTS[written]
    turn = np.radians(angle)
    across = np.array([np.cos(turn), -np.sin(turn)]) * WIDTH_PX
    up = np.array([-np.sin(turn), -np.cos(turn)]) * HEIGHT_PX
    foot = np.array([x, y])
    quad = tuple((float(px), float(py)) for px, py in (foot + up, foot + up + across, foot + across, foot))
    return Text(TextBlock(quad, angle, HEIGHT_PX), (Reading(written, 0.9),), "hand")  # type: ignore[arg-type]


def write_print(path: Path, pages: int = 1) -> Path:
    """A PNG, or a TIFF of several pages, with its resolution."""
    path.parent.mkdir(parents=True, exist_ok=True)
    if pages == 1:
        Image.fromarray(drawn()).save(path, dpi=(DPI, DPI))
    else:
        with tifffile.TiffWriter(path) as tiff:
            for page in range(pages):
                tiff.write(drawn(10 * page), photometric="minisblack", resolution=(DPI, DPI), resolutionunit="INCH")
    return path


def digitized(print_file: Path, folder: Path, page: int = 1) -> Path:
    """The result folder of a page."""
    sheet = calibrate_sheet(print_file, page)
    rows = [value("A1.1", "linear", '14 1/2"', 14.5), value("A1.2", "diameter", "Ø 1.250", 1.25, status="disputed")]
    result(folder, {"title": "SPINDLE"}, rows, sha256=sheet.sha256)
    for name in ("dimensions.json", "sheet.json"):
        content = json.loads((folder / name).read_text())
        of_sheet = content.get("sheet", content)
        of_sheet |= {"source": print_file.name, "page": page, "page_count": sheet.page_count}
        (folder / name).write_text(json.dumps(content | {"versions": {"tracecloth": "0.1.0"}}))
    save(folder / "found.json", Found(sheet, Strokes((), (), (), (), ()), tuple(map(text, TEXTS))))
    for name in ("trace.dxf", "part.dxf", "dimensions.csv", "dimensions.xlsx", "check-print.png", "check-print.html"):
        (folder / name).write_text(f"{name} of {print_file.name}")
    return folder
