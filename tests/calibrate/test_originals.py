"""Every polarity, colour and kind of file that old originals come in, through the command ``calibrate``."""

import json

import numpy as np
import pytest
import tifffile
from PIL import Image
from typer.testing import CliRunner

from calibrate.__main__ import app
from tests.calibrate import drawn

SKEW_DEG = 1.2
GRAIN = 0.3
DARK, LIGHT = "dark_on_light", "light_on_dark"
TONES = {
    # paper, ink, polarity
    "sepia": ((226, 205, 166), (74, 50, 34), DARK),
    "blueprint": ((38, 70, 128), (214, 226, 240), LIGHT),
    "brownprint": ((70, 44, 30), (226, 212, 190), LIGHT),
    "dye line": ((232, 226, 224), (92, 60, 122), DARK),
    "pencil": ((238, 236, 228), (120, 120, 124), DARK),
}


def toned(name):
    paper, ink, _ = (np.array(each) for each in TONES[name])
    cover = 1 - drawn.sheet(SKEW_DEG).astype(float)[..., None] / 255
    return np.rint(paper * (1 - cover) + ink * cover).astype(np.uint8)


def save_toned(path, name):
    Image.fromarray(drawn.noisy(toned(name), 3)).save(path)


def save_sixteen_bit(path):
    """A scanner of 12 bits in 16: paper at 3900, ink at 300."""
    tifffile.imwrite(path, (300 + drawn.sheet(SKEW_DEG).astype(float) / 255 * 3600).astype(np.uint16) * 16)


def save_one_bit(path):
    Image.fromarray(drawn.sheet(SKEW_DEG)).convert("1", dither=Image.Dither.NONE).save(path, compression="group4")


def save_jpeg_2000(path):
    Image.fromarray(drawn.noisy(drawn.sheet(SKEW_DEG), 4)).save(path)


def save_microfilm(path):
    """A negative frame: clear lines on dense film, denser to its edges."""
    y, x = np.mgrid[-1 : 1 : drawn.HEIGHT * 1j, -1 : 1 : drawn.WIDTH * 1j]
    film = (255 - drawn.sheet(SKEW_DEG)).astype(float) * 0.7 + 40
    Image.fromarray(drawn.noisy(np.rint(film * (1 - 0.2 * (x**2 + y**2) / 2)).astype(np.uint8), 5)).save(path)


FILES = {
    "sixteen.tif": (save_sixteen_bit, DARK),
    "bits.tif": (save_one_bit, DARK),
    "print.jp2": (save_jpeg_2000, DARK),
    "film.png": (save_microfilm, LIGHT),
    **{
        f"{name.replace(' ', '-')}.png": (lambda path, name=name: save_toned(path, name), TONES[name][2])
        for name in TONES
    },
}


@pytest.mark.parametrize("name", FILES)
def test_it_comes_out_level_with_dark_lines_on_light(name, tmp_path):
    save, polarity = FILES[name]
    save(tmp_path / name)
    before = (tmp_path / name).read_bytes()
    result = CliRunner().invoke(app, [str(tmp_path / name), "--out", str(tmp_path / "out")])
    assert result.exit_code == 0, result.output
    record = json.loads((tmp_path / "out" / "sheet.json").read_text(encoding="utf-8"))
    assert record["polarity"] == polarity
    assert record["orientation_deg"] == 0
    assert record["skew_deg"] == pytest.approx(SKEW_DEG, abs=0.01)
    level = tifffile.imread(tmp_path / "out" / "level.tif")
    assert np.median(level) > 240
    darkness, drawn_darkness = (255.0 - level) / 255, (245.0 - drawn.sheet(SKEW_DEG)) / 215
    assert darkness[darkness > GRAIN].sum() == pytest.approx(drawn_darkness.sum(), rel=0.1)
    assert (tmp_path / name).read_bytes() == before
