"""The catalogue: every sheet of a cupboard in one SQLite file, found by its words, its lengths or its gear."""

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field, replace
from itertools import count
from pathlib import Path
from typing import TypeVar

from calibrate.errors import InputError
from digitize.archive.query import COLUMNS, RANKED_MOST, Query, gear_condition, size_condition, statement
from digitize.archive.record import SHEET, TABLE, GearFound, SheetRecord, Size, hash_of, plain, read_record, stamp_of
from digitize.archive.words import folded

NAME = "catalogue.sqlite"
VERSION = 1
"""Of the tables; a file of another version is made anew."""
BUSY_S = 30.0
"""Seconds to wait for another program that writes the same catalogue."""
DAMAGE = frozenset({sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_ERROR})
READ_ONLY = frozenset({sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN})
IN_MEMORY = ":memory:"
_BASE_CODE = 0xFF
"""Extended result codes of SQLite carry the plain one in their lowest byte."""
_TABLES = f"""
CREATE TABLE sheets (
    id INTEGER PRIMARY KEY, folder TEXT NOT NULL UNIQUE, stamp TEXT NOT NULL, hash TEXT NOT NULL, file TEXT NOT NULL,
    sha256 TEXT NOT NULL, page INTEGER NOT NULL, title TEXT NOT NULL, drawing_number TEXT NOT NULL,
    material TEXT NOT NULL, date TEXT NOT NULL, scale TEXT NOT NULL
);
CREATE VIRTUAL TABLE words USING fts5({", ".join(COLUMNS)}, tokenize = 'unicode61');
CREATE TABLE sizes (
    sheet INTEGER NOT NULL, row TEXT NOT NULL, kind TEXT NOT NULL, name TEXT NOT NULL, text TEXT NOT NULL,
    length_pm INTEGER, state TEXT NOT NULL
);
CREATE INDEX sizes_sheet ON sizes (sheet);
CREATE INDEX sizes_length ON sizes (length_pm, kind, name, state, sheet);
CREATE INDEX sizes_state ON sizes (state, sheet);
CREATE TABLE gears (sheet INTEGER NOT NULL, teeth INTEGER, module_mm REAL, state TEXT NOT NULL);
CREATE INDEX gears_sheet ON gears (sheet);
CREATE INDEX gears_pitch ON gears (teeth, module_mm, state, sheet);
CREATE INDEX gears_module ON gears (module_mm, sheet);
CREATE INDEX gears_state ON gears (state, sheet);
PRAGMA user_version = {VERSION};
"""
_SHEET_FIELDS = ("file", "sha256", "page", "title", "drawing_number", "material", "date", "scale")
Answer = TypeVar("Answer")


@dataclass(frozen=True)
class Hit:
    """A sheet that was found: its folder, what is written on it, and the values and gears that were asked for.

    ``states`` counts all values on it by their state.
    """

    folder: str
    fields: dict[str, str | int]
    sizes: tuple[Size, ...]
    gears: tuple[GearFound, ...]
    states: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Refreshed:
    """How many sheets were read anew, left as they were, and taken out."""

    read: int
    left: int
    gone: int


