"""The whole road on kept sheets: the files of the contract, their sameness, and what a sheet without figures gives."""

import json
import shutil
import subprocess
import sys
from fractions import Fraction
from importlib.resources import files
from pathlib import Path

import cv2
import ezdxf
import jsonschema
import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

from digitize.cli import app
from digitize.dimensions.table import State
from digitize.lettering.text import Unit
from digitize.pipeline import SheetResult, digitize_sheet
from digitize.report.summary import summary_of

SHEETS = Path(__file__).parents[2] / "samples" / "sheets"
CONTRACT = {
    "trace.dxf",
    "part.dxf",
    "dimensions.csv",
    "dimensions.json",
    "dimensions.xlsx",
    "check-print.html",
    "check-print.png",
    "check-print.pdf",
    "sheet.json",
    "found.json",
}
TRUE_SIZE = {"part.svg", "part.pdf", "over-print.pdf"}
"""Written only where the scale is known."""
SAME_EACH_TIME = (
    "trace.dxf",
    "part.dxf",
    "dimensions.csv",
    "dimensions.json",
    "dimensions.xlsx",
    "part.svg",
    "part.pdf",
)


@pytest.fixture(scope="module")
def trap(tmp_path_factory: pytest.TempPathFactory) -> tuple[SheetResult, Path]:
    """A shaft whose chain of lengths does not add up."""
    out = tmp_path_factory.mktemp("trap")
    return digitize_sheet(SHEETS / "hm-08-drive-shaft-trap.png", out=out), out


def test_every_file_of_the_contract_is_written(trap: tuple[SheetResult, Path]) -> None:
    result, out = trap
    assert {path.name for path in out.iterdir()} == CONTRACT | TRUE_SIZE
    assert {path.name for path in result.files} == CONTRACT | TRUE_SIZE


def test_a_corrected_table_is_obeyed_and_nothing_is_read_again(trap: tuple[SheetResult, Path], tmp_path: Path) -> None:
    before, out = trap
    false = next(row for row in before.reconciled.dimensions if row.state is State.DISPUTED and row.measured)
    true = Fraction(round((false.measured or 0) * 16), 16)
    text = (out / "dimensions.csv").read_text(encoding="utf-8")
    corrected = tmp_path / "corrected.csv"
    corrected.write_text(text.replace(f",{false.text},", f",{true // 1} {true % 1},"), encoding="utf-8")
    shutil.copy(out / "found.json", tmp_path / "found.json")
    command = ["sheet", str(SHEETS / "hm-08-drive-shaft-trap.png"), "--out", str(tmp_path), "--with", str(corrected)]
    outcome = CliRunner().invoke(app, [*command, "--by", "A. Reader", "--quiet"])
    assert outcome.exit_code == 0, outcome.output
    table = json.loads((tmp_path / "dimensions.json").read_text(encoding="utf-8"))
    row = next(each for each in table["dimensions"] if each["id"] == false.id)
    assert (row["status"], row["value"], row["confirmed_by"]) == ("agreed", float(true), "A. Reader")
    record = json.loads((tmp_path / "sheet.json").read_text(encoding="utf-8"))
    assert false.id in record["part"]["dimensions_used"]
    figures = ezdxf.readfile(tmp_path / "part.dxf").modelspace().query("DIMENSION")
    assert any(abs(float(each.get_measurement()) - float(true)) < 1e-9 for each in figures)
    assert "trace strokes" not in record["timings_s"]
    assert "read lettering" not in record["timings_s"]


