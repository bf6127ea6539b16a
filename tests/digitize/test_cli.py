"""Bad input gets one clear sentence, exit code 2, and nothing half written."""

import re
import struct
import zlib
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import img2pdf
import numpy as np
import pikepdf
import pytest
from PIL import Image, ImageDraw, ImageFont
from typer.testing import CliRunner

from calibrate.__main__ import app as calibrate_app
from digitize.cli import app

runner = CliRunner()


def png(path: Path, pixels: np.ndarray) -> Path:
    Image.fromarray(pixels).save(path)
    return path


def zero_bytes(folder: Path) -> Path:
    path = folder / "zero.png"
    path.write_bytes(b"")
    return path


def truncated(folder: Path) -> Path:
    whole = png(folder / "whole.png", np.random.default_rng(0).integers(0, 255, (300, 300), dtype=np.uint8))
    path = folder / "truncated.png"
    path.write_bytes(whole.read_bytes()[:5000])
    return path


def wrong_type(folder: Path) -> Path:
    path = folder / "notes.png"
    path.write_text("These are the minutes of the museum's committee.\n" * 40)
    return path


def locked(folder: Path) -> Path:
    scan = png(folder / "scan.png", np.full((400, 400), 240, dtype=np.uint8))
    plain = folder / "plain.pdf"
    plain.write_bytes(img2pdf.convert(str(scan)))
    path = folder / "locked.pdf"
    with pikepdf.open(plain) as pdf:
        pdf.save(path, encryption=pikepdf.Encryption(user="secret", owner="secret"))
    return path


def blank(folder: Path) -> Path:
    rng = np.random.default_rng(1)
    return png(folder / "blank.png", (245 + rng.normal(0, 2, (1700, 1200))).clip(0, 255).astype(np.uint8))


def text_page(folder: Path) -> Path:
    page = Image.new("L", (1700, 2200), 250)
    pen = ImageDraw.Draw(page)
    font = ImageFont.load_default(34)
    words = ["the", "mill", "beside", "beck", "was", "built", "in", "year", "of", "flood", "worked", "until", "wheel"]
    rng = np.random.default_rng(2)
    for y in range(150, 2050, 50):
        pen.text((150, y), " ".join(rng.choice(words, 14)), fill=20, font=font)
    path = folder / "text.png"
    page.save(path)
    return path


def photograph(folder: Path) -> Path:
    y, x = np.mgrid[0:900, 0:1200] / 100.0
    tone = 120 + 60 * np.sin(x) * np.cos(0.7 * y) + 30 * np.sin(3.1 * x + y) + 15 * np.cos(5 * y - 2 * x)
    return png(folder / "photograph.png", tone.clip(0, 255).astype(np.uint8))


def noise(folder: Path) -> Path:
    return png(folder / "noise.png", np.random.default_rng(3).integers(0, 256, (1000, 1000), dtype=np.uint8))


def billion_pixels(folder: Path) -> Path:
    """A PNG whose header claims 40,000 by 30,000 pixels."""
    header = struct.pack(">IIBBBBB", 40_000, 30_000, 8, 0, 0, 0, 0)
    chunk = b"IHDR" + header
    path = folder / "enormous.png"
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n" + struct.pack(">I", len(header)) + chunk + struct.pack(">I", zlib.crc32(chunk)) + bytes(64)
    )
    return path


BAD = (
    zero_bytes,
    truncated,
    wrong_type,
    locked,
    blank,
    text_page,
    photograph,
    noise,
    billion_pixels,
)


@pytest.mark.parametrize("make", BAD, ids=lambda make: make.__name__)
def test_bad_input_is_one_sentence_and_code_2(make: Callable[[Path], Path], tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = runner.invoke(app, ["sheet", str(make(tmp_path)), "--out", str(out)])
    assert result.exit_code == 2
    said = result.stderr.strip()
    assert len(said.splitlines()) == 1
    assert "Traceback" not in said
    assert len(said) > 30
    assert said.endswith(".")
    assert not out.exists() or not any(out.iterdir())


@pytest.mark.parametrize("make", [zero_bytes, blank, locked], ids=lambda make: make.__name__)
def test_calibrate_says_the_same(make: Callable[[Path], Path], tmp_path: Path) -> None:
    result = runner.invoke(calibrate_app, [str(make(tmp_path)), "--out", str(tmp_path / "out")])
    assert result.exit_code == 2
    assert len(result.stderr.strip().splitlines()) == 1


def test_a_missing_file_is_said_to_be_missing(tmp_path: Path) -> None:
    result = runner.invoke(app, ["sheet", str(tmp_path / "nothing.tif")])
    assert result.exit_code == 2
    assert "nothing.tif" in result.stderr


def test_unknown_units_are_refused(tmp_path: Path) -> None:
    result = runner.invoke(app, ["sheet", str(blank(tmp_path)), "--units", "furlongs"])
    assert result.exit_code == 2
    assert "in or mm" in result.stderr


@pytest.mark.parametrize("words", [["7.5", "1,2", "300,2"], ["7.5in", "1,2"], ["7.5in 1,2"]])
def test_a_known_length_that_is_none_is_told_before_the_print_is_read(tmp_path: Path, words: list[str]) -> None:
    result = runner.invoke(app, ["sheet", str(tmp_path / "none.png"), "--known", *words])
    assert result.exit_code == 2
    assert words[0].split()[0] in result.stderr


@pytest.mark.parametrize("typed", [["--tooth-form", "round"], ["--whole-depth", "6.75"], ["--span", "5"]])
def test_what_can_not_be_meant_of_a_gears_teeth_is_refused(tmp_path: Path, typed: list[str]) -> None:
    result = runner.invoke(app, ["sheet", str(blank(tmp_path)), *typed])
    assert result.exit_code == 2
    assert typed[1] in result.stderr
    assert result.stderr.count("\n") == 1


def test_gear_desk_ranks_systems_as_json() -> None:
    result = runner.invoke(app, ["gear", "--teeth", "42", "--outside-diameter", "5.5in", "--json"])
    assert result.exit_code == 0
    assert '"diametral_pitch"' in result.stdout


def test_help_says_what_the_states_mean() -> None:
    result = runner.invoke(app, ["sheet", "--help"])
    assert result.exit_code == 0
    for word in ("agreed", "unproven", "disputed", "unread"):
        assert word in result.stdout


@pytest.mark.parametrize("command", ["sheet", "batch", "archive", "review"])
def test_paragraphs_of_the_help_fill_the_lines_of_any_terminal(command: str) -> None:
    width = 90
    shown = runner.invoke(app, [command, "--help"], env={"COLUMNS": str(width)}).stdout.split("╭")[0]
    paragraphs = [part.strip().splitlines() for part in re.split(r"\n\s*\n", shown)]
    for lines in paragraphs:
        for line, after in pairwise(lines):
            assert len(line.strip()) + len(after.split()[0]) + 1 > width - 4
