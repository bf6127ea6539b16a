import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from typer.testing import CliRunner

from calibrate.__main__ import app
from calibrate.errors import InputError
from calibrate.level import calibrate_sheet
from calibrate.scaling.known import parse_known, with_known
from calibrate.sheet import KnownOf, ResolutionStatus, apply_homography
from tests.calibrate import drawn

SKEW_DEG = 1.2
ACROSS = ((250.0, 250.0), (800.0, 250.0))
UP = ((800.0, 250.0), (800.0, 600.0))
TRUE_MM_PER_PX = 25.4 / drawn.DPI


def seen(ends):
    """Where the ends of a drawn line lie on the turned picture."""
    return apply_homography(drawn.turning(SKEW_DEG), np.array(ends))


def option(length, ends):
    return [length, *(f"{x:.2f},{y:.2f}" for x, y in seen(ends))]


def known(length, ends):
    return parse_known(" ".join(option(length, ends)))


@pytest.fixture(scope="module")
def print_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("known") / "flange.png"
    Image.fromarray(drawn.sheet(SKEW_DEG)).save(path)
    return path


@pytest.fixture(scope="module")
def level_sheet(print_file):
    return calibrate_sheet(print_file)


def test_a_length_of_the_part_gives_its_scale(level_sheet):
    # 550 px are 7.5 in of the part: arithmetic.
    scale = with_known(level_sheet, [known("7.5in", ACROSS)]).known
    assert scale.mm_per_px[0] == pytest.approx(7.5 * 25.4 / 550, rel=1e-4)
    assert 0.001 < scale.std[0] / scale.mm_per_px[0] < 0.005
    assert scale.std[1] > 2 * scale.std[0]


def test_a_length_of_the_part_says_nothing_of_the_paper(level_sheet):
    assert with_known(level_sheet, [known("7.5in", ACROSS)]).resolution == level_sheet.resolution


def test_a_length_of_the_paper_gives_the_resolution(level_sheet):
    measured = f"{550 * TRUE_MM_PER_PX:.2f}mm"
    sheet = with_known(level_sheet, [known(measured, ACROSS)], KnownOf.PAPER)
    assert sheet.resolution.status is ResolutionStatus.DERIVED
    assert sheet.resolution.x_dpi == pytest.approx(drawn.DPI, rel=3e-4)
    assert sheet.paper_mm_per_px == pytest.approx(TRUE_MM_PER_PX, rel=3e-4)


def test_lengths_on_both_axes_find_a_stretch(level_sheet):
    # One axis stretched by 1 %: paper shrinks by as much.
    lengths = [known("200mm", ACROSS), known(f"{200 * 350 / 550 * 1.01:.4f}mm", UP)]
    scale = with_known(level_sheet, lengths).known
    (x, y), (x_std, y_std) = scale.mm_per_px, scale.std
    assert 1.003 < y / x < 1.012
    assert abs(x - 200 / 550) < 2 * x_std
    assert abs(y - 200 / 550 * 1.01) < 2 * y_std


def test_a_tolerance_widens_the_error(level_sheet):
    exact, rough = (with_known(level_sheet, [known(text, ACROSS)]).known for text in ("200mm", "200±4mm"))
    assert rough.std[0] == pytest.approx(0.01 * rough.mm_per_px[0], rel=0.1)
    assert exact.std[0] < rough.std[0] / 3


@pytest.mark.parametrize(("first", "second"), [("7.5in", "7.5mm"), ("200mm", "206mm")])
def test_lengths_that_contradict_each_other_are_told(level_sheet, first, second):
    with pytest.raises(InputError, match="contradict each other"):
        with_known(level_sheet, [known(first, ACROSS), known(second, ACROSS)])


def test_a_resolution_that_a_length_of_the_paper_contradicts_is_told(print_file, tmp_path):
    with Image.open(print_file) as image:
        image.save(tmp_path / "a.png", dpi=(240, 240))
    sheet = with_known(calibrate_sheet(tmp_path / "a.png"), [known("69.85mm", ACROSS)], KnownOf.PAPER)
    assert any("not 240 x 240 as the file states" in warning for warning in sheet.warnings)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("7.5in 1,2", "not understood"),
        ("7.5in 1,2 3", "not understood"),
        ("7.5 10,20 300,40", "no unit"),
        ("wide 10,20 300,40", "is no length"),
    ],
)
def test_what_is_not_understood_is_told(text, reason):
    with pytest.raises(InputError, match=reason):
        parse_known(text)


@pytest.mark.parametrize(
    ("text", "reason"), [("9in 10,10 1500,10", "outside the picture"), ("9in 10,10 12,10", "2 pixels apart")]
)
def test_points_that_can_not_be_used_are_told(level_sheet, text, reason):
    with pytest.raises(InputError, match=reason):
        with_known(level_sheet, [parse_known(text)])


@settings(max_examples=60)
@given(st.floats(0, 360), st.floats(150, 400), st.integers(0, 2**32 - 1))
def test_the_error_covers_pointing_and_drawing(level_sheet, direction_deg, length_px, seed):
    """At five standard errors: one failure in two million draws."""
    rng = np.random.default_rng(seed)
    along = np.array([np.cos(np.radians(direction_deg)), np.sin(np.radians(direction_deg))])
    ends = np.array([700.0, 500.0]) + length_px / 2 * np.array([-along, along])
    drawn_px = length_px + rng.normal(0, 0.12) / level_sheet.paper_mm_per_px
    pointed = seen(ends) + rng.normal(0, 1, (2, 2))
    words = " ".join(f"{x},{y}" for x, y in pointed)
    scale = with_known(level_sheet, [parse_known(f"{drawn_px * 0.5:.6f}mm {words}")]).known
    for value, std in zip(scale.mm_per_px, scale.std, strict=True):
        assert abs(value - 0.5) < 5 * std


def test_the_command_takes_known_lengths(print_file, tmp_path):
    arguments = ["--known", *option("7.5in", ACROSS), "--known", *option("121.2273mm", UP), "--out", str(tmp_path)]
    result = CliRunner().invoke(app, [str(print_file), *arguments])
    assert result.exit_code == 0, result.stderr
    assert "mm of the part a pixel (95 %); from 7.5in, 121.2273mm of the part" in result.stdout
    scale = json.loads((tmp_path / "sheet.json").read_text())["scale"]
    assert scale["part_mm_per_px"] == pytest.approx([7.5 * 25.4 / 550] * 2, rel=1e-3)
    assert scale["known_lengths"] == 2


def test_the_command_tells_a_bad_known_length_before_it_reads_the_print(tmp_path):
    result = CliRunner().invoke(app, [str(tmp_path / "none.png"), "--known", "7.5", "1,2", "300,4"])
    assert result.exit_code == 2
    assert "no unit" in result.stderr
