"""What a person asks the catalogue for, as SQL."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from digitize.archive.record import PM_PER_MM
from digitize.archive.words import phrases

COLUMNS = ("title", "drawing_number", "material", "date", "scale", "file", "texts")
"""Of the full-text table."""
_WEIGHTS = "8, 8, 2, 2, 1, 4, 1"
"""How much a word tells in each of them: what the title says, a sheet is about."""
PITCH_SLACK = 1e-4
"""Pitches are printed to four figures; neighbouring standard ones lie 1 % apart and more."""
RANKED_MOST = 4000
"""A query that finds more sheets than this is too wide for an order to help, and ranking them takes long."""


@dataclass(frozen=True)
class SizeWanted:
    """A length of one kind ("diameter", "length", "radius"), in mm, and how far off it may be."""

    kind: str
    value_mm: Fraction
    within_mm: Fraction = Fraction(0)


@dataclass(frozen=True)
class Query:
    """What is looked for; all of it must hold.

    Attributes
    ----------
    words : str
        Anywhere on the sheet.
    fields : dict of str to str
        Words by full-text column.
    sizes : tuple of SizeWanted
    teeth : int or None
    module_mm : float or None
    state : str
        Of the values or the gear asked for; of any of them where none is.
    most : int
        Sheets to give.
    skip : int
        Sheets to leave out before them.
    """

    words: str = ""
    fields: dict[str, str] = field(default_factory=dict)
    sizes: tuple[SizeWanted, ...] = ()
    teeth: int | None = None
    module_mm: float | None = None
    state: str = ""
    most: int = 50
    skip: int = 0

    def asks(self) -> bool:
        """Is anything looked for? Otherwise every sheet is found."""
        return bool(self.match() or self.sizes or self.state or self.teeth or self.module_mm)

    def match(self) -> str:
        """The full-text part; empty where no word is asked for."""
        parts = [phrases(self.words)]
        for column, text in self.fields.items():
            inner = phrases(text)
            parts.append(f"{column} : ({inner})" if inner else "")
        return " AND ".join(f"({part})" for part in parts if part)


Condition = tuple[str, list[object]]

_KINDS = {
    "diameter": "(kind = 'diameter' OR (kind = 'gear_data' AND name LIKE '%diameter'))",
    "length": "kind = 'linear'",
    "radius": "kind = 'radius'",
}


def size_condition(wanted: SizeWanted, state: str) -> Condition:
    """Rows of `sizes` of that kind and length, ends included."""
    value, within = wanted.value_mm * PM_PER_MM, wanted.within_mm * PM_PER_MM
    where = f"length_pm BETWEEN ? AND ? AND {_KINDS[wanted.kind]}"
    ends: list[object] = [-((within - value) // 1), (value + within) // 1]
    # +state: the length is the rarer of the two, and its index is the one to go by
    return (f"{where} AND +state = ?", [*ends, state]) if state else (where, ends)


def gear_condition(query: Query) -> Condition | None:
    """Rows of `gears` of that pitch and number of teeth; None where no gear is asked for."""
    parts, values = [], list[object]()
    if query.teeth is not None:
        parts.append("teeth = ?")
        values.append(query.teeth)
    if query.module_mm is not None:
        parts.append("module_mm BETWEEN ? AND ?")
        values += [query.module_mm * (1 - PITCH_SLACK), query.module_mm * (1 + PITCH_SLACK)]
    if not parts:
        return None
    if query.state:
        parts.append("state = ?")
        values.append(query.state)
    return " AND ".join(parts), values


def statement(query: Query, ranked: bool, most: int) -> Condition:
    """The whole SELECT: ids of sheets, the best match first or, where they are not ranked, as they were entered."""
    match = query.match()
    # +rowid: the words are looked up once, not once for each sheet that the other conditions leave. bm25(), not rank:
    # only the sheets that are left are ranked
    table, key, order = (
        ("words", "+words.rowid", f"bm25(words, {_WEIGHTS})") if match else ("sheets", "sheets.id", "folder")
    )
    conditions: list[Condition] = [("words MATCH ?", [match])] if match else []
    conditions += _conditions(query, key)
    where = " AND ".join(text for text, _ in conditions) or "1"
    values = [value for _, inner in conditions for value in inner]
    ordered = f" ORDER BY {order}" if ranked else ""
    return f"SELECT {key} FROM {table} WHERE {where}{ordered} LIMIT ? OFFSET ?", [*values, most, query.skip]


def _conditions(query: Query, key: str) -> Iterator[Condition]:
    """One for each thing that was asked for."""
    for wanted in query.sizes:
        where, values = size_condition(wanted, query.state)
        yield f"{key} IN (SELECT sheet FROM sizes WHERE {where})", values
    gear = gear_condition(query)
    if gear is not None:
        yield f"{key} IN (SELECT sheet FROM gears WHERE {gear[0]})", gear[1]
    if query.state and not query.sizes and gear is None:
        of_sheet = f"WHERE state = ? AND sheet = {key}"
        yield (
            f"(EXISTS (SELECT 1 FROM sizes {of_sheet}) OR EXISTS (SELECT 1 FROM gears {of_sheet}))",
            [query.state, query.state],
        )
