"""A figure is tied to what its extension lines start from, where several things lie at its end's place."""

from fractions import Fraction
from pathlib import Path

import pytest
from hand_drawn import Print
from test_part import written

from digitize.lettering.text import Kind
from digitize.redraw.solving.marks import feet_of
from digitize.strokes.primitives import Dash, Line, Role


def bevelled_over_a_bore(extended: bool = True) -> Print:
    """A plate 100 by 60 whose upper right corner is cut 20 wide and 30 high; a bore's rim lies .2 right of the cut."""
    print_ = Print()
    print_.path((50, 50), (150, 50), (150, 80), (130, 110), (50, 110), closed=True)
    bore = print_.arc((120.2, 75.0), 10.0)
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 40), (50, 40), (150, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110))
    print_.row("30", Fraction(30), Kind.LINEAR, (160, 65), (160, 50), (160, 80))
    print_.row("70", Fraction(70), Kind.LINEAR, (85, 30), (50, 30), (120.2, 30))
    print_.row("Ø20", Fraction(20), Kind.DIAMETER, (90, 90), (110.2, 75), (130.2, 75), arcs=(bore,))
    leading = tuple(print_.line((x, 111.5), (x, 122), Role.EXTENSION) for x in (130.05, 150)) if extended else ()
    print_.row("20", Fraction(20), Kind.LINEAR, (140, 120), (130.05, 120), (150, 120), lines=leading)
    return print_


def test_a_corner_that_the_extension_line_starts_from_goes_before_a_rim_behind_it(tmp_path: Path) -> None:
    _, report = written(bevelled_over_a_bore(), tmp_path)
    assert report.left_out == report.contradicting == ()
    outer, _ = report.outlines
    assert outer.determined
    assert outer.area_mm2 == pytest.approx(100 * 60 - 20 * 30 / 2, rel=1e-9)


def test_without_an_extension_line_the_rim_goes_before_the_corner(tmp_path: Path) -> None:
    _, report = written(bevelled_over_a_bore(extended=False), tmp_path)
    assert not report.outlines[0].determined


def test_a_foot_is_the_far_end_of_the_line_that_leads_to_an_end() -> None:
    left, right = (Line((x, 10.0), (x + 0.1, 61.0), 2.0, role=Role.EXTENSION) for x in (0.0, 80.0))
    dimension_line = Line((0.0, 60.0), (80.0, 60.0), 2.0, role=Role.DIMENSION)
    assert feet_of((0.0, 60.0), (80.0, 60.0), (right, dimension_line, left)) == ((0.0, 10.0), (80.0, 10.0))
    assert feet_of((0.0, 60.0), (80.0, 60.0), (right,)) == (None, (80.0, 10.0))


@pytest.mark.parametrize(("off", "rival", "tied"), [(1.2, 0.0, True), (1.2, 2.5, False), (2.0, 0.0, False)])
def test_a_head_beside_its_edge_is_tied_to_it_where_nothing_else_is_near(
    off: float, rival: float, tied: bool, tmp_path: Path
) -> None:
    """A plate 100 by 60 with a step in its top; the figure of its height ends a little above the edge."""
    print_ = Print()
    step = [(100, 110 + rival), (150, 110 + rival)] if rival else [(150, 110)]
    print_.path((50, 50), (150, 50), *reversed(step), (100, 110), (50, 110), closed=True)
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110 + off))
    _, report = written(print_, tmp_path)
    assert (report.left_out == ()) is tied


def test_a_size_below_its_plate_is_not_of_an_extension_line_that_was_taken_for_a_centre_line(tmp_path: Path) -> None:
    print_ = Print()
    print_.path((50, 50), (150, 50), (150, 110), (50, 110), closed=True)
    print_.line((50.2, 46), (50.2, 28), Role.CENTRE, Dash.CHAIN)
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 30), (50.1, 30), (150, 30))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110))
    _, report = written(print_, tmp_path)
    (outer,) = report.outlines
    assert outer.determined
    assert outer.area_mm2 == pytest.approx(6000.0, rel=1e-9)
