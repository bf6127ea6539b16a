"""A corrected dimension table read back: what a person changed in ``dimensions.csv`` becomes his word.

A row counts as spoken for where its text, value, limits or kind differ from what was found, or where its
``confirmed_by`` holds a name. Rows left out of the file, or unchanged, are left to the program.
"""

import csv
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from shapely.geometry import Polygon

from calibrate.errors import InputError
from digitize.dimensions.confirmed import Confirmation
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, Reconciled
from digitize.found import Found
from digitize.lettering.grammar import parse
from digitize.lettering.text import Callout, Kind
from digitize.report.table import row

NEEDED = ("id", "text", "value", "quad_px")
LEAST_OVERLAP = 0.5
"""A row is of the lettering that its corners cover at least by this share (intersection over union)."""
UNIT_MARKS = {"in": '"', "mm": " mm", "deg": "°", "count": "", "none": ""}
"""How a number is marked with the unit of its cell."""
OTHER_MARKS = {";": "semicolons", "\t": "tabs"}
"""What some spreadsheets write between columns; their numbers may have decimal commas, which would be guessed at."""
STRUCK_OUT = ("note", "no dimension", "not a dimension", "none")
"""What a person writes as the kind of lettering that is no dimension."""


@dataclass(frozen=True)
class Corrections:
    """A corrected table, who vouches for what it changes, and the ISO date; both only where a row itself is silent."""

    path: Path
    by: str
    today: str

    def read(self, found: Found) -> tuple[Confirmation, ...]:
        """What the table says of the figures found."""
        before = reconcile(found.sheet, found.strokes, found.texts, parse)
        return read_corrections(self.path, before, parse, self.by, self.today)


def read_corrections(
    path: Path, found: Reconciled, parser: Callable[[str], object], by: str, today: str
) -> tuple[Confirmation, ...]:
    """What a person changed in a table.

    Parameters
    ----------
    path : Path
        CSV with the columns of ``dimensions.csv``.
    found : Reconciled
        The sheet without any confirmation.
    parser : callable
        The grammar.
    by, today : str
        Who, where the row itself names nobody; ISO date where it has none.

    Returns
    -------
    tuple of Confirmation

    Raises
    ------
    InputError
        The file is no such table, is of another print, or holds a value that can't be read; the message says where.
    """
    given_rows = list(_rows(path))
    if not given_rows:
        raise InputError(f"{path.name} has no row under its header; correct a copy of dimensions.csv.")
    confirmations = []
    for number, given in enumerate(given_rows, start=2):
        where = f"{path.name}, line {number} ({given['id']})"
        dimension = _same_place(given, found.dimensions)
        if dimension is None:
            raise InputError(
                f"{where}: no lettering was found where this row has its corners; is the table this print's?"
            )
        said = _said(given, row(dimension, found.unit), dimension, where, parser)
        if said is not None:
            text, whole = said
            name = given.get("confirmed_by") or by
            confirmations.append(Confirmation(dimension.place, text, name, given.get("confirmed_on") or today, whole))
    if not confirmations:
        raise InputError(
            f"{path.name} changes nothing: correct a row's text, value, limits or kind, or sign its confirmed_by."
        )
    return tuple(confirmations)


def _rows(path: Path) -> Iterator[dict[str, str]]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as stream:
            reader = csv.DictReader(stream)
            names = reader.fieldnames or ()
            parted = next((word for mark, word in OTHER_MARKS.items() if len(names) == 1 and mark in names[0]), None)
            if parted is not None:
                raise InputError(f"{path.name} has {parted} between its columns; save the corrected table with commas.")
            missing = [name for name in NEEDED if name not in names]
            if missing:
                raise InputError(f"{path.name} lacks the column {missing[0]}; correct a copy of dimensions.csv.")
            for each in reader:
                yield {name: (value or "").strip() for name, value in each.items() if isinstance(name, str)}
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError(f"{path.name} is no CSV in UTF-8; save the corrected table as one.") from error


def _same_place(given: Mapping[str, str], dimensions: Sequence[Dimension]) -> Dimension | None:
    """The dimension whose lettering lies where the row says; among several of one callout, the one of its id."""
    try:
        corners = [tuple(float(part) for part in corner.split(",")) for corner in given["quad_px"].split()]
        quad = Polygon(corners)
    except ValueError:
        return None
    here = [each for each in dimensions if _overlap(quad, Polygon(each.quad_px)) >= LEAST_OVERLAP]
    return next((each for each in here if each.id == given["id"]), here[0] if len(here) == 1 else None)


def _overlap(one: Polygon, other: Polygon) -> float:
    if not one.is_valid or not other.is_valid:
        return 0.0
    union = one.union(other).area
    return float(one.intersection(other).area / union) if union else 0.0


def _said(
    given: Mapping[str, str],
    before: Mapping[str, Any],
    dimension: Dimension,
    where: str,
    parser: Callable[[str], object],
) -> tuple[str | None, bool] | None:
    """The text that the person means and whether it is the whole callout's; None where the row was left as it was."""
    if given.get("kind", "").lower() in STRUCK_OUT and before["kind"] != given["kind"]:
        return None, True
    new_text = given["text"] != before["text"]
    new_value = _differs(given["value"], before["value"]) or given.get("unit", before["unit"]) != before["unit"]
    new_limits = any(name in given and _differs(given[name], before[name]) for name in ("upper", "lower"))
    if not (new_text or new_value or new_limits):
        kept = bool(given.get("confirmed_by")) and dimension.value is not None
        return (given["text"], True) if kept else None
    text = given["text"] if new_text else _written(given, before, where)
    callout = parser(text)
    if not isinstance(callout, Callout) or all(each.kind is Kind.NOTE for each in callout.values):
        raise InputError(f"{where}: {text!r} is no dimension; write it as on a print, or its kind as note.")
    if new_text and new_value and given["value"] and not _has(callout, given["value"]):
        raise InputError(f"{where}: the text says {text!r} and the value {given['value']}; correct one of them.")
    return text, new_text


def _written(given: Mapping[str, str], before: Mapping[str, Any], where: str) -> str:
    """A value and its limits from the cells, as a figure on a print."""
    unit = given.get("unit") or str(before["unit"])
    if unit not in UNIT_MARKS:
        raise InputError(f"{where}: {unit} is no unit; write in, mm or deg.")
    value, upper, lower = (given.get(name, "") for name in ("value", "upper", "lower"))
    marked = value + UNIT_MARKS[unit] if value and value[-1].isdigit() else value
    if not (upper or lower):
        return marked
    if not value or unit == "deg" or marked == value:
        raise InputError(f"{where}: limits stand with a plain number in the value's cell; correct the text instead.")
    return f"{marked} {_signed(upper or '0')}\n{_signed(lower or '0')}"


def _signed(text: str) -> str:
    return text if text.startswith(("+", "-")) else f"+{text}"


def _differs(cell: str, before: float | int | None) -> bool:
    if before is None:
        return bool(cell)
    return cell != str(before)


def _has(callout: Callout, value: str) -> bool:
    try:
        wanted = Fraction(value)
    except ValueError:
        return False
    return any(each.nominal == wanted for each in callout.values)
