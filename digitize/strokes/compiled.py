"""The one place that compiles Python loops over pixels to machine code.

Machine code is kept beside its source, and numba drops it when that file changes. But it holds helpers of other files
too: after an update it would run with old ones. So all of it is dropped where any file with compiled functions changed.
"""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import ParamSpec, TypeVar, cast

from numba import njit

P = ParamSpec("P")
R = TypeVar("R")
ROOM = Path(__file__).parent
STAMP = "compiled.stamp"


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a function over arrays and numbers once, and keep the result beside its source file."""
    return cast(Callable[P, R], njit(cache=True, nogil=True)(function))


def drop_stale(room: Path) -> bool:
    """Drop the kept machine code of a folder where it was made of other sources than now.

    Returns
    -------
    bool
        Whether it was; False too where the folder can't be written, for then nothing is kept in it.
    """
    sources = (source.read_bytes() for source in sorted(room.rglob("*.py")))
    now = hashlib.sha256(b"".join(text for text in sources if b"@compiled" in text)).hexdigest()
    stamp = room / "__pycache__" / STAMP
    try:
        if stamp.exists() and stamp.read_text(encoding="ascii") == now:
            return False
        for index in room.rglob("__pycache__/*.nbi"):
            index.unlink(missing_ok=True)
        stamp.parent.mkdir(exist_ok=True)
        stamp.write_text(now, encoding="ascii")
    except OSError:
        return False
    return True


drop_stale(ROOM)
