"""Every file of the output contract, written whole or not at all."""

import json
import os
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pypdfium2
import pytest
from hand_drawn import Print, agreed_gear, blank_sheet, drawn_sheet, spur_gear, stepped_shaft

from calibrate.sheet import KnownOf, Resolution, ResolutionStatus, ScaleWitness
from digitize.dimensions.table import Reconciled, State
from digitize.found import Found
from digitize.lettering.text import Kind, Unit
from digitize.redraw.solving.parted_views import WholeViews, whole_views
from digitize.report import check_print
from digitize.report.write import FILES, INSPECTION, ON_CHECK_PRINT, ON_PART, ON_PRINT, PAPER_FILES, write_results
from digitize.strokes.primitives import Strokes
from tests.digitize.redraw.test_parted_views import parted

TIMELESS = [name for name in FILES if name != "sheet.json"]


def doubtful_gear() -> Print:
    """The gear's print with a row of each state."""
    print_ = spur_gear(wobble_mm=0.05)
    print_.row("1.126", Fraction(1126, 1000), Kind.LINEAR, (30, 180), state=State.UNPROVEN)
    print_.row("2 3/8", Fraction(19, 8), Kind.LINEAR, (60, 180), state=State.DISPUTED)
    print_.row("", None, Kind.LINEAR, (90, 180), state=State.UNREAD)
    return print_


def results(print_: Print, folder: Path, **more: object) -> list[Path]:
    options: dict[str, object] = {"gear": agreed_gear(), "timings": {"load": 0.25}} | more
    found = Found(drawn_sheet(print_), print_.strokes(), ())
    files, _part = write_results(folder, found, whole_views(found.strokes, print_.reconciled()), **options)  # type: ignore[arg-type]
    return files


def test_all_files_are_there(tmp_path: Path) -> None:
    paths = results(doubtful_gear(), tmp_path / "a" / "b")
    every = (*FILES, *PAPER_FILES, INSPECTION)
    assert [path.name for path in paths] == list(every)
    assert sorted(each.name for each in (tmp_path / "a" / "b").iterdir()) == sorted(every)


def test_the_sheet_for_the_bench_is_of_an_agreed_gear_alone(tmp_path: Path) -> None:
    results(doubtful_gear(), tmp_path)
    with pypdfium2.PdfDocument(tmp_path / INSPECTION) as document:
        words = " ".join(page.get_textpage().get_text_range() for page in document)
    assert "42 teeth, 10 P, 14 1/2 deg full-depth involute" in " ".join(words.split())
    assert "AGREED" in words
    assert "4.4000 in" in words
    # One of an earlier run, when the gear was agreed, does not stay.
    for gear in (agreed_gear(State.UNPROVEN), None):
        results(doubtful_gear(), tmp_path, gear=gear)
        assert not (tmp_path / INSPECTION).exists()
        results(doubtful_gear(), tmp_path)


def test_same_input_same_bytes(tmp_path: Path) -> None:
    """Another process with another hash seed writes the same tables, pictures and drawings."""
    results(doubtful_gear(), tmp_path / "one")
    code = (
        "import sys; from pathlib import Path\n"
        "sys.path[:0] = sys.argv[2:]\n"
        "import test_report_write as t; t.results(t.doubtful_gear(), Path(sys.argv[1]))"
    )
    here = Path(__file__).parent
    subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "two"), str(here), str(here.parent / "redraw")],
        check=True, cwd=here.parents[2], env=os.environ | {"PYTHONHASHSEED": "77", "PYTHONPATH": str(here.parents[2])},
    )  # fmt: skip
    for name in TIMELESS:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes(), name


@pytest.mark.parametrize(
    ("status", "agrees", "said"),
    [
        (ResolutionStatus.STATED, True, ON_PRINT),
        (ResolutionStatus.STATED, False, ON_CHECK_PRINT),
        (ResolutionStatus.UNKNOWN, None, ON_CHECK_PRINT),
    ],
)
def test_what_is_not_surely_as_large_as_the_print_is_laid_on_the_check_print(
    tmp_path: Path, status: ResolutionStatus, agrees: bool | None, said: str
) -> None:
    """A file may state 600 dpi of a scan at 300, and the scale note tell. Both pages are as large for one pixel."""
    print_ = stepped_shaft()
    sheet = replace(drawn_sheet(print_), resolution=Resolution(status, None, None, ""))
    stated = ScaleWitness("resolution", KnownOf.PAPER, (0.1, 0.1), (0.001, 0.001), "stated by the file", agrees=agrees)
    found = Found(sheet, print_.strokes(), ())
    write_results(tmp_path, found, whole_views(found.strokes, print_.reconciled(witnesses=(stated,))), None, {})
    with pypdfium2.PdfDocument(tmp_path / "over-print.pdf") as document:
        words = document[0].get_textpage().get_text_range()
    assert " ".join(words.split()).startswith(said)


