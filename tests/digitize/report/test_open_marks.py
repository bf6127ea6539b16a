"""Open ends on the check print."""

import pytest

from digitize.lettering.text import Unit
from digitize.redraw.report import OpenEnd
from digitize.report.open_marks import open_marks

A4_PX, HALF_A4_PX = (2100, 2970), (1485, 2100)


@pytest.mark.parametrize(
    ("count", "shape", "named"),
    [(1, A4_PX, True), (12, A4_PX, True), (13, A4_PX, False), (6, HALF_A4_PX, True), (7, HALF_A4_PX, False)],
)
def test_words_beside_many_open_ends_do_not_cover_the_figures(count: int, shape: tuple[int, int], named: bool) -> None:
    marks = open_marks([OpenEnd("A", (1.0, 2.0), (60.0 * i, 20.0)) for i in range(count)], 0.1, shape, Unit.MM)
    assert len(marks) == count
    assert all((mark.words == "open 1.00, 2.00") is named for mark in marks)


def test_the_two_sides_of_a_gap_have_one_mark_between_them() -> None:
    ends = [OpenEnd("A", (25.4, 2.0), (10.0, 20.0)), OpenEnd("A", (5.0, 2.0), (50.0, 20.0))]
    (mark,) = open_marks(ends, 0.1, A4_PX, Unit.INCH)
    assert mark.paths[0][:4].mean(axis=0) == pytest.approx([30.0, 20.0])
    assert mark.words == "open 1.000, 0.079"  # in the unit of the file
