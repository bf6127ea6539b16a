"""Squared paper: its ruling is found where it lies, and taken off; no drawing is taken for one."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from calibrate.files.load import load_page
from calibrate.restoring.restore import restore
from calibrate.restoring.ruling import find_ruling
from calibrate.restoring.squares import without_squares
from calibrate.sheet import Restored
from calibrate.straightening.straighten import SQUARES_LEFT, SQUARES_OFF, straighten
from samples.compose import finished
from samples.damage import SQUARES_MM, damaged
from tests.bench.damage import ORIGINALS, Original, kept, sound_scan
from tests.calibrate.test_straighten import page_of

SHEETS = Path(__file__).parents[2] / "samples" / "sheets"


def ruled(space_px: float, skew_deg: float, dark: float, shape: tuple[int, int] = (900, 1300)) -> np.ndarray:
    """Bare paper with upright lines, each a blurred stroke, askew."""
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]]
    across = x * np.cos(np.radians(skew_deg)) + y * np.sin(np.radians(skew_deg))
    off = across - space_px * np.rint(across / space_px)
    noise = np.random.default_rng(0).normal(0, 3, shape)
    return np.clip(255 * (1 - dark * np.exp(-0.5 * (off / 0.9) ** 2)) + noise, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("space_px", [11.81, 15.75, 30.0, 59.06])
@pytest.mark.parametrize("skew_deg", [-1.5, 0.0, 0.8])
def test_lines_are_found_where_they_lie(space_px: float, skew_deg: float) -> None:
    ruling = find_ruling(ruled(space_px, skew_deg, 0.25), upright=True)
    assert ruling is not None
    cosine, sine = np.cos(np.radians(skew_deg)), np.sin(np.radians(skew_deg))
    number, y = np.meshgrid(np.arange(4, 1200 // space_px), np.linspace(100, 800, 9))
    on_line = np.stack([(number * space_px - y * sine) / cosine, y], axis=-1)
    assert np.abs(ruling.nearest(on_line)[1]).max() < 0.4
    assert ruling.mean_space_px((900, 1300)) == pytest.approx(space_px / cosine, rel=5e-4)


def restored_with_and_without(seed: int, original: Original) -> tuple[Restored, Restored]:
    drawing = finished("clean", seed, None, "none")
    sound = sound_scan(drawing, seed, original)
    scans = [kept(scan, original) for scan in (sound, damaged("squares", seed, drawing, sound))]
    bare, squared = (restore(page_of(scan.picture)) for scan in scans)
    return bare, squared


@pytest.mark.parametrize(("seed", "tone"), [(114011, "white print"), (114016, "blueprint"), (114017, "sepia")])
def test_the_ruling_goes_and_the_drawing_stays(seed: int, tone: str) -> None:
    bare, squared = restored_with_and_without(seed, ORIGINALS[tone])
    assert bare.squares is None
    assert squared.squares is not None
    assert squared.squares.taken_off
    assert squared.squares.width_px == pytest.approx(squared.squares.height_px, rel=2e-3)
    drawn = np.count_nonzero(bare.ink)
    assert np.count_nonzero(squared.ink & ~bare.ink) < 0.02 * drawn
    assert np.count_nonzero(bare.ink & ~squared.ink) < 0.02 * drawn
    assert squared.pen_px == pytest.approx(bare.pen_px, rel=0.05)


def test_squares_of_a_scan_of_one_bit_stay_and_are_told() -> None:
    """What the scanner made black is as black as the drawing."""
    drawing = finished("clean", 114011, None, "none")
    sound = sound_scan(drawing, 114011, ORIGINALS["white print"])
    squared = damaged("squares", 114011, drawing, sound)
    page = page_of(np.where(squared.picture < 225, np.uint8(0), np.uint8(255)))
    seen = restore(page)
    assert seen.squares is not None
    assert not seen.squares.taken_off
    assert SQUARES_LEFT in straighten(page, seen).warnings


def test_what_was_taken_off_is_told_with_what_it_measures() -> None:
    drawing = finished("clean", 114011, None, "none")
    squared = damaged("squares", 114011, drawing, sound_scan(drawing, 114011, ORIGINALS["white print"]))
    page = page_of(squared.picture)
    dpi = squared.exposure.dpi_true
    page = replace(page, resolution=replace(page.resolution, x_dpi=dpi, y_dpi=dpi))
    sheet = straighten(page, restore(page))
    assert SQUARES_OFF in sheet.warnings
    (told,) = [line for line in sheet.evidence if "squares" in line]
    sides_mm = [float(side) for side in re.findall(r"\d+\.\d+", told)]
    assert sides_mm == pytest.approx([min(SQUARES_MM, key=lambda side: abs(side - sides_mm[0]))] * 2, abs=0.011)


@pytest.mark.parametrize("path", sorted(SHEETS.glob("*.png")), ids=lambda path: path.stem)
def test_no_drawing_is_taken_for_squared_paper(path: Path) -> None:
    assert restore(load_page(path, 1)).squares is None


def test_bare_or_tiny_pictures_and_a_ruling_of_one_direction_are_left_as_they_are() -> None:
    lined = ruled(30.0, 0.0, 0.3)
    for picture in (np.full((400, 600), 255, np.uint8), np.full((8, 8), 255, np.uint8), lined):
        freed, squares = without_squares(picture)
        assert squares is None
        assert freed is picture
