"""Files that are there whole or not at all."""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

STAGING = ".writing-"
"""How the name of a folder begins in which files are being written."""
LAST = "sheet.json"
"""Moved after all others: where it is, the rest is."""


@contextmanager
def staged(folder: Path) -> Iterator[Path]:
    """Give an empty folder to write into, and move its files into ``folder`` when the block ends without an error.

    A crash before that leaves the files of an earlier run as they were, and none where there were none.

    Parameters
    ----------
    folder : Path
        Made where it is missing.

    Raises
    ------
    OSError
        Where the folder can't be written.
    """
    missing = [each for each in (folder, *folder.parents) if not each.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    stage = Path(tempfile.mkdtemp(prefix=STAGING, dir=folder))
    try:
        yield stage
        for path in sorted(stage.iterdir(), key=lambda each: (each.name == LAST, each.name)):
            path.replace(folder / path.name)
    finally:
        shutil.rmtree(stage)
        for each in missing:
            if any(each.iterdir()):
                break
            each.rmdir()
