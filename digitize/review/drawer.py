"""Every sheet of a drawer: found as `digitize find` finds them, and opened for review when someone looks at one."""

import hashlib
import threading
import time
from collections.abc import Mapping
from contextlib import ExitStack
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from calibrate.errors import InputError
from digitize.archive import wording
from digitize.archive.asked import FIELDS, KINDS, query_of
from digitize.archive.catalogue import Hit, sheet_folders, with_catalogue
from digitize.archive.page import PICTURE, small_picture
from digitize.archive.query import Query
from digitize.archive.record import plain
from digitize.found import NAME as FOUND
from digitize.found import source_of
from digitize.review.alone import alone
from digitize.review.reviewed import DOUBTFUL_FIRST, ReviewedSheet

AT_ONCE = 60
"""Sheets that the page shows before it is asked for more."""
IDLE_S = 60.0
"""A sheet that no page waits on is closed after so long: each open one keeps its picture in memory."""
KEPT_PICTURES = 2000
"""Small pictures of some 10 kB each."""
BAG_MARK = "bagit.txt"
KEY_FIGURES = 16


def is_drawer(folder: Path) -> bool:
    """Is it a folder of finished sheets, and none itself?"""
    return folder.is_dir() and not (folder / FOUND).exists() and next(sheet_folders(folder), None) is not None


def key_of(folder: str) -> str:
    """A sheet's place in an address: the same for as long as its folder has its name."""
    return hashlib.sha256(folder.encode()).hexdigest()[:KEY_FIGURES]


@dataclass
class _Open:
    """A sheet under review, what has to be undone when it is closed, and when it was last asked for."""

    reviewed: ReviewedSheet
    closing: ExitStack
    asked_s: float = field(default_factory=time.monotonic)


class Drawer:
    """A folder of results.

    Parameters
    ----------
    home : Path
    prints : Path, optional
        Where the prints are now, if they were moved.
    """

    def __init__(self, home: Path, prints: Path | None = None) -> None:
        self.home, self.prints = home, prints
        self._lock = threading.Lock()
        self._open: dict[str, _Open] = {}
        self._folders: dict[str, str] = {}
        self._small = lru_cache(KEPT_PICTURES)(lambda path, time_ns: small_picture(path))

    def content(self) -> dict[str, Any]:
        """What the drawer is called and holds, as it is now."""
        sheets, states = with_catalogue(self.home, lambda catalogue: catalogue.count())
        return {"name": self.home.resolve().name, "sheets": sheets, "states": _worst_first(states)}

    def find(self, asked: Mapping[str, str]) -> dict[str, Any]:
        """The sheets that a form asks for, as JSON values; all of them where it asks for nothing.

        Raises
        ------
        InputError
            It holds what is no size or number.
        """
        query = _query(asked)
        hits, more = with_catalogue(self.home, lambda catalogue: catalogue.find(query), refresh=False)
        return {"sheets": [self._sheet(hit) for hit in hits], "more": more}

    def _sheet(self, hit: Hit) -> dict[str, Any]:
        key = key_of(hit.folder)
        self._folders[key] = hit.folder
        return {
            "key": key,
            "folder": hit.folder,
            "file": hit.fields["file"],
            "title_block": wording.title_block(hit),
            "states": _worst_first(hit.states),
            "found": wording.found_on(hit),
            "archived": self._archived(self.home / hit.folder),
        }

    def _archived(self, folder: Path) -> bool:
        """Does it lie in a bag, where a journal would be a file too many?"""
        return any((each / BAG_MARK).exists() for each in (folder, *folder.parents))

    def folder(self, key: str) -> Path:
        """The folder of a sheet.

        Raises
        ------
        InputError
            There is none.
        """
        if key not in self._folders:
            names = (plain(each.relative_to(self.home).as_posix()) for each in sheet_folders(self.home))
            self._folders = {key_of(name): name for name in names}
        if key not in self._folders:
            raise InputError("There is no such sheet in this drawer; go back to the list and reload it.")
        return self.home / self._folders[key]

    def picture(self, key: str) -> bytes:
        """A sheet's small picture as JPEG; empty where it has none.

        Raises
        ------
        InputError
            There is no such sheet.
        """
        path = self.folder(key) / PICTURE
        return self._small(path, path.stat().st_mtime_ns) if path.is_file() else b""

    def sheet(self, key: str) -> ReviewedSheet:
        """A sheet, opened where it is not yet; those that nobody looks at any more are closed.

        Raises
        ------
        InputError
            It can't be reviewed, or someone else does.
        """
        folder = self.folder(key)
        with self._lock:
            self._close([name for name, each in self._open.items() if name != key and _idle(each)])
            opened = self._open.get(key) or self._opened(folder)
            opened.asked_s = time.monotonic()
            self._open[key] = opened
            return opened.reviewed

    def _opened(self, folder: Path) -> _Open:
        if self._archived(folder):
            raise InputError(f"{folder.name} lies in an archive; review the result that it was made from.")
        with ExitStack() as closing:
            closing.enter_context(alone(folder))
            reviewed = ReviewedSheet(folder, self._print(folder))
            closing.callback(reviewed.journal.close)
            return _Open(reviewed, closing.pop_all())

    def _print(self, folder: Path) -> Path | None:
        """The print under the folder of prints that was named, if one was."""
        if self.prints is None:
            return None
        name = source_of(folder / FOUND).name
        return next((path for path in sorted(self.prints.rglob("*")) if path.name == name), None)

    def _close(self, keys: list[str]) -> None:
        for key in keys:
            self._open.pop(key).closing.close()

    def close(self) -> None:
        """Close every sheet."""
        with self._lock:
            self._close(list(self._open))


def _idle(opened: _Open) -> bool:
    return opened.reviewed.listeners == 0 and time.monotonic() - opened.asked_s > IDLE_S


def _query(asked: Mapping[str, str]) -> Query:
    teeth, skip = asked.get("teeth", ""), asked.get("skip", "0")
    for text in (teeth, skip):
        if text and not (text.isascii() and text.isdigit() and len(text) < 10):
            raise InputError(f'"{text}" is no whole number.')
    return query_of(
        asked.get("words", ""),
        {name: asked.get(name, "") for name in FIELDS},
        {kind: [asked[kind]] for kind in KINDS if asked.get(kind)},
        asked.get("within", ""),
        int(teeth) if teeth else None,
        asked.get("pitch", ""),
        asked.get("module", ""),
        asked.get("state", ""),
        AT_ONCE,
        int(skip),
    )


def _worst_first(states: Mapping[str, int]) -> dict[str, int]:
    return {state.value: states[state.value] for state in DOUBTFUL_FIRST if states.get(state.value)}
