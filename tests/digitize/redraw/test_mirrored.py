"""Edges that the other side of a centre line puts back; areas by hand."""

from fractions import Fraction
from pathlib import Path

import pytest

from digitize.lettering.text import Kind
from digitize.strokes.primitives import Role
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_loose_ends import outer_areas
from tests.digitize.redraw.test_part import written

Point = tuple[float, float]
SHAFT = 100.0 * 60.0


def shaft(*upper: tuple[Point, ...], axis: bool = True) -> Print:
    """A shaft 100 by 60 about a level axis at 80, its right end bevelled by 5; ``upper`` is what was traced above."""
    print_ = Print()
    print_.path((50.0, 80.0), (50.0, 50.0), (145.0, 50.0), (150.0, 55.0), (150.0, 80.0))
    print_.line((145.0, 50.0), (145.0, 80.0))
    for path in upper:
        print_.path(*path)
    if axis:
        print_.line((40.0, 80.0), (160.0, 80.0), Role.CENTRE)
    return print_


@pytest.mark.parametrize("axis", [True, False])
def test_a_lost_bevel_with_the_ends_beside_it_is_put_back(axis: bool, tmp_path: Path) -> None:
    """The top edge stops 4 before the bevel, its inner edge and the end face 3 and 5 below it."""
    traced = (
        ((50.0, 80.0), (50.0, 110.0), (141.0, 110.0)),
        ((145.0, 80.0), (145.0, 107.0)),
        ((150.0, 80.0), (150.0, 100.0)),
    )
    areas = outer_areas(shaft(*traced, axis=axis), tmp_path)
    assert areas == (pytest.approx([SHAFT - 25.0], rel=1e-3) if axis else [])


def test_the_mouth_of_a_recess_of_one_side_is_not_closed(tmp_path: Path) -> None:
    """A recess 20 wide and 10 deep in the top edge alone, one wall of it lost: no other side tells of it."""
    bevel = (145.0, 110.0), (150.0, 105.0), (150.0, 80.0)
    traced = ((50.0, 80.0), (50.0, 110.0), (90.0, 110.0)), ((90.0, 100.0), (110.0, 100.0), (110.0, 110.0), *bevel)
    print_ = shaft(*traced)
    print_.line((145.0, 80.0), (145.0, 110.0))
    assert all(area < SHAFT - 200.0 for area in outer_areas(print_, tmp_path))


def test_a_view_unlike_on_both_sides_gets_nothing_from_its_centre_line(tmp_path: Path) -> None:
    """Above, a quarter of the shaft alone was traced, and ends in the open."""
    print_ = shaft(((50.0, 80.0), (50.0, 110.0), (75.0, 110.0)))
    assert outer_areas(print_, tmp_path) == []


def test_an_edge_comes_back_to_one_that_it_ended_upon(tmp_path: Path) -> None:
    """Of a shoulder's two edges, both on the end face, the upper one was traced for a quarter of its length."""
    print_ = shaft(((50.0, 80.0), (50.0, 110.0), (145.0, 110.0), (150.0, 105.0), (150.0, 80.0)))
    print_.line((145.0, 80.0), (145.0, 110.0))
    print_.line((50.0, 60.0), (145.0, 60.0))
    print_.line((50.0, 100.0), (74.0, 100.0))
    drawing, _report = written(print_, tmp_path)
    lengths = sorted(
        each.dxf.start.distance(each.dxf.end) for each in drawing.modelspace().query("LINE[layer=='EDGE']")
    )
    assert sum(abs(each - 95.0) < 1e-6 for each in lengths) == 2


@pytest.mark.parametrize("root_below", [True, False])
def test_an_edge_comes_back_to_a_corner_whose_other_edges_both_sides_have(root_below: bool, tmp_path: Path) -> None:
    """A wheel's section, 40 by 60, recessed by 20 by 11 on the left above and below its axis. Above, the rim's inside
    and its end up to the teeth's root line are lost; without a root line below, that corner is of one side alone."""
    print_ = Print()
    print_.path((50.0, 107.5), (50.0, 110.0), (90.0, 110.0), (90.0, 50.0), (50.0, 50.0), (50.0, 55.0), (70.0, 55.0))
    print_.path((70.0, 55.0), (70.0, 66.0), (50.0, 66.0), (50.0, 94.0), (70.0, 94.0), (70.0, 103.0))
    for height in (52.5, 107.5) if root_below else (107.5,):
        print_.line((50.0, height), (90.0, height))
    print_.line((40.0, 80.0), (100.0, 80.0), Role.CENTRE)
    areas = outer_areas(print_, tmp_path)
    assert (areas == pytest.approx([2400.0 - 2 * 20.0 * 11.0], rel=1e-3)) is root_below


def test_walls_across_a_centre_line_tell_nothing_of_its_two_sides(tmp_path: Path) -> None:
    """A plate's edge view, 10 by 60, its walls traced as one with the extension lines 6 below it. Four fifths of what
    is drawn are its walls; the centre line of a hole throws its top to 4 below their ends, where nothing is drawn."""
    print_ = Print()
    print_.path((50.0, 44.0), (50.0, 110.0), (60.0, 110.0), (60.0, 44.0))
    print_.line((50.0, 50.0), (60.0, 50.0))
    print_.line((40.0, 75.0), (70.0, 75.0), Role.CENTRE)
    assert outer_areas(print_, tmp_path) == pytest.approx([600.0], rel=1e-3)


@pytest.mark.parametrize("figured", [True, False])
def test_a_half_that_is_mostly_lost_comes_back_where_figures_call_it_round(figured: bool, tmp_path: Path) -> None:
    """Of the upper half of a collared shaft's outline, the collar and both ends beside it are lost."""
    lower = [(50.0, 80.0), (50.0, 60.0), (90.0, 60.0), (90.0, 40.0), (110.0, 40.0), (110.0, 60.0), (150.0, 60.0)]
    print_ = Print()
    print_.path(*lower, (150.0, 80.0))
    print_.path((50.0, 80.0), (50.0, 100.0), (70.0, 100.0))
    print_.path((150.0, 80.0), (150.0, 100.0), (130.0, 100.0))
    print_.line((40.0, 80.0), (160.0, 80.0), Role.CENTRE)
    if figured:
        print_.row("Ø40", Fraction(40), Kind.DIAMETER, (170.0, 80.0), (170.0, 60.0), (170.0, 100.0))
    areas = outer_areas(print_, tmp_path)
    assert areas == (pytest.approx([100.0 * 40 + 20 * 40], rel=1e-3) if figured else [])


def test_a_small_bevel_of_one_side_is_not_filled_as_the_other_side_is(tmp_path: Path) -> None:
    """Above, a bevel of 1 was traced; below, the pen has filled it. Where the drawing has an edge, its image tells
    nothing."""
    print_ = Print()
    print_.path((50.0, 80.0), (50.0, 50.0), (150.0, 50.0), (150.0, 80.0))
    print_.path((50.0, 80.0), (50.0, 110.0), (149.0, 110.0), (150.0, 109.0), (150.0, 80.0))
    print_.line((40.0, 80.0), (160.0, 80.0), Role.CENTRE)
    assert outer_areas(print_, tmp_path) == pytest.approx([SHAFT - 0.5], abs=0.05)
