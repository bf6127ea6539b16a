"""From what a person names to the pages that are to be digitized."""

import hashlib
import json
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from calibrate.errors import InputError
from calibrate.files.load import page_count
from calibrate.several import CUT_APART

SUFFIXES = frozenset({".tif", ".tiff", ".png", ".jpg", ".jpeg", ".jp2", ".j2k", ".pdf"})
UNSAFE = re.compile(r"[^\w.-]+")
LONGEST_NAME = 80
REFUSED, BACK = "refused.json", "back.json"
SHEET = "sheet.json"
BACK_OF = "the back of {front}: its lines shine through the paper in mirror image"


@dataclass(frozen=True)
class Job:
    """One page to digitize.

    Attributes
    ----------
    source : Path
    page : int
        From 1; 0 where the file's pages can't be counted, and ``refusal`` says why.
    sha256 : str
        Of the file.
    folder : str
        Of its results, under the batch's own; safe on any file system.
    refusal : str
    before : Job, optional
        The page that lies before it, whose back it may be.
    """

    source: Path
    page: int
    sha256: str
    folder: str
    refusal: str = ""
    before: "Job | None" = None


def find_files(sources: Sequence[str]) -> tuple[Path, ...]:
    """Every picture or PDF that files, folders and patterns name, each once, in order.

    Raises
    ------
    InputError
        A source names nothing.
    """
    found: dict[Path, Path] = {}
    for source in sources:
        files = sorted(_named(source))
        if not files:
            raise InputError(f"{source} names no TIFF, PNG, JPEG, JPEG 2000 or PDF file; check its spelling.")
        for path in files:
            found.setdefault(path.resolve(), path)
    return tuple(found.values())


def _named(source: str) -> Iterator[Path]:
    path = Path(source)
    if path.is_dir():
        yield from (each for each in path.rglob("*") if each.is_file() and each.suffix.lower() in SUFFIXES)
    elif path.is_file():
        yield path
    elif any(sign in source for sign in "*?["):
        home = Path(path.anchor) if path.anchor else Path()
        pattern = source.removeprefix(path.anchor)
        yield from (each for each in home.glob(pattern) if each.is_file())


def jobs_of(files: Iterable[Path]) -> Iterator[Job]:
    """One job a page; a file that can't be opened is one refused job."""
    before: Job | None = None
    for job in _pages_of(files):
        yield replace(job, before=before)
        before = None if job.refusal else job


def _pages_of(files: Iterable[Path]) -> Iterator[Job]:
    taken: set[str] = set()
    for path in files:
        sha256 = file_sha256(path)
        name = _unique(safe_name(path.stem), sha256, taken)
        try:
            pages = page_count(path)
        except InputError as error:
            yield Job(path, 0, sha256, name, str(error))
            continue
        for page in range(1, pages + 1):
            yield Job(path, page, sha256, name if pages == 1 else f"{name}/p{page:03d}")


def safe_name(stem: str) -> str:
    """A folder's name that no file system and no shell trips over.

    Examples
    --------
    >>> safe_name("spindle No. 4 / rev B"), safe_name("../.."), safe_name("")
    ('spindle-No.-4-rev-B', 'print', 'print')
    """
    name = UNSAFE.sub("-", stem).strip("-.")
    return name[:LONGEST_NAME] or "print"


def _unique(name: str, sha256: str, taken: set[str]) -> str:
    """Two files of one name in two folders get the first figures of their hash behind it."""
    unique = name if name.lower() not in taken else f"{name}-{sha256[:8]}"
    number = 2
    while unique.lower() in taken:
        unique, number = f"{name}-{sha256[:8]}-{number}", number + 1
    taken.add(unique.lower())
    return unique


def file_sha256(path: Path) -> str:
    """Hash of a file's bytes."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def standing(job: Job, out: Path) -> dict[str, Any] | None:
    """What an earlier run made of a job: its record, or None where it is still to be done."""
    for name in (SHEET, REFUSED):
        record = _record(out / job.folder / name)
        if record is not None and record.get("sha256") == job.sha256 and record.get("page") == job.page:
            return record
    return None


def notices(job: Job, out: Path) -> tuple[str, ...]:
    """What a person should look at on a page although nothing failed: several sheets in one scan, or a back."""
    record, back = standing(job, out), _record(out / job.folder / BACK)
    told = [] if record is None else [str(line) for line in record.get("warnings", []) if CUT_APART in str(line)]
    if record is not None and back is not None and back.get("back_of"):
        told.append(BACK_OF.format(front=back["back_of"]))
    return tuple(told)


def _record(path: Path) -> dict[str, Any] | None:
    try:
        content = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return content if isinstance(content, dict) else None
