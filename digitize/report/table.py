"""The dimension table as JSON, CSV and XLSX.

One row a value, in the order of the reconciled sheet. JSON follows ``dimension-table.schema.json``.
"""

import csv
import datetime
import io
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from calibrate.sheet import LevelSheet
from digitize.dimensions.table import Dimension, Lacking, Reconciled, State
from digitize.gears.identifying.finding import GearFinding
from digitize.gears.identifying.report import finding_to_json
from digitize.lettering.text import Unit
from digitize.report.cautions import CAUTIONS
from digitize.report.numbers import PIXEL_DIGITS, exact, rounded

SCHEMA = "dimension-table/1"
LIST_SEPARATOR = " | "  # between entries of one cell
_CREATED = datetime.datetime(2000, 1, 1)  # a constant, so that the same table gives the same bytes

COLUMNS = ("id", "zone", "view", "kind", "name", "callout", "text", "value", "unit", "upper", "lower", "measured",
           "measured_std", "residual", "status", "confidence", "confirmed_by", "confirmed_on", "alternatives",
           "evidence")  # fmt: skip
_WIDTHS = {"text": 22, "evidence": 80, "alternatives": 30, "kind": 11, "status": 11, "name": 16}
_WIDTH = 10
_STATE_FILLS = {State.AGREED: "#FFF2B3", State.UNPROVEN: "#DDE6F5", State.DISPUTED: "#F8D0CC", State.UNREAD: "#E6E0EC"}
_PICTURE_ROW_POINTS = 42.0  # height of a row that holds a picture
_PICTURE_ROW_PX = 54.0  # the same in screen pixels of 1/96 in, less a small margin


def row(dimension: Dimension, sheet_unit: Unit) -> dict[str, Any]:
    """One row of the table as JSON values; an unmarked length takes the sheet's unit."""
    unit = sheet_unit if dimension.unit is Unit.UNMARKED else dimension.unit
    return {
        "id": dimension.id,
        "zone": dimension.zone,
        "view": dimension.view,
        "kind": dimension.kind.value,
        "name": dimension.name,
        "callout": dimension.callout,
        "text": dimension.text,
        "value": exact(dimension.value),
        "unit": unit.value,
        "upper": exact(dimension.upper),
        "lower": exact(dimension.lower),
        "measured": rounded(dimension.measured),
        "measured_std": rounded(dimension.measured_std),
        "residual": rounded(dimension.residual),
        "status": dimension.state.value,
        "confidence": rounded(dimension.confidence),
        "style": dimension.style,
        "quad_px": [[rounded(x, PIXEL_DIGITS), rounded(y, PIXEL_DIGITS)] for x, y in dimension.quad_px],
        "confirmed_by": dimension.confirmed_by,
        "confirmed_on": dimension.confirmed_on,
        "alternatives": list(dimension.alternatives),
        "evidence": list(dimension.evidence),
    }


def table(sheet: LevelSheet, reconciled: Reconciled, gear: GearFinding | None) -> dict[str, Any]:
    """The whole table as JSON values."""
    return {
        "schema": SCHEMA,
        "sheet": {
            "source": sheet.path.name,
            "sha256": sheet.sha256,
            "page": sheet.page,
            "unit": "in" if reconciled.unit is Unit.INCH else "mm",
            "title_block": dict(sorted(reconciled.title_block.items())),
        },
        "dimensions": [row(each, reconciled.unit) for each in reconciled.dimensions],
        "gear": finding_to_json(gear) if gear is not None else None,
        "lacking": [_lacking_row(each) for each in reconciled.lacking],
        "over_dimensioned": list(reconciled.excess),
        "cautions": list(CAUTIONS),
    }


def _lacking_row(each: Lacking) -> dict[str, Any]:
    """A size that no figure gives, as JSON values."""
    return {
        "what": each.what,
        "view": each.view,
        "size": rounded(each.size),
        "std": rounded(each.std),
        "unit": each.unit.value,
        "words": each.words,
    }


