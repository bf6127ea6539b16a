"""A recess whose mouth was traced shut on one side of a centre line; areas by hand."""

from pathlib import Path

import pytest

from digitize.strokes.primitives import Role
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_loose_ends import outer_areas


def wheel_section(upper_floor: float, hatched: bool = False) -> Print:
    """A section 100 by 60 about a level centre line; its rim has a recess 40 wide above, its floor at a height, and one
    10 deep below that a line runs over; where ``hatched``, section lines fill the lower one."""
    print_ = Print()
    upper = ((150.0, 110.0), (120.0, 110.0), (120.0, upper_floor), (80.0, upper_floor), (80.0, 110.0), (50.0, 110.0))
    print_.path((50.0, 50.0), (150.0, 50.0), *upper, closed=True)
    print_.path((80.0, 50.0), (80.0, 60.0), (120.0, 60.0), (120.0, 50.0))
    print_.line((40.0, 80.0), (160.0, 80.0), Role.CENTRE)
    for x in (60.0, 90.0, 100.0, 110.0, 130.0):
        if hatched or not 80.0 < x < 120.0:
            print_.line((x, 52.0), (x + 5.0, 57.0), Role.HATCH)
    return print_


def test_the_mouth_is_opened_as_on_the_other_side(tmp_path: Path) -> None:
    assert outer_areas(wheel_section(100.0), tmp_path) == pytest.approx([6000.0 - 2 * 400.0])


@pytest.mark.parametrize(("upper_floor", "hatched"), [(90.0, False), (100.0, True)])
def test_it_stays_shut_where_both_sides_would_still_differ_or_section_lines_fill_it(
    upper_floor: float, hatched: bool, tmp_path: Path
) -> None:
    recess = 40.0 * (110.0 - upper_floor)
    assert outer_areas(wheel_section(upper_floor, hatched), tmp_path) == pytest.approx([6000.0 - recess])
