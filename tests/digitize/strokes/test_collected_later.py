"""The search for unreachable objects is off while a function runs, and afterwards as it was before."""

import gc
from collections.abc import Iterator

import pytest

from digitize.strokes.collected_later import collected_later


@pytest.fixture(params=[True, False])
def was_enabled(request: pytest.FixtureRequest) -> Iterator[bool]:
    before = gc.isenabled()
    (gc.enable if request.param else gc.disable)()
    yield request.param
    (gc.enable if before else gc.disable)()


def test_the_search_is_as_before_when_the_function_raises(was_enabled: bool) -> None:
    @collected_later
    def fails() -> None:
        assert not gc.isenabled()
        raise ValueError("no ink")

    with pytest.raises(ValueError, match="no ink"):
        fails()
    assert gc.isenabled() is was_enabled


def test_one_within_another_leaves_it_off_until_the_outer_ends(was_enabled: bool) -> None:
    @collected_later
    def inner(fail: bool) -> None:
        if fail:
            raise ValueError("no ink")

    @collected_later
    def outer() -> list[bool]:
        inner(False)
        seen = [gc.isenabled()]
        with pytest.raises(ValueError, match="no ink"):
            inner(True)
        return [*seen, gc.isenabled()]

    assert outer() == [False, False]
    assert gc.isenabled() is was_enabled
