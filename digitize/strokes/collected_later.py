"""Python's search for rings of unreachable objects, put off while a function runs."""

import gc
from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

Given = ParamSpec("Given")
Made = TypeVar("Made")


def collected_later(work: Callable[Given, Made]) -> Callable[Given, Made]:
    """Put off the search while a function runs that makes many small objects, none of which point back at each other.

    Their number alone would set it off again and again, and each time it looks at them, and at last at all that is
    loaded: a sixth of the seconds of tracing a sheet full of specks. What nothing points at is freed without it.

    Examples
    --------
    >>> collected_later(gc.isenabled)(), gc.isenabled()
    (False, True)
    """

    @wraps(work)
    def undisturbed(*args: Given.args, **kwargs: Given.kwargs) -> Made:
        was_enabled = gc.isenabled()
        gc.disable()
        try:
            return work(*args, **kwargs)
        finally:
            if was_enabled:
                gc.enable()

    return undisturbed