def write_json(path: Path, content: Mapping[str, Any]) -> None:
    """Write JSON with a fixed layout."""
    text = json.dumps(content, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    path.write_text(text, encoding="utf-8")


def _cell(value: Any) -> Any:
    return LIST_SEPARATOR.join(value) if isinstance(value, list) else value


def write_csv(path: Path, content: Mapping[str, Any]) -> None:
    """Write the rows as CSV (RFC 4180): lists joined by a bar, empty cells where there is no value."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow([*COLUMNS, "quad_px"])
    for each in content["dimensions"]:
        corners = " ".join(f"{x:g},{y:g}" for x, y in each["quad_px"])
        writer.writerow([*(_cell(each[column]) for column in COLUMNS), corners])
    path.write_text(stream.getvalue(), encoding="utf-8", newline="")


def write_xlsx(path: Path, content: Mapping[str, Any], pictures: Mapping[str, bytes]) -> None:
    """Write the workbook.

    Parameters
    ----------
    path : Path
    content : mapping
        From `table`.
    pictures : mapping of str to bytes
        PNG of the lettering by row id, for the rows that nobody could read.
    """
    book = xlsxwriter.Workbook(str(path), {"in_memory": True, "strings_to_formulas": False})
    book.set_properties({"created": _CREATED, "title": f"Dimensions of {content['sheet']['source']}"})
    heading = book.add_format({"bold": True, "text_wrap": True, "bottom": 1})
    wrapped = book.add_format({"text_wrap": True, "valign": "top"})
    fills = {state.value: book.add_format({"bg_color": fill, "valign": "top"}) for state, fill in _STATE_FILLS.items()}
    _dimension_page(book.add_worksheet("Dimensions"), content, pictures, (heading, wrapped), fills)
    _list_page(book.add_worksheet("Gear"), _gear_lines(content["gear"]), heading, wrapped)
    _list_page(book.add_worksheet("Sheet"), _sheet_lines(content), heading, wrapped)
    book.close()


def _dimension_page(
    page: Worksheet,
    content: Mapping[str, Any],
    pictures: Mapping[str, bytes],
    formats: tuple[Format, Format],
    fills: Mapping[str, Format],
) -> None:
    heading, wrapped = formats
    page.freeze_panes(1, 1)
    for column, name in enumerate((*COLUMNS, "picture")):
        page.set_column(column, column, _WIDTHS.get(name, _WIDTH))
        page.write_string(0, column, name, heading)
    for number, each in enumerate(content["dimensions"], start=1):
        for column, name in enumerate(COLUMNS):
            _write(page, number, column, _cell(each[name]), fills[each["status"]] if name == "status" else wrapped)
        if each["id"] in pictures:
            _insert_picture(page, number, len(COLUMNS), pictures[each["id"]])
    page.autofilter(0, 0, max(len(content["dimensions"]), 1), len(COLUMNS) - 1)


def _write(page: Worksheet, number: int, column: int, value: Any, style: Format) -> None:
    if isinstance(value, int | float):
        page.write_number(number, column, value, style)
    else:
        page.write_string(number, column, value or "", style)


def _insert_picture(page: Worksheet, number: int, column: int, png: bytes) -> None:
    height_px = int.from_bytes(png[20:24], "big")  # PNG: the header chunk holds width and height at bytes 16 and 20
    scale = min(1.0, _PICTURE_ROW_PX / height_px)
    page.set_row(number, _PICTURE_ROW_POINTS)
    page.insert_image(
        number, column, "lettering.png", {"image_data": io.BytesIO(png), "x_scale": scale, "y_scale": scale}
    )


def _list_page(page: Worksheet, lines: list[tuple[str, Any]], heading: Format, wrapped: Format) -> None:
    page.set_column(0, 0, 24)
    page.set_column(1, 1, 100)
    for number, (name, value) in enumerate(lines):
        page.write_string(number, 0, name, heading)
        _write(page, number, 1, value, wrapped)


def _gear_lines(gear: Mapping[str, Any] | None) -> list[tuple[str, Any]]:
    if gear is None:
        return [("gear", "none found on this sheet")]
    lines = [(name, _cell(gear[name])) for name in gear if name != "alternatives"]
    for number, each in enumerate(gear["alternatives"], start=1):
        lines += [(f"alternative {number}: {name}", _cell(value)) for name, value in each.items()]
    return lines


def _sheet_lines(content: Mapping[str, Any]) -> list[tuple[str, Any]]:
    sheet = content["sheet"]
    lines = [(name, value) for name, value in sheet.items() if name != "title_block"]
    lines += [(f"title block: {name}", value) for name, value in sheet["title_block"].items()]
    lines += [("lacking", each["words"]) for each in content["lacking"]]
    lines += [("over-dimensioned", each) for each in content["over_dimensioned"]]
    return lines + [("caution", each) for each in content["cautions"]]
