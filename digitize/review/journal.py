"""The journal of a review: every statement kept the moment it is made."""

import json
import sqlite3
import threading
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from calibrate.errors import InputError

NAME = "review.sqlite"
BUSY_S = 5.0
"""Seconds to wait for another program that has the file open."""
STATEMENTS = "SELECT id, body, said_by, said_on, version FROM statements WHERE state = ? ORDER BY id"
_TABLES = """
CREATE TABLE IF NOT EXISTS statements (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    body TEXT NOT NULL,
    said_by TEXT NOT NULL,
    said_on TEXT NOT NULL,
    version INTEGER NOT NULL,
    state TEXT NOT NULL DEFAULT 'live' CHECK (state IN ('live', 'undone', 'dropped'))
);
CREATE TABLE IF NOT EXISTS sheet (sha256 TEXT NOT NULL, page INTEGER NOT NULL);
CREATE TABLE IF NOT EXISTS changes (count INTEGER NOT NULL);
"""


@dataclass(frozen=True)
class Said:
    """A statement as kept: its number, JSON values, who said it, the ISO date, and the journal's version then."""

    number: int
    body: dict[str, Any]
    by: str
    on: str
    version: int


class Journal:
    """Statements in an SQLite file with a write-ahead log: what was said survives a program that is killed.

    Parameters
    ----------
    path : Path
        Made where it is missing.
    sha256, page
        Of the print; a journal of another print is refused.

    Raises
    ------
    InputError
        The file is no journal, or one of another print.
    """

    def __init__(self, path: Path, sha256: str, page: int) -> None:
        self._lock = threading.Lock()
        try:
            self._connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None, check_same_thread=False)
            self._connection.execute("PRAGMA journal_mode=WAL")
            self._connection.execute("PRAGMA synchronous=FULL")
            self._connection.executescript(_TABLES)
            self._of_print(path, sha256, page)
        except sqlite3.DatabaseError as error:
            raise InputError(f"{path.name} is no review journal, or damaged; move it away to start anew.") from error

    def _of_print(self, path: Path, sha256: str, page: int) -> None:
        known = self._connection.execute("SELECT sha256, page FROM sheet").fetchone()
        if known is None:
            self._connection.execute("INSERT INTO sheet VALUES (?, ?)", (sha256, page))
            self._connection.execute("INSERT INTO changes VALUES (0)")
        elif known != (sha256, page):
            raise InputError(f"{path.name} is the review of another print; move it away to start anew.")

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def say(self, body: dict[str, Any], by: str, on: str) -> int:
        """Keep a statement and give its number; what had been undone can't be redone after it."""
        with self._change() as connection:
            connection.execute("UPDATE statements SET state = 'dropped' WHERE state = 'undone'")
            text = json.dumps(body, ensure_ascii=False)
            cursor = connection.execute(
                "INSERT INTO statements (body, said_by, said_on, version) SELECT ?, ?, ?, count + 1 FROM changes",
                (text, by, on),
            )
            return int(cursor.lastrowid or 0)

    def undo(self) -> bool:
        """Take the last statement back; False where there is none."""
        return self._flip("live", "undone", "DESC")

    def redo(self) -> bool:
        """Say again what was taken back last; False where there is nothing."""
        return self._flip("undone", "live", "ASC")

    def _flip(self, before: str, after: str, order: str) -> bool:
        with self._change() as connection:
            row = connection.execute(
                f"SELECT id FROM statements WHERE state = ? ORDER BY id {order} LIMIT 1", (before,)
            ).fetchone()
            if row is None:
                return False
            connection.execute("UPDATE statements SET state = ? WHERE id = ?", (after, row[0]))
            return True

    def live(self) -> tuple[Said, ...]:
        """What holds now, in the order it was said."""
        return self._select("live")

    def undone(self) -> int:
        """How many statements can be redone."""
        return len(self._select("undone"))

    def _select(self, state: str) -> tuple[Said, ...]:
        with self._lock:
            rows = self._connection.execute(STATEMENTS, (state,)).fetchall()
        return _as_said(rows)

    def version(self) -> int:
        """Grows with every change, whoever made it."""
        with self._lock:
            return int(self._connection.execute("SELECT count FROM changes").fetchone()[0])

    @contextmanager
    def _change(self) -> Iterator[sqlite3.Connection]:
        with self._lock:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield self._connection
                self._connection.execute("UPDATE changes SET count = count + 1")
            except BaseException:
                self._connection.execute("ROLLBACK")
                raise
            self._connection.execute("COMMIT")


def said_in(path: Path, sha256: str, page: int) -> tuple[Said, ...]:
    """What holds by a journal that is only looked at: nothing is written, also where the disk is full or read-only.

    Raises
    ------
    InputError
        The file is no journal, or one of another print.
    """
    unfinished = path.with_name(f"{path.name}-wal").exists()
    address = f"{path.resolve().as_uri()}?{'mode=ro' if unfinished else 'immutable=1'}"
    try:
        with closing(sqlite3.connect(address, timeout=BUSY_S, uri=True)) as connection:
            known = connection.execute("SELECT sha256, page FROM sheet").fetchone()
            rows = connection.execute(STATEMENTS, ("live",)).fetchall()
    except sqlite3.DatabaseError as error:
        raise InputError(f"{path} is no review journal, or damaged; move it away to go on without it.") from error
    if known != (sha256, page):
        raise InputError(f"{path} is the review of another print; move it away to go on without it.")
    return _as_said(rows)


def _as_said(rows: Iterable[tuple[Any, ...]]) -> tuple[Said, ...]:
    return tuple(Said(number, json.loads(body), *rest) for number, body, *rest in rows)
