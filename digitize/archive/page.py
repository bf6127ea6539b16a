"""Found sheets as one page of HTML with small pictures, which needs no network and no other file."""

import base64
import os
from pathlib import Path
from typing import Any
from urllib.parse import quote

import cv2
import numpy as np

from calibrate.record import write_whole
from digitize.archive import wording
from digitize.archive.catalogue import Hit
from digitize.pages import template
from digitize.report.picture import bounded, encode_jpeg

PICTURE, SHOWN = "check-print.png", "check-print.html"
SMALL_PX = 400.0 * 280.0
"""Pixels of a small picture: two or three of them side by side on a screen."""
JPEG_QUALITY = 70


def write_page(path: Path, hits: tuple[Hit, ...], more: bool, home: Path) -> None:
    """Write the page.

    Parameters
    ----------
    path : Path
        The file; links to the check prints are relative to its folder.
    hits : tuple of Hit
    more : bool
    home : Path
        The folder that was searched.
    """
    sheets = [_sheet(hit, home / hit.folder, path.parent) for hit in hits]
    text = template("digitize.archive", "found_sheets.html.j2").render(
        heading=wording.heading(hits, more), sheets=sheets
    )
    write_whole(path, lambda temporary: temporary.write_text(text, encoding="utf-8"))


def _sheet(hit: Hit, folder: Path, page_folder: Path) -> dict[str, Any]:
    shown = folder / SHOWN
    link = Path(os.path.relpath(shown.resolve(), page_folder.resolve())).as_posix() if shown.is_file() else ""
    return {
        "folder": hit.folder,
        "file": hit.fields["file"],
        "picture": base64.b64encode(small_picture(folder / PICTURE)).decode("ascii"),
        "link": quote(link if ":" not in link else f"./{link}"),
        "title_block": wording.title_block(hit),
        "found": wording.found_on(hit),
    }


def small_picture(path: Path) -> bytes:
    """A picture shrunk, as JPEG; empty where there is none."""
    try:
        data = np.frombuffer(path.read_bytes(), dtype=np.uint8)
    except OSError:
        return b""
    picture = cv2.imdecode(data, cv2.IMREAD_GRAYSCALE) if data.size else None
    if picture is None:
        return b""
    small, _factor = bounded(np.asarray(picture, dtype=np.uint8), SMALL_PX)
    return encode_jpeg(small, JPEG_QUALITY)
