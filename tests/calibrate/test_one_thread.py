"""Linear algebra keeps to one thread while a sheet is worked on, and is free again after it."""

import pytest
import scipy.linalg  # noqa: F401, loads the libraries that are counted
from threadpoolctl import threadpool_info, threadpool_limits

from calibrate.one_thread import on_one_thread


def blas_threads() -> set[int]:
    return {int(library["num_threads"]) for library in threadpool_info() if library["user_api"] == "blas"}


@on_one_thread
def seen_inside(fail: bool) -> set[int]:
    if fail:
        raise KeyError
    return blas_threads()


def test_one_inside_and_as_before_outside() -> None:
    with threadpool_limits(limits=2, user_api="blas"):
        assert blas_threads() == {2}
        assert seen_inside(fail=False) == {1}
        assert blas_threads() == {2}


def test_free_again_after_a_refusal() -> None:
    with threadpool_limits(limits=2, user_api="blas"):
        with pytest.raises(KeyError):
            seen_inside(fail=True)
        assert blas_threads() == {2}