def test_a_view_whose_scale_is_not_proven_is_laid_out_and_says_so(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    print_.dimensions = [replace(each, state=State.UNPROVEN) for each in print_.dimensions]
    scale = replace(print_.scale(), known="", witnesses=2)
    found = Found(drawn_sheet(print_), print_.strokes(), ())
    write_results(tmp_path, found, whole_views(found.strokes, print_.reconciled(scales=(scale,))), None, {})
    with pypdfium2.PdfDocument(tmp_path / "part.pdf") as document:
        words = document[0].get_textpage().get_text_range()
    assert f"{ON_PART} Not proven: the scale of view V1." in " ".join(words.split())


def test_crash_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def crash(*_args: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(check_print, "write_html", crash)
    with pytest.raises(OSError, match="disk full"):
        results(doubtful_gear(), tmp_path / "new" / "deep")
    assert not (tmp_path / "new").exists()


def test_crash_leaves_the_old_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    results(doubtful_gear(), tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}

    def crash(*_args: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(check_print, "write_html", crash)
    with pytest.raises(OSError, match="disk full"):
        results(stepped_shaft(), tmp_path)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_of_an_outline_in_doubt_no_error_of_its_area_is_said(tmp_path: Path) -> None:
    """An edge lies outside the shaft's outline: how far its area is off is not known."""
    print_ = stepped_shaft()
    print_.line((100, 40), (160, 40))
    results(print_, tmp_path, gear=None)
    (outer,) = json.loads((tmp_path / "sheet.json").read_text())["part"]["outlines"]
    assert (outer["determined"], outer["area_std_mm2"]) == (False, None)


def test_provenance(tmp_path: Path) -> None:
    print_ = stepped_shaft(x_shrink=0.99, y_shrink=0.995)
    results(print_, tmp_path, gear=None)
    sheet = json.loads((tmp_path / "sheet.json").read_text())
    assert sheet["pixel_to_mm"][0][0] == pytest.approx(0.1 / 0.99)
    assert sheet["pixel_to_mm"][1][1] == pytest.approx(-0.1 / 0.995)
    assert sheet["shrink_percent"] == pytest.approx([1.0, 0.5], abs=1e-3)
    assert sheet["scale"]["drawn_over_real"] == "1"
    assert sheet["scale"]["witnesses"] == 11
    assert (sheet["image_size_px"], sheet["polarity"]) == ([2970, 2100], "dark_on_light")
    assert sheet["mm_per_px"] == [0.1, 0.1]
    assert sheet["timings_s"] == {"load": 0.25}
    assert sheet["part"]["outlines"][0]["determined"] is True
    assert sheet["part"]["outlines"][0]["area_std_mm2"] == 0
    assert len(sheet["cautions"]) == 6
    assert sheet["line_widths"] == []


@pytest.mark.parametrize(
    ("resolution", "length", "has_mm"),
    [
        (Resolution(ResolutionStatus.STATED, 254.0, 254.0, "the file"), "paper mm", True),
        (Resolution(ResolutionStatus.UNKNOWN, None, None, "no figure"), "px", False),
    ],
)
def test_sheet_without_dimensions_is_a_result(
    resolution: Resolution, length: str, has_mm: bool, tmp_path: Path
) -> None:
    sheet = replace(blank_sheet(), resolution=resolution)
    write_results(
        tmp_path, Found(sheet, Strokes(), ()), WholeViews(Strokes(), Reconciled((), (), Unit.MM, {})), None, {}
    )
    record = json.loads((tmp_path / "sheet.json").read_text())
    assert record["trace_length"] == length
    assert (record["pixel_to_mm"] is not None) is has_mm
    assert record["scale"] is None
    assert "No dimension was found" in (tmp_path / "check-print.html").read_text()


def test_units_override(tmp_path: Path) -> None:
    import ezdxf

    results(stepped_shaft(), tmp_path, units=Unit.INCH)
    for name in ("trace.dxf", "part.dxf"):
        assert ezdxf.readfile(tmp_path / name).header["$INSUNITS"] == 1
    assert json.loads((tmp_path / "dimensions.json").read_text())["sheet"]["unit"] == "mm"


def test_a_view_that_was_parted_has_one_name_in_every_file(tmp_path: Path) -> None:
    """The plate's two halves are joined for the outlines: table and provenance speak of the same view as they do."""
    print_ = parted()
    found = Found(drawn_sheet(print_), print_.strokes(), ())
    _, part = write_results(tmp_path, found, whole_views(found.strokes, print_.reconciled()), None, {})
    rows = json.loads((tmp_path / "dimensions.json").read_text())["dimensions"]
    sheet = json.loads((tmp_path / "sheet.json").read_text())
    (joined,) = {each.view for each in part.outlines}
    assert {each["view"] for each in rows} == {joined}
    assert [each["id"] for each in sheet["views"]] == [joined]
    assert sum("are one" in each for each in part.notes) == 1
