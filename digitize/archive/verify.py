"""Is every byte of a bag still as it was written?"""

import hashlib
import os
import re
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

import bagit

from digitize.archive.bag import ALGORITHM

MANIFEST, TAG_MANIFEST = f"manifest-{ALGORITHM}.txt", f"tagmanifest-{ALGORITHM}.txt"
_LINE = re.compile(r"([0-9a-fA-F]{128})\s+\*?(.+)")
_ENCODED = {"%0A": "\n", "%0a": "\n", "%0D": "\r", "%0d": "\r", "%25": "%"}


def verify_bag(bag: Path) -> Iterator[str]:
    """One sentence for each file that was changed, lost, added, or is none; nothing where the bag is as it was."""
    found = list(_differences(bag))
    yield from found
    if not found:
        try:
            bagit.Bag(str(bag)).validate()
        except (bagit.BagError, OSError, ValueError) as error:
            yield f"{bag.name} is no valid bag: {error}."


def _differences(bag: Path) -> Iterator[str]:
    for name in ("bagit.txt", MANIFEST, TAG_MANIFEST):
        if not (bag / name).is_file():
            yield f"{bag.name}: {name} is missing."
    listed: dict[str, str] = {}
    for manifest in (MANIFEST, TAG_MANIFEST):
        yield from _read(bag, manifest, listed)
    present = dict(_files(bag))
    for name, digest in sorted(listed.items()):
        path = present.pop(name, None)
        if path is None:
            if name not in (MANIFEST, "bagit.txt"):
                yield f"{bag.name}: {name} is missing."
        elif path.is_symlink():
            yield f"{bag.name}: {name} is a link and not the file itself."
        elif _digest(path) != digest:
            yield f"{bag.name}: {name} has changed since it was archived."
    present.pop(TAG_MANIFEST, None)
    for name in sorted(present):
        yield f"{bag.name}: {name} was added after it was archived."


def _read(bag: Path, manifest: str, listed: dict[str, str]) -> Iterator[str]:
    """Enter a manifest's lines; tell those that are none."""
    try:
        lines = (bag / manifest).read_text(encoding="utf-8").splitlines()
    except FileNotFoundError:
        return
    except (OSError, ValueError):
        yield f"{bag.name}: {manifest} can't be read."
        return
    for number, line in enumerate(lines, start=1):
        match = _LINE.fullmatch(line)
        name = re.sub("|".join(_ENCODED), lambda sign: _ENCODED[sign[0]], match[2]) if match else ""
        if match is None or not _inside(name):
            yield f"{bag.name}: line {number} of {manifest} names no file of this bag."
        else:
            listed[name] = match[1].lower()


def _inside(name: str) -> bool:
    path = PurePosixPath(name)
    return not path.is_absolute() and ".." not in path.parts and not name.startswith("~")


def _files(bag: Path) -> Iterator[tuple[str, Path]]:
    """Every file and every link under a bag."""
    for folder, below, files in os.walk(bag):
        links = [name for name in below if (Path(folder) / name).is_symlink()]
        for name in (*files, *links):
            path = Path(folder) / name
            yield path.relative_to(bag).as_posix(), path


def _digest(path: Path) -> str | None:
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, ALGORITHM).hexdigest()
    except OSError:
        return None
