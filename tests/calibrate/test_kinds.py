"""Whatever a scanner or a microfilm reader yields, through the command: the same sheet comes out of each."""

import io
import json
import resource
from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import imagecodecs
import img2pdf
import numpy as np
import pytest
import tifffile
from PIL import Image
from typer.testing import CliRunner

from calibrate.__main__ import app
from calibrate.files.load import load_page
from tests.calibrate import drawn

SKEW_DEG, DPI = 0.8, 200
SHEET = drawn.sheet(SKEW_DEG)
INK = SHEET < 140


def calibrated(path: Path) -> list[dict[str, Any]]:
    """The record of each page."""
    out = path.parent / "out"
    answer = CliRunner().invoke(app, [str(path), "--out", str(out), "--quiet"])
    assert (answer.exit_code, answer.output) == (0, "")
    return [json.loads(each.read_text(encoding="utf-8")) for each in sorted(out.rglob("sheet.json"))]


def tiff(path: Path, samples: np.ndarray, **options: Any) -> None:
    photometric = options.pop("photometric", "minisblack")
    tifffile.imwrite(path, samples, photometric=photometric, metadata=None, resolution=(DPI, DPI), **options)


def fax(path: Path, *pages: np.ndarray) -> None:
    """One-bit pages in CCITT group 4, written by libtiff."""
    images = [Image.fromarray(page) for page in pages]
    images[0].save(path, save_all=True, append_images=images[1:], compression="group4", dpi=(DPI, DPI))


def jpeg_2000(path: Path) -> None:
    Image.fromarray(SHEET).save(path, tile_size=(256, 256), irreversible=False)


def scans_in_a_pdf(path: Path) -> None:
    stream = io.BytesIO()
    Image.fromarray(SHEET).save(stream, "PNG", dpi=(DPI, DPI))
    path.write_bytes(img2pdf.convert([stream.getvalue()] * 2))


def packed(bits: int) -> np.ndarray:
    """The sheet in so many bits a sample."""
    return (SHEET.astype(np.uint32) * (2**bits - 1) // 255).astype(np.uint8 if bits <= 8 else np.uint16)


SIXTEEN = SHEET.astype(np.uint16) * 257
KINDS: dict[str, Callable[[Path], None]] = {
    "1 bit.tif": lambda path: fax(path, ~INK),
    "pages.tif": lambda path: fax(path, ~INK, ~INK, ~INK),
    "2 bit.tif": lambda path: tiff(path, packed(2), bitspersample=2),
    "4 bit.tif": lambda path: tiff(path, packed(4), bitspersample=4),
    "8 bit.tif": lambda path: tiff(path, SHEET, compression="packbits"),
    "10 in 16 bit.tif": lambda path: tiff(path, packed(10)),
    "12 in 16 bit.tif": lambda path: tiff(path, packed(12)),
    "16 bit.tif": lambda path: tiff(path, SIXTEEN, compression="deflate", predictor=2),
    "tiles.tif": lambda path: tiff(path, SHEET, tile=(256, 256), compression="jpeg"),
    "16 bit tiles.tif": lambda path: tiff(path, SIXTEEN, tile=(128, 256), compression="lzw"),
    "colour tiles.tif": lambda path: tiff(
        path, np.dstack([SHEET] * 3), tile=(256, 256), compression="jpeg2000", photometric="rgb"
    ),
    "big.tif": lambda path: tiff(path, SHEET, bigtiff=True, byteorder=">"),
    "scan.jp2": jpeg_2000,
    "16 bit.jp2": lambda path: path.write_bytes(imagecodecs.jpeg2k_encode(SIXTEEN, reversible=True)),
    "scan.png": lambda path: Image.fromarray(SIXTEEN).save(path),
    "pages.pdf": scans_in_a_pdf,
}


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_sheet_comes_out_of_every_kind(tmp_path: Path, kind: str) -> None:
    KINDS[kind](tmp_path / kind)
    records = calibrated(tmp_path / kind)
    assert len(records) == (3 if kind == "pages.tif" else 2 if kind == "pages.pdf" else 1)
    for record in records:
        assert record["image_size_px"] == [drawn.WIDTH, drawn.HEIGHT]
        assert record["polarity"] == "dark_on_light"
        assert record["skew_deg"] == pytest.approx(SKEW_DEG, abs=0.02)
        assert record["level_size_px"] == records[0]["level_size_px"]


@pytest.mark.parametrize("negative", [False, True])
def test_a_frame_of_microfilm_positive_or_negative(tmp_path: Path, negative: bool) -> None:
    """The reader's picture is the whole frame: the print, and round it the bare film, clear or black."""
    frame = np.pad(~INK, 70, constant_values=False)
    fax(tmp_path / "frame.tif", ~frame if negative else frame)
    (record,) = calibrated(tmp_path / "frame.tif")
    assert record["polarity"] == ("light_on_dark" if negative else "dark_on_light")
    assert record["skew_deg"] == pytest.approx(SKEW_DEG, abs=0.02)


@pytest.mark.parametrize("negative", [False, True])
def test_a_whole_aperture_card_is_brought_level_or_refused_in_words(tmp_path: Path, negative: bool) -> None:
    """A card scanned with its film: 187 by 83 mm, the window 48 by 35 mm (from memory of the standard card)."""
    height, width = 1660, 3740
    card = np.full((height, width), 215, np.uint8)
    cv2.putText(card, "HM-204  LAYSHAFT  SHEET 1 OF 2", (90, 90), cv2.FONT_HERSHEY_SIMPLEX, 2, 40, 4, cv2.LINE_AA)
    film = cv2.resize(255 - SHEET if negative else SHEET, (900, 640), interpolation=cv2.INTER_AREA)
    card[500:1200, 2300:3260] = 235 if negative else 25
    card[530:1170, 2330:3230] = film
    Image.fromarray(card).save(tmp_path / "card.tif", compression="jpeg", dpi=(508, 508))
    answer = CliRunner().invoke(app, [str(tmp_path / "card.tif"), "--out", str(tmp_path / "out"), "--quiet"])
    if answer.exit_code == 0:
        assert (tmp_path / "out" / "sheet.json").exists()
    else:
        assert answer.exit_code == 2
        assert len(answer.stderr.splitlines()) == 1
        assert list((tmp_path / "out").rglob("*")) == []


@pytest.mark.parametrize("kind", ["tif", "pdf"])
def test_memory_does_not_grow_with_the_pages(tmp_path: Path, kind: str) -> None:
    pages, large = 40, cv2.resize(SHEET, None, fx=1.3, fy=1.3, interpolation=cv2.INTER_AREA)
    path = tmp_path / f"book.{kind}"
    with tifffile.TiffWriter(tmp_path / "book.tif") as writer:
        for _ in range(pages):
            writer.write(large, photometric="minisblack", compression="deflate", resolution=(DPI, DPI))
    if kind == "pdf":
        path.write_bytes(img2pdf.convert(str(tmp_path / "book.tif")))
    held = []
    for page in range(1, pages + 1):
        assert load_page(path, page).pixels.shape[:2] == large.shape
        held.append(int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize())
    assert max(held) - max(held[:8]) < 8 * large.nbytes
