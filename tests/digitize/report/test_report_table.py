"""The dimension table against its schema, and as other programs read it."""

import csv
import json
from fractions import Fraction
from importlib.resources import files
from pathlib import Path

import jsonschema
import openpyxl
import pytest
from hand_drawn import Print, agreed_gear, drawn_sheet, stepped_shaft
from test_report_write import doubtful_gear

from digitize.dimensions.table import State
from digitize.gears.identifying.finding import GearFinding
from digitize.lettering.text import Kind, Unit
from digitize.report.picture import unread_pictures
from digitize.report.table import COLUMNS, table, write_csv, write_json, write_xlsx

SCHEMA = json.loads(files("digitize.report").joinpath("dimension-table.schema.json").read_text(encoding="utf-8"))


def content_of(print_: Print, gear: GearFinding | None = None):  # type: ignore[no-untyped-def]
    return table(drawn_sheet(print_), print_.reconciled(), gear)


@pytest.mark.parametrize("gear", [None, agreed_gear(), agreed_gear(State.UNPROVEN), agreed_gear(State.DISPUTED)])
def test_json_follows_the_schema(gear: GearFinding | None, tmp_path: Path) -> None:
    write_json(tmp_path / "t.json", content_of(doubtful_gear(), gear))
    read = json.loads((tmp_path / "t.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(SCHEMA).validate(read)
    assert [row["status"] for row in read["dimensions"]][-3:] == ["unproven", "disputed", "unread"]


def test_a_system_is_stated_with_its_state_and_never_while_disputed() -> None:
    unproven = content_of(doubtful_gear(), agreed_gear(State.UNPROVEN))["gear"]
    assert (unproven["system"], unproven["status"]) == ("asa_145_full", "unproven")
    disputed = content_of(doubtful_gear(), agreed_gear(State.DISPUTED))["gear"]
    assert (disputed["system"], disputed["module_mm"], disputed["status"]) == (None, None, "disputed")
    agreed = content_of(doubtful_gear(), agreed_gear())["gear"]
    assert (agreed["system"], agreed["teeth"], agreed["status"]) == ("asa_145_full", 42, "agreed")


def test_unmarked_length_takes_the_sheets_unit() -> None:
    print_ = stepped_shaft(unit=Unit.INCH)
    print_.row("12", Fraction(12), Kind.LINEAR, (10, 10), unit=Unit.UNMARKED)
    assert content_of(print_)["dimensions"][-1]["unit"] == "in"


def test_fraction_is_exact_in_the_files(tmp_path: Path) -> None:
    content = content_of(doubtful_gear())
    assert content["dimensions"][2]["value"] == 1.125
    assert content["dimensions"][0]["value"] == 1
    write_csv(tmp_path / "t.csv", content)
    with (tmp_path / "t.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert list(rows[0]) == [*COLUMNS, "quad_px"]
    assert rows[2]["value"] == "1.125"
    assert rows[-1]["value"] == ""
    assert len(rows) == 6


def test_workbook_keeps_the_picture_of_what_nobody_read(tmp_path: Path) -> None:
    print_ = doubtful_gear()
    pictures = unread_pictures(drawn_sheet(print_), tuple(print_.dimensions))
    assert list(pictures) == [print_.dimensions[-1].id]
    write_xlsx(tmp_path / "t.xlsx", content_of(print_, agreed_gear()), pictures)
    book = openpyxl.load_workbook(tmp_path / "t.xlsx")
    page = book["Dimensions"]
    assert [cell.value for cell in page[1]] == [*COLUMNS, "picture"]
    assert page.cell(4, COLUMNS.index("value") + 1).value == 1.125
    (image,) = page._images
    assert image.anchor._from.row == 6
    assert "asa_145_full" in [row[1].value for row in book["Gear"].iter_rows()]
    assert "caution" in [row[0].value for row in book["Sheet"].iter_rows()]


def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    print_ = stepped_shaft()
    print_.row("=1+1", None, Kind.NOTE, (10, 10), state=State.UNPROVEN)
    write_xlsx(tmp_path / "t.xlsx", content_of(print_), {})
    cell = openpyxl.load_workbook(tmp_path / "t.xlsx")["Dimensions"].cell(8, COLUMNS.index("text") + 1)
    assert (cell.value, cell.data_type) == ("=1+1", "s")
