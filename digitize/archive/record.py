"""One sheet as the catalogue sees it, read from its result folder or from its bag."""

import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from calibrate.lengths import INCH_MM
from digitize.found import NAME as FOUND

SHEET, TABLE = "sheet.json", "dimensions.json"
READ_FROM = (SHEET, TABLE, FOUND)
PM_PER_MM = 10**9
"""Lengths are kept as whole picometres: every written inch fraction to 1/512 and every decimal is exact in them."""
LARGEST_PM = 10**18
"""A thousand kilometres: nothing on a print is longer, and SQLite's integers end at nine times that."""
LEAST_CHANCE = 0.05
"""Another tooth system that is less likely is not listed as possible."""
MOST_TEETH = 100_000
"""No wheel has more; a record that says so is damaged."""
YEAR = re.compile(r"\b1[89]\d\d\b|\b20\d\d\b")


@dataclass(frozen=True)
class Size:
    """One row of a sheet's table; ``length_pm`` is None for what is no length or was not read."""

    row: str
    kind: str
    name: str
    text: str
    length_pm: int | None
    state: str


@dataclass(frozen=True)
class GearFound:
    """A gear that a sheet shows, or may show: its state is "possible" where another answer leads."""

    teeth: int | None
    module_mm: float | None
    state: str


@dataclass(frozen=True)
class SheetRecord:
    """What the catalogue keeps of a sheet."""

    file: str
    sha256: str
    page: int
    title: str
    drawing_number: str
    material: str
    date: str
    scale: str
    texts: tuple[str, ...]
    sizes: tuple[Size, ...]
    gears: tuple[GearFound, ...]


def read_record(folder: Path) -> SheetRecord | None:
    """Read a sheet; None where the folder is damaged or half written."""
    try:
        table = _json(folder / TABLE)
        sheet, rows = table["sheet"], table["dimensions"]
        if (sheet["sha256"], sheet["page"]) != tuple(_json(folder / SHEET)[key] for key in ("sha256", "page")):
            return None
        fields = {plain(key): plain(value) for key, value in sheet["title_block"].items()}
        dated = fields.get("date") or " ".join(text for text in fields.values() if YEAR.search(text))
        texts = dict.fromkeys((*_texts(folder / FOUND), *(plain(row["text"]) for row in rows), *fields.values()))
        return SheetRecord(
            file=plain(sheet["source"]),
            sha256=plain(sheet["sha256"]),
            page=int(sheet["page"]),
            date=dated,
            **{name: fields.get(name, "") for name in ("title", "drawing_number", "material", "scale")},
            texts=tuple(texts),
            sizes=tuple(_size(row) for row in rows),
            gears=tuple(_gears(table.get("gear"))),
        )
    except (OSError, ValueError, ArithmeticError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def _json(path: Path) -> dict[str, Any]:
    content = json.loads(path.read_text(encoding="utf-8"))
    if not isinstance(content, dict):
        raise ValueError(path.name)
    return content


def _texts(found: Path) -> tuple[str, ...]:
    """Every reading that the reader holds likeliest; none where the record is missing."""
    try:
        texts = _json(found)["texts"]
    except FileNotFoundError:
        return ()
    return tuple(plain(text["readings"][0]["text"]) for text in texts if text["readings"])


def _size(row: Mapping[str, Any]) -> Size:
    row_id, kind, name, text = (plain(row[key] or "") for key in ("id", "kind", "name", "text"))
    return Size(row_id, kind, name, text, length_pm(row["value"], row["unit"]), plain(row["status"]))


def plain(text: object) -> str:
    """A text that any file takes: half characters, and bytes of a name that are none, are spelled out."""
    return str(text).encode("utf-8", "backslashreplace").decode("utf-8")


def length_pm(value: float | None, unit: str) -> int | None:
    """A written length in picometres, exact.

    Parameters
    ----------
    value : float or None
        As the table's JSON has it: its shortest decimal spelling is the written value.
    unit : str
        "in" or "mm"; anything else is no length.

    Examples
    --------
    >>> length_pm(5.5, "in") == length_pm(139.7, "mm") == 139_700_000_000
    True
    """
    if value is None or unit not in ("in", "mm"):
        return None
    length = round(Fraction(repr(value)) * (INCH_MM if unit == "in" else 1) * PM_PER_MM)
    return length if abs(length) <= LARGEST_PM else None


def _gears(gear: Mapping[str, Any] | None) -> Iterator[GearFound]:
    """The leading answer, then every other pitch that is possible."""
    if gear is None:
        return
    first = _gear(gear, plain(gear["status"]))
    yield first
    known = {(first.teeth, first.module_mm)}
    for each in gear["alternatives"]:
        other = _gear(each, "possible")
        if (other.teeth, other.module_mm) not in known and each["probability"] >= LEAST_CHANCE:
            known.add((other.teeth, other.module_mm))
            yield other


def _gear(content: Mapping[str, Any], state: str) -> GearFound:
    teeth, module_mm = content["teeth"], content["module_mm"]
    if teeth is not None and not 0 < teeth < MOST_TEETH:
        raise ValueError(f"{teeth} teeth")
    return GearFound(None if teeth is None else int(teeth), None if module_mm is None else float(module_mm), state)


def stamp_of(folder: Path) -> str:
    """Sizes and times of the files a record is read from: while they stand, nothing is read."""
    states = [(folder / name).stat() if (folder / name).exists() else None for name in READ_FROM]
    return " ".join("-" if state is None else f"{state.st_size}:{state.st_mtime_ns}" for state in states)


def hash_of(folder: Path) -> str:
    """Hash of the files that a record is read from."""
    digest = hashlib.sha256()
    for name in READ_FROM:
        content = (folder / name).read_bytes() if (folder / name).exists() else b""
        digest.update(len(content).to_bytes(8, "big") + content)
    return digest.hexdigest()