def test_the_table_follows_its_schema_and_says_why(trap: tuple[SheetResult, Path]) -> None:
    _result, out = trap
    schema = json.loads(files("digitize.report").joinpath("dimension-table.schema.json").read_text(encoding="utf-8"))
    table = json.loads((out / "dimensions.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(table)
    assert all(row["evidence"] for row in table["dimensions"])


def test_the_false_figure_is_disputed_and_no_agreed_one_is_wrong(trap: tuple[SheetResult, Path]) -> None:
    result, _out = trap
    truth = json.loads((SHEETS / "hm-08-drive-shaft-trap.truth.json").read_text(encoding="utf-8"))
    false = next(each for each in truth["dimensions"] if each["trap"])
    disputed = [row for row in result.reconciled.dimensions if row.state is State.DISPUTED]
    assert [row.text for row in disputed] == [false["text"]]
    true_values = {each["value"] for each in truth["dimensions"] if not each["trap"]}
    agreed = [row for row in result.reconciled.dimensions if row.state is State.AGREED]
    assert len(agreed) >= 6
    assert all(float(row.value or 0) in true_values for row in agreed)


def test_provenance_states_frame_scale_and_skew(trap: tuple[SheetResult, Path]) -> None:
    _result, out = trap
    sheet = json.loads((out / "sheet.json").read_text(encoding="utf-8"))
    truth = json.loads((SHEETS / "hm-08-drive-shaft-trap.truth.json").read_text(encoding="utf-8"))
    assert sheet["skew_deg"] == pytest.approx(truth["skew_deg"], abs=0.01)
    for field in (
        "orientation_deg",
        "mm_per_px",
        "scale",
        "shrink_percent",
        "polarity",
        "image_size_px",
        "pixel_to_mm",
    ):
        assert field in sheet
    to_mm, to_source = np.array(sheet["pixel_to_mm"]), np.array(truth["source_from_paper"])
    both = to_mm @ to_source
    ends = np.array([[50.0, 100.0, 1.0], [150.0, 100.0, 1.0]]) @ both.T
    ends = ends[:, :2] / ends[:, 2:]
    assert np.hypot(*(ends[1] - ends[0])) == pytest.approx(100.0 * truth["views"][0]["scale"], rel=0.004)


def test_the_same_print_gives_the_same_bytes(trap: tuple[SheetResult, Path], tmp_path: Path) -> None:
    _result, out = trap
    digitize_sheet(SHEETS / "hm-08-drive-shaft-trap.png", out=tmp_path)
    for name in SAME_EACH_TIME:
        assert (out / name).read_bytes() == (tmp_path / name).read_bytes()


def test_units_are_those_asked_for(tmp_path: Path) -> None:
    digitize_sheet(SHEETS / "hm-12-stop-plate.png", out=tmp_path, unit=Unit.MM)
    for name in ("trace.dxf", "part.dxf"):
        drawing = ezdxf.readfile(tmp_path / name)
        assert drawing.header["$INSUNITS"] == 4
        assert not drawing.audit().errors


def test_the_gear_of_a_sheet_is_decided_by_its_own_evidence(tmp_path: Path) -> None:
    """22 teeth of 8 P with stub teeth: addendum .8 / P, so 2.950 over the tips (ASA B6.1-1932, from memory)."""
    result = digitize_sheet(SHEETS / "hm-01-back-gear.png", out=tmp_path)
    assert result.gear is not None
    best = result.gear.candidates[0]
    assert (result.gear.teeth, best.diametral_pitch, best.pressure_angle_deg) == (22, pytest.approx(8.0), 20.0)
    assert best.outside_diameter_mm == pytest.approx(2.950 * 25.4, abs=0.01)
    drawing = ezdxf.readfile(tmp_path / "part.dxf")
    assert drawing.modelspace().query("LWPOLYLINE[layer=='GEAR' | layer=='GEAR_UNPROVEN']")


def test_a_drawing_without_figures_is_a_result(tmp_path: Path) -> None:
    picture = np.full((1200, 1600), 250, dtype=np.uint8)
    cv2.rectangle(picture, (300, 250), (1300, 950), 20, 6, cv2.LINE_AA)
    cv2.circle(picture, (800, 600), 180, 20, 6, cv2.LINE_AA)
    cv2.line(picture, (150, 600), (1450, 600), 20, 3, cv2.LINE_AA)
    Image.fromarray(picture).save(tmp_path / "bare.png")
    result = digitize_sheet(tmp_path / "bare.png", out=tmp_path / "out")
    assert result.reconciled.dimensions == ()
    assert "none could be read" in summary_of(result, tmp_path / "out")
    assert {path.name for path in (tmp_path / "out").iterdir()} == CONTRACT
    trace = ezdxf.readfile(tmp_path / "out" / "trace.dxf")
    assert trace.header["$INSUNITS"] == 0
    assert len(trace.modelspace().query("CIRCLE")) == 1


def test_quiet_is_quiet_though_a_library_warns(tmp_path: Path) -> None:
    """What libraries log goes to stderr where nobody listens; R12 holds no unit, and its writer says so each time."""
    command = [sys.executable, "-m", "digitize", "sheet", str(SHEETS / "hm-01-back-gear.png"), "--r12", "--quiet"]
    done = subprocess.run([*command, "--out", str(tmp_path)], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")
    assert ezdxf.readfile(tmp_path / "part.dxf").dxfversion == "AC1009"


def test_pages_go_into_folders_of_their_own(tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["sheet", str(SHEETS / "hm-09-two-pages.tif"), "--out", str(tmp_path), "--quiet"])
    assert result.exit_code == 0, result.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["p001", "p002"]
    assert {path.name for path in (tmp_path / "p002").iterdir()} == CONTRACT | TRUE_SIZE
