"""Linear algebra of a sheet on one thread."""

from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

from threadpoolctl import threadpool_limits

Given = ParamSpec("Given")
Made = TypeVar("Made")


def on_one_thread(work: Callable[Given, Made]) -> Callable[Given, Made]:
    """Keep the linear algebra libraries to one thread while a function runs.

    A sheet's systems are small: shared among threads they take longer, most of it spent waiting where other work runs
    beside, and sums come out in another order on another machine.
    """

    @wraps(work)
    def alone(*args: Given.args, **kwargs: Given.kwargs) -> Made:
        with threadpool_limits(limits=1, user_api="blas"):
            return work(*args, **kwargs)

    return alone
