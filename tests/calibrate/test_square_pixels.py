"""A fax's pixels are twice as high as wide; its page is seen as the sheet looks."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from calibrate.files.load import load_page
from calibrate.level import calibrate_sheet
from tests.calibrate import drawn

FAX_DPI = (204, 98)
"""Lines an inch along and across a row (ITU-T T.4, from memory)."""


def faxed(path: Path, dpi: tuple[int, int] = FAX_DPI, *, upright: bool = True) -> np.ndarray:
    """A drawn sheet of one bit with fewer rows than columns to the inch, or the other way; the sheet as it looks."""
    sheet = drawn.sheet(0.5)
    height, width = sheet.shape
    side = (width, round(height * dpi[1] / dpi[0])) if upright else (round(width * dpi[1] / dpi[0]), height)
    bits = cv2.resize(sheet, side, interpolation=cv2.INTER_AREA) > 150
    Image.fromarray(bits).save(path, dpi=dpi if upright else dpi[::-1])
    return sheet


@pytest.mark.parametrize("upright", [True, False])
def test_a_fax_gets_square_pixels_and_stays_of_one_bit(tmp_path: Path, upright: bool) -> None:
    sheet = faxed(tmp_path / "fax.tif", upright=upright)
    page = load_page(tmp_path / "fax.tif")
    assert np.abs(np.subtract(page.pixels.shape, sheet.shape)).max() <= 1
    assert page.one_bit
    assert (page.resolution.x_dpi, page.resolution.y_dpi) == (FAX_DPI[0], FAX_DPI[0])
    assert "square pixels" in page.resolution.note
    assert calibrate_sheet(tmp_path / "fax.tif").skew_deg == pytest.approx(0.5, abs=0.02)


@pytest.mark.parametrize("dpi", [(204, 196), (300, 300), (1000, 10)])
def test_what_is_nearly_square_or_stated_wrongly_is_left(tmp_path: Path, dpi: tuple[int, int]) -> None:
    Image.fromarray(drawn.sheet(0.5)).save(tmp_path / "scan.tif", dpi=dpi)
    page = load_page(tmp_path / "scan.tif")
    assert page.pixels.shape == drawn.sheet(0.5).shape
    assert (page.resolution.x_dpi, page.resolution.y_dpi) == pytest.approx(dpi)
