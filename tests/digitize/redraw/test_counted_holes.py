"""A size whose callout counts the holes it is of: ``Ø10 2 HOLES``."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from ezdxf.entities.lwpolyline import LWPolyline

from digitize.dimensions.table import State
from digitize.lettering.text import Kind, Unit
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written

CALLOUT_AT = (200.0, 150.0)


def drilled(state: State = State.AGREED) -> Print:
    """A plate with holes drawn 10.0, 10.4 and 14 wide; the leader ends at the first, and the count tells two."""
    print_ = Print()
    print_.path((50, 50), (150, 50), (150, 110), (50, 110), closed=True)
    first, second = print_.arc((70.0, 80.0), 5.0), print_.arc((100.0, 80.0), 5.2)
    print_.arc((130.0, 80.0), 7.0)
    print_.row("Ø10 2 HOLES", Fraction(10), Kind.DIAMETER, CALLOUT_AT, (65.0, 80.0), (75.0, 80.0), arcs=(first,))
    print_.row("Ø10 2 HOLES", Fraction(2), Kind.COUNT, CALLOUT_AT, (70.0, 80.0), (70.0, 80.0), arcs=(first, second),
               unit=Unit.COUNT, state=state)  # fmt: skip
    print_.dimensions[1] = replace(print_.dimensions[1], quad_px=print_.dimensions[0].quad_px)
    return print_


def test_every_hole_that_a_callout_counts_has_its_size(tmp_path: Path) -> None:
    drawing, report = written(drilled(), tmp_path)
    widths = [2 * each.dxf.radius for each in drawing.modelspace().query("CIRCLE")]
    assert sorted(widths) == pytest.approx([10.0, 10.0, 14.0], rel=1e-6)
    assert report.contradicting == report.in_excess == ()


def test_a_count_that_is_not_agreed_governs_one_hole(tmp_path: Path) -> None:
    drawing, _ = written(drilled(State.UNPROVEN), tmp_path)
    widths = [2 * each.dxf.radius for each in drawing.modelspace().query("CIRCLE")]
    assert sorted(widths) == pytest.approx([10.0, 10.4, 14.0], rel=1e-2)
    assert sorted(widths)[1] == pytest.approx(10.4, abs=0.05)


def placed(upper: Fraction | None = None) -> Print:
    """Two equal holes drawn one over the other, 0.1 apart sideways, and a third that is 0.9 off their line.

    A figure tells how far the lower one is from the left edge, and perhaps another that of the upper one.
    """
    print_ = Print()
    print_.path((50, 50), (150, 50), (150, 110), (50, 110), closed=True)
    for x, y in ((70.0, 65.0), (70.1, 95.0), (70.9, 80.0)):
        print_.arc((x, y), 5.0)
    print_.row("20", Fraction(20), Kind.LINEAR, (60, 65), (50, 65), (70, 65))
    if upper is not None:
        print_.row(str(upper), upper, Kind.LINEAR, (60, 95), (50, 95), (70.1, 95))
    return print_


def middles(print_: Print, folder: Path) -> list[float]:
    drawing, _ = written(print_, folder)
    circles = sorted(drawing.modelspace().query("CIRCLE"), key=lambda each: float(each.dxf.center.y))
    polylines = [each for each in drawing.modelspace() if isinstance(each, LWPolyline)]
    left = min(point[0] for each in polylines for point in each.get_points("xy"))
    return [each.dxf.center.x - left for each in circles]


def test_equal_holes_in_line_are_placed_by_one_figure(tmp_path: Path) -> None:
    low, beside, high = middles(placed(), tmp_path)
    assert (low, high) == pytest.approx((20.0, 20.0), abs=1e-9)
    assert beside == pytest.approx(20.9, abs=0.2)


def test_a_figure_of_its_own_goes_before_the_row(tmp_path: Path) -> None:
    low, _, high = middles(placed(Fraction("20.2")), tmp_path)
    assert (low, high) == pytest.approx((20.0, 20.2), abs=1e-9)


@pytest.mark.parametrize(("upper", "said"), [(None, True), (Fraction("20.2"), False)])
def test_a_row_is_told_where_it_places_a_hole(upper: Fraction | None, said: bool, tmp_path: Path) -> None:
    drawing, report = written(placed(upper), tmp_path)
    told = [each for each in report.notes if "2 equal holes are taken to be in line at x 70.03 mm" in each]
    assert bool(told) is said
    assert all("drawn 0.100 apart" in each for each in told)
    lines = sorted(drawing.modelspace().query("TEXT[layer=='REMARK']"), key=lambda each: -float(each.dxf.insert.y))
    assert " ".join(each.dxf.text for each in lines) == "".join(told)


def test_a_hole_that_is_drawn_off_the_row_is_named_as_scaled(tmp_path: Path) -> None:
    _, report = written(placed(), tmp_path)
    (said,) = (each for each in report.notes if "degrees of freedom" in each)
    assert "middle across 0.87" in said


def test_a_row_drawn_in_line_needs_no_remark(tmp_path: Path) -> None:
    print_ = Print()
    print_.path((50, 50), (150, 50), (150, 110), (50, 110), closed=True)
    for y in (65.0, 95.0):
        print_.arc((70.0, y), 5.0)
    drawing, report = written(print_, tmp_path)
    assert not any("in line" in each for each in report.notes)
    assert not drawing.modelspace().query("TEXT[layer=='REMARK']")
