"""Open ends on the check print."""

import pytest

from digitize.redraw.report import OpenEnd
from digitize.report.open_marks import MOST_NAMED, open_marks


@pytest.mark.parametrize(("count", "named"), [(1, True), (MOST_NAMED, True), (MOST_NAMED + 1, False)])
def test_words_beside_many_open_ends_do_not_cover_the_figures(count: int, named: bool) -> None:
    marks = open_marks([OpenEnd("A", (1.0, 2.0), (60.0 * i, 20.0)) for i in range(count)], 0.1)
    assert len(marks) == count
    assert all((mark.words == "open 1.00, 2.00") is named for mark in marks)


def test_the_two_sides_of_a_gap_have_one_mark_between_them() -> None:
    (mark,) = open_marks([OpenEnd("A", (1.0, 2.0), (10.0, 20.0)), OpenEnd("A", (5.0, 2.0), (50.0, 20.0))], 0.1)
    assert mark.path[:4].mean(axis=0) == pytest.approx([30.0, 20.0])
    assert mark.words == "open 1.00, 2.00"