class Catalogue:
    """An open catalogue.

    Parameters
    ----------
    path : Path or str
        Made where it is missing; `IN_MEMORY` for one that is not kept.
    """

    def __init__(self, path: Path | str) -> None:
        self._connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)
        try:
            (version,) = self._connection.execute("PRAGMA user_version").fetchone()
            if version not in (0, VERSION):
                raise sqlite3.DatabaseError("of another version")
            if version == 0:
                self._connection.executescript(f"BEGIN EXCLUSIVE; {_TABLES} COMMIT;")
        except BaseException:
            self._connection.close()
            raise

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def refresh(self, home: Path) -> Refreshed:
        """Bring it up to what lies under ``home``; sheets that have not changed are not read again."""
        known = {
            folder: (number, stamp, digest)
            for number, folder, stamp, digest in self._connection.execute("SELECT id, folder, stamp, hash FROM sheets")
        }
        read = left = 0
        with self._change():
            for folder in sheet_folders(home):
                name = plain(folder.relative_to(home).as_posix())
                earlier = known.pop(name, None)
                if earlier is not None and self._still(folder, *earlier):
                    left += 1
                    continue
                if earlier is not None:
                    self._remove(earlier[0])
                stamp, digest, record = stamp_of(folder), hash_of(folder), read_record(folder)
                if record is not None:
                    self.add(name, stamp, digest, record)
                    read += 1
            for number, _, _ in known.values():
                self._remove(number)
        return Refreshed(read, left, len(known))

    def _still(self, folder: Path, number: int, stamp: str, digest: str) -> bool:
        """Is a sheet as it was? A copy with new times, but the same bytes, is."""
        now = stamp_of(folder)
        if now == stamp:
            return True
        if hash_of(folder) != digest:
            return False
        self._connection.execute("UPDATE sheets SET stamp = ? WHERE id = ?", (now, number))
        return True

    def add(self, folder: str, stamp: str, digest: str, record: SheetRecord) -> None:
        """Enter a sheet."""
        fields = [getattr(record, name) for name in _SHEET_FIELDS]
        marks = ", ".join("?" * (len(fields) + 3))
        run = self._connection
        number = run.execute(
            f"INSERT INTO sheets (folder, stamp, hash, {', '.join(_SHEET_FIELDS)}) VALUES ({marks})",
            (folder, stamp, digest, *fields),
        ).lastrowid
        texts = {name: folded(getattr(record, name)) for name in COLUMNS if name != "texts"}
        texts["texts"] = "\n".join(folded(text) for text in record.texts)
        run.execute(
            f"INSERT INTO words (rowid, {', '.join(COLUMNS)}) VALUES ({', '.join('?' * (len(COLUMNS) + 1))})",
            (number, *(texts[name] for name in COLUMNS)),
        )
        run.executemany(
            "INSERT INTO sizes VALUES (?, ?, ?, ?, ?, ?, ?)",
            [(number, each.row, each.kind, each.name, each.text, each.length_pm, each.state) for each in record.sizes],
        )
        run.executemany(
            "INSERT INTO gears VALUES (?, ?, ?, ?)",
            [(number, each.teeth, each.module_mm, each.state) for each in record.gears],
        )

    def _remove(self, number: int) -> None:
        for table, column in (("sheets", "id"), ("words", "rowid"), ("sizes", "sheet"), ("gears", "sheet")):
            self._connection.execute(f"DELETE FROM {table} WHERE {column} = ?", (number,))

    @contextmanager
    def _change(self) -> Iterator[None]:
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._connection.execute("ROLLBACK")
            raise
        self._connection.execute("COMMIT")

    def find(self, query: Query) -> tuple[tuple[Hit, ...], bool]:
        """The sheets that a query finds, and whether there are more of them."""
        numbers = self._numbers(query)
        return tuple(self._hit(number, query) for number in numbers[: query.most]), len(numbers) > query.most

    def _numbers(self, query: Query) -> list[int]:
        """Ids of the sheets, one more than asked for where there are more."""
        wide = replace(query, skip=0)
        ranked = not query.match() or len(self._select(wide, False, RANKED_MOST)) < RANKED_MOST
        return self._select(query, ranked, query.most + 1)

    def _select(self, query: Query, ranked: bool, most: int) -> list[int]:
        return [number for (number,) in self._connection.execute(*statement(query, ranked, most))]

    def _hit(self, number: int, query: Query) -> Hit:
        columns = ("folder", *_SHEET_FIELDS)
        folder, *fields = self._connection.execute(
            f"SELECT {', '.join(columns)} FROM sheets WHERE id = ?", (number,)
        ).fetchone()
        alone = ("state = ?", [query.state]) if query.state and not query.sizes else ("1", [])
        gear = gear_condition(query) or alone
        gears = self._connection.execute(
            f"SELECT teeth, module_mm, state FROM gears WHERE sheet = ? AND {gear[0]} ORDER BY rowid",
            (number, *gear[1]),
        )
        return Hit(
            folder,
            dict(zip(_SHEET_FIELDS, fields, strict=True)),
            self._sizes(number, query),
            tuple(GearFound(*row) for row in gears),
            self._states("WHERE sheet = ?", number),
        )

    def count(self) -> tuple[int, dict[str, int]]:
        """How many sheets there are, and how many values of each state."""
        (sheets,) = self._connection.execute("SELECT count(*) FROM sheets").fetchone()
        return sheets, self._states("")

    def _states(self, where: str, *values: int) -> dict[str, int]:
        rows = self._connection.execute(f"SELECT state, count(*) FROM sizes {where} GROUP BY state", values)
        return dict(rows.fetchall())

    def _sizes(self, number: int, query: Query) -> tuple[Size, ...]:
        """The values that the query asked for, in the order of the table."""
        conditions = [size_condition(wanted, query.state) for wanted in query.sizes]
        if not conditions and query.state:
            conditions = [("state = ?", [query.state])]
        if not conditions:
            return ()
        where = " OR ".join(f"({text})" for text, _ in conditions)
        # +sheet keeps SQLite from walking the lengths of all sheets for each one
        rows = self._connection.execute(
            f"SELECT row, kind, name, text, length_pm, state FROM sizes INDEXED BY sizes_sheet"
            f" WHERE sheet = ? AND ({where}) ORDER BY rowid",
            (number, *(value for _, inner in conditions for value in inner)),
        )
        return tuple(Size(*row) for row in rows)


def sheet_folders(home: Path) -> Iterator[Path]:
    """Every folder under ``home`` with a finished sheet, in the results or in a bag; links are not followed."""
    for folder, below, files in os.walk(home):
        below[:] = sorted(name for name in below if not name.startswith("."))
        if SHEET in files and TABLE in files:
            yield Path(folder)


def with_catalogue(
    home: Path, work: Callable[[Catalogue], Answer], rebuild: bool = False, refresh: bool = True
) -> Answer:
    """Do something with the catalogue of a folder, brought up to date; a damaged file is made anew.

    Parameters
    ----------
    home : Path
    work : callable
    rebuild : bool
        Read every sheet anew.
    refresh : bool
        Look for what has changed since it was last used; where it can't be kept, that is done each time.

    Raises
    ------
    InputError
        ``home`` is no folder, or the disk does not take the catalogue.
    """
    if not home.is_dir():
        raise InputError(f"{home} is no folder; give the one that digitize batch or digitize archive wrote.")
    if rebuild:
        _remove_file(home / NAME)
    for attempt in count():
        try:
            return _once(home, home / NAME, work, refresh or attempt > 0)
        except sqlite3.DatabaseError as error:
            code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_NOTADB) & _BASE_CODE
            if code in READ_ONLY:
                return _once(home, IN_MEMORY, work)
            if attempt or code not in DAMAGE:
                raise InputError(f"{home / NAME} can't be written ({error}); free room, then run it again.") from error
            _remove_file(home / NAME)
    raise AssertionError("unreachable")


def _once(home: Path, path: Path | str, work: Callable[[Catalogue], Answer], refresh: bool = True) -> Answer:
    refresh = refresh or not Path(path).exists()
    with closing(Catalogue(path)) as catalogue:
        if refresh:
            catalogue.refresh(home)
        return work(catalogue)


def _remove_file(path: Path) -> None:
    for each in (path, path.with_name(f"{path.name}-journal")):
        each.unlink(missing_ok=True)
