"""One review of a sheet at a time."""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from calibrate.errors import InputError

LOCK = ".review-lock"


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Keep a second review of the same folder out.

    Raises
    ------
    InputError
        There is one, or the folder is none.
    """
    if not folder.is_dir():
        raise InputError(f"{folder} is no folder; give the one that digitize sheet wrote.")
    with (folder / LOCK).open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise InputError(
                f"{folder.name} is under review already; go on in that browser, or stop that digitize review first."
            ) from error
        try:
            yield
        finally:
            (folder / LOCK).unlink(missing_ok=True)
