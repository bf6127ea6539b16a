"""Facts of scan resolution: scan_resolution.csv, derived from an inch of 25.4 mm (see its source column)."""

import csv
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from calibrate.files.resolution import paper_mm_per_px, stated
from calibrate.level import calibrate_sheet
from tests.calibrate import drawn

FACTS = Path(__file__).with_name("scan_resolution.csv")
ROWS = list(csv.DictReader(FACTS.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['dpi']} dpi at {row['scale_drawn_over_real']}")
def test_a_pixel_is_as_large_as_the_table_says(row):
    dpi, scale = float(row["dpi"]), float(Fraction(row["scale_drawn_over_real"]))
    pixel_mm = paper_mm_per_px(stated(dpi, dpi, "TIFF tags"), 3.0)
    assert pixel_mm == pytest.approx(float(row["pixel_mm"]), abs=5e-5)
    assert pixel_mm / scale == pytest.approx(float(row["real_mm_per_pixel"]), abs=5e-5)
    assert pixel_mm / scale / 25.4 == pytest.approx(float(row["real_in_per_pixel"]), abs=5e-6)
    assert np.hypot(0.5, 0.5) * pixel_mm / scale == pytest.approx(
        float(row["real_mm_sd_two_edges_half_pixel"]), abs=5e-5
    )


@pytest.mark.parametrize("dpi", [150, 300, 600])
@pytest.mark.parametrize("kind", ["tif", "png"])
def test_the_level_picture_has_the_pixel_of_the_table(dpi, kind, tmp_path):
    """The whole road: stated in the file, found in the level sheet."""
    path = tmp_path / f"sheet.{kind}"
    if kind == "tif":
        tifffile.imwrite(path, _at(dpi), resolution=(dpi, dpi), resolutionunit="INCH")
    else:
        Image.fromarray(_at(dpi)).save(path, dpi=(dpi, dpi))
    pixel_mm = next(float(row["pixel_mm"]) for row in ROWS if row["dpi"] == str(dpi))
    assert calibrate_sheet(path).paper_mm_per_px == pytest.approx(pixel_mm, abs=6e-5)


def _at(dpi):
    """The drawn sheet, enlarged to so many pixels an inch."""
    image = Image.fromarray(drawn.sheet())
    return np.asarray(image.resize((round(drawn.WIDTH * dpi / drawn.DPI), round(drawn.HEIGHT * dpi / drawn.DPI))))
