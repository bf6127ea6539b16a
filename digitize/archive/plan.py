"""Which bags an archive gets: one for each print file, with a result for each of its pages."""

import hashlib
import json
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from calibrate.errors import InputError
from digitize.archive.catalogue import sheet_folders
from digitize.archive.record import SHEET, read_record
from digitize.batch.jobs import SUFFIXES, file_sha256, safe_name
from digitize.found import NAME as FOUND
from digitize.found import source_of
from digitize.report.write import FILES, INSPECTION, PAPER_FILES
from digitize.review.journal import NAME as JOURNAL
from digitize.review.journal import Said, said_in

LAYOUT = "bag/1"
NEEDED = ("dimensions.json", SHEET, FOUND)
KEPT = (*FILES, *PAPER_FILES, INSPECTION)
"""Files of a result that go into the bag as they are."""
BETWEEN = "--"
"""Stands for a step into a folder in the name of a bag: no bag may lie in another."""


@dataclass(frozen=True)
class Page:
    """The result of one page: its number, its folder, and its own folder in the bag ("" for a file of one page)."""

    number: int
    folder: Path
    place: str


@dataclass(frozen=True)
class Plan:
    """One bag: its name in the archive, the SHA-256 of the print file and that file's name, and the results."""

    name: str
    sha256: str
    file: str
    pages: tuple[Page, ...]


def plans_of(home: Path) -> tuple[tuple[Plan, ...], tuple[str, ...]]:
    """The bags for all results under a folder, and a sentence for each damaged result; pages of a file share a bag."""
    plans: dict[tuple[str, str], Plan] = {}
    damaged = []
    for folder in sheet_folders(home):
        record = read_record(folder)
        if record is None:
            damaged.append(f"{folder} is damaged; digitize the print again.")
            continue
        paged = folder.name == f"p{record.page:03d}" and folder != home
        name = bag_name(home, folder.parent if paged else folder)
        page = Page(record.page, folder, folder.name if paged else "")
        earlier = plans.get((name, record.sha256), Plan(name, record.sha256, record.file, ()))
        plans[name, record.sha256] = Plan(name, record.sha256, record.file, (*earlier.pages, page))
    twice = {name for name, count in Counter(name for name, _ in plans).items() if count > 1}
    damaged += [f"{name} holds pages of several files; digitize each into its own folder." for name in sorted(twice)]
    return tuple(plan for plan in plans.values() if plan.name not in twice), tuple(damaged)


def bag_name(home: Path, folder: Path) -> str:
    """A name that follows from the folder's place alone, safe on any file system."""
    parts = folder.relative_to(home).parts or (home.resolve().name,)
    return BETWEEN.join(_safe(part) for part in parts)


def _safe(part: str) -> str:
    safe = safe_name(part).replace(BETWEEN, "-")
    return safe if safe == part else f"{safe}-{hashlib.sha256(part.encode(errors='surrogateescape')).hexdigest()[:8]}"


def master_name(file: str) -> str:
    """The print file's own name, as far as it is safe."""
    path = Path(file)
    suffix = path.suffix if path.suffix.lower() in SUFFIXES else ""
    return safe_name(path.stem) + suffix


def result_files(page: Page) -> Iterator[Path]:
    """The files of a result that go into the bag.

    Raises
    ------
    InputError
        One that is needed is missing, or one is no plain file.
    """
    for name in KEPT:
        path = page.folder / name
        if path.is_symlink() or (path.exists() and not path.is_file()):
            raise InputError(f"{path} is no plain file but a link or the like; put the file itself there.")
        if path.exists():
            yield path
        elif name in NEEDED:
            raise InputError(f"{page.folder} holds no {name}; digitize the print again.")


def find_master(plan: Plan, prints: Path | None) -> Path:
    """The print file, byte for byte as it was digitized: where it lay then, or anywhere under ``prints``.

    Raises
    ------
    InputError
        It is nowhere.
    """
    places = [source_of(page.folder / FOUND) for page in plan.pages]
    if prints is not None:
        name = Path(plan.file).name
        places += sorted(path for path in prints.rglob("*") if path.name == name)
    for path in dict.fromkeys(places):
        if path.is_file() and file_sha256(path) == plan.sha256:
            return path
    file = Path(plan.file).name
    raise InputError(f"{plan.name}: {file} is not where it was digitized, or has changed; say where with --prints.")


def statements(page: Page, sha256: str) -> tuple[Said, ...]:
    """What a review of this page has said, and holds now."""
    path = page.folder / JOURNAL
    return said_in(path, sha256, page.number) if path.exists() else ()


def fingerprint(plan: Plan, said: Sequence[tuple[Said, ...]]) -> str:
    """Hash of all that a bag is made from: while it stands, so does the bag."""
    content = {
        "layout": LAYOUT,
        "master": [plan.sha256, plan.file],
        "pages": [
            [page.number, page.place, {path.name: file_sha256(path) for path in result_files(page)}]
            for page in plan.pages
        ],
        "statements": [[[each.number, each.body, each.by, each.on] for each in page] for page in said],
    }
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()
