"""The one place that compiles Python loops over pixels to machine code."""

from collections.abc import Callable
from typing import ParamSpec, TypeVar, cast

from numba import njit

P = ParamSpec("P")
R = TypeVar("R")


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Compile a function over arrays and numbers once, and keep the result beside its source file."""
    return cast(Callable[P, R], njit(cache=True, nogil=True)(function))
