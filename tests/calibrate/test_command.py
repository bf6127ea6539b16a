import json
import re
from fractions import Fraction

import numpy as np
import pytest
import tifffile
from PIL import Image
from typer.testing import CliRunner

import calibrate
from calibrate.__main__ import app
from calibrate.record import write_whole
from calibrate.scaling.known import parse_known
from calibrate.sheet import apply_homography
from tests.calibrate import drawn

KEYS = {"source", "sha256", "page", "image_size_px", "polarity", "orientation_deg", "skew_deg", "mm_per_px", "warnings"}


@pytest.fixture
def print_file(tmp_path):
    Image.fromarray(drawn.sheet(1.2)).save(tmp_path / "flange.png", dpi=(200, 200))
    return tmp_path / "flange.png"


def run(*arguments):
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def test_it_writes_the_level_picture_and_its_record(print_file, tmp_path):
    result = run(print_file, "--out", tmp_path / "out")
    assert result.exit_code == 0
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["level.tif", "sheet.json"]
    record = json.loads((tmp_path / "out" / "sheet.json").read_text(encoding="utf-8"))
    assert record.keys() >= KEYS
    assert record["image_size_px"] == [drawn.WIDTH, drawn.HEIGHT]
    assert record["skew_deg"] == pytest.approx(1.2, abs=0.004)
    assert record["mm_per_px"] == pytest.approx([25.4 / 200] * 2, rel=1e-3)
    with tifffile.TiffFile(tmp_path / "out" / "level.tif") as tiff:
        level, tags = tiff.asarray(), tiff.pages[0].tags
        assert tags["XResolution"].value[0] / tags["XResolution"].value[1] == pytest.approx(200, rel=1e-3)
    assert list(level.shape[::-1]) == record["level_size_px"]
    top = apply_homography(
        np.array(record["level_from_source"]), apply_homography(drawn.turning(1.2), np.array([[700.0, 60]]))
    )
    x, y = np.round(top[0]).astype(int)
    assert level[y, x] < 60
    assert level[y + 12, x] > 200


def test_the_same_print_gives_the_same_bytes(print_file, tmp_path):
    for name in ("a", "b"):
        assert run(print_file, "--out", tmp_path / name, "--quiet").output == ""
    for name in ("level.tif", "sheet.json"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_the_help_says_what_is_written_and_how_a_length_is_given():
    words = re.sub(r"[│\s]+", " ", run("--help").output)
    assert "level.tif" in words
    assert "sheet.json" in words
    example = re.search(r"such as (\S+ \S+,\S+ \S+,\S+): x to the right", words)
    assert example
    assert parse_known(example[1]).length.value_mm == Fraction("190.5")


GIVE_ONE = "; give a length that you know with --known"


@pytest.mark.parametrize(
    ("dpi", "said"),
    [
        (None, "not known; the file states a pixel shape but no resolution" + GIVE_ONE),
        (1, "not known; the file states 1 dpi, which programs write when they know nothing; not believed" + GIVE_ONE),
        (72, "not known; the file states 72 dpi, which programs write when they know nothing; not believed" + GIVE_ONE),
        (10_000, "not known; the file states 10000 dpi, which no scanner of drawings uses; not believed" + GIVE_ONE),
        (
            200,
            "0.1270 mm of paper a pixel; stated by the file (TIFF tags), not borne out by anything on the sheet:"
            " even good scans are off by 1 to 3 %",
        ),
    ],
)
def test_it_prints_what_it_found_and_how_sure_it_is(dpi, said, tmp_path):
    options = {} if dpi is None else {"resolution": (dpi, dpi), "resolutionunit": "INCH"}
    tifffile.imwrite(tmp_path / "flange.tif", drawn.blueprint(drawn.sheet(1.2)), photometric="rgb", **options)
    lines = run(tmp_path / "flange.tif", "--out", tmp_path / "out").output.splitlines()
    assert lines[0] == "flange.tif, page 1 of 1: light lines on dark paper"
    assert re.fullmatch(r"  turned by 0 deg, skew \+1\.\d{3} deg, good to 0\.00\d deg \(95 %\)", lines[1])
    assert lines[2] == f"  scale {said}"
    assert lines[-1] == f"  written to {tmp_path / 'out'}"


def test_no_resolution_is_written_where_none_is_known(print_file, tmp_path):
    Image.fromarray(drawn.sheet()).save(print_file)
    run(print_file, "--out", tmp_path / "out")
    assert json.loads((tmp_path / "out" / "sheet.json").read_text())["mm_per_px"] is None
    with tifffile.TiffFile(tmp_path / "out" / "level.tif") as tiff:
        assert tiff.pages[0].tags["ResolutionUnit"].value == 1


def test_every_page_gets_its_folder(tmp_path):
    tifffile.imwrite(tmp_path / "two.tif", np.stack([drawn.sheet(), drawn.sheet(0.5)]), photometric="minisblack")
    assert run(tmp_path / "two.tif", "--out", tmp_path / "out").exit_code == 0
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["p001", "p002"]
    assert run(tmp_path / "two.tif", "--page", 2, "--out", tmp_path / "one").exit_code == 0
    assert (tmp_path / "one" / "sheet.json").exists()


@pytest.mark.parametrize("case", ["missing", "blank", "page", "empty"])
def test_bad_input_is_one_sentence_and_leaves_nothing(case, print_file, tmp_path):
    blank, empty = tmp_path / "blank.png", tmp_path / "empty.png"
    Image.fromarray(np.full((400, 400), 250, np.uint8)).save(blank)
    empty.touch()
    arguments = {
        "missing": [tmp_path / "no.png"],
        "blank": [blank],
        "page": [print_file, "--page", 3],
        "empty": [empty],
    }
    result = run(*arguments[case], "--out", tmp_path / "out")
    assert result.exit_code == 2
    assert len(result.stderr.strip().splitlines()) == 1
    assert result.stdout == ""
    assert not (tmp_path / "out").exists()


def test_a_failed_write_leaves_the_old_file(tmp_path):
    (tmp_path / "a.txt").write_text("old")

    def fail(path):
        path.write_text("half")
        raise OSError("disk full")

    with pytest.raises(OSError, match="disk full"):
        write_whole(tmp_path / "a.txt", fail)
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]
    assert (tmp_path / "a.txt").read_text() == "old"


def test_the_package_offers_it_from_python(print_file):
    assert calibrate.calibrate_sheet(print_file).skew_deg == pytest.approx(1.2, abs=0.004)
