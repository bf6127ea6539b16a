"""Edges lost by the trace that loose ends tell; areas by hand."""

import math
from pathlib import Path

import pytest

from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.doubles import without_chords
from digitize.redraw.planes.plane_strokes import Pen, Round, Straight
from digitize.redraw.report import OutlineKind
from digitize.strokes.primitives import Role
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written


def outer_areas(print_: Print, folder: Path) -> list[float]:
    _drawing, report = written(print_, folder)
    return [each.area_mm2 for each in report.outlines if each.kind is OutlineKind.OUTER]


@pytest.mark.parametrize("role", [Role.EXTENSION, Role.LEADER])
@pytest.mark.parametrize(("line_from", "closes"), [((50.0, 90.0), True), ((50.0, 30.0), False)])
def test_an_edge_lies_under_the_thin_line_that_joins_two_loose_ends(
    role: Role, line_from: tuple[float, float], closes: bool, tmp_path: Path
) -> None:
    """The left edge of a block of 100 by 60 is lost between 50 and 90; an extension line that stops at the
    corner tells nothing of it. An edge at whose end section lines make a barb is taken for a leader."""
    print_ = Print()
    print_.path((50.0, 90.0), (50.0, 110.0), (150.0, 110.0), (150.0, 50.0), (50.0, 50.0))
    print_.line(line_from, (50.0, 20.0), role)
    assert outer_areas(print_, tmp_path) == (pytest.approx([6000.0], rel=1e-3) if closes else [])


@pytest.mark.parametrize(("step_mm", "closes"), [(1.0, True), (1.8, True), (4.0, False)])
def test_the_short_riser_of_a_step_is_put_back(step_mm: float, closes: bool, tmp_path: Path) -> None:
    """Its two treads end at one height; a longer edge would have been traced by itself."""
    print_ = Print()
    print_.path((100.0, 110.0), (50.0, 110.0), (50.0, 50.0), (150.0, 50.0), (150.0, 110.0 - step_mm))
    print_.line((150.0, 110.0 - step_mm), (100.2, 110.0 - step_mm))
    assert outer_areas(print_, tmp_path) == (pytest.approx([6000.0 - 50.0 * step_mm], rel=2e-3) if closes else [])


def test_treads_that_overlap_are_no_step(tmp_path: Path) -> None:
    """Two strokes that run the same way from their ends leave nothing between them to close."""
    print_ = Print()
    print_.path((100.0, 110.0), (50.0, 110.0), (50.0, 50.0), (150.0, 50.0), (150.0, 109.0))
    print_.line((150.0, 109.0), (90.0, 109.0))
    assert outer_areas(print_, tmp_path) == []


@pytest.mark.parametrize("hole", [True, False])
def test_the_rim_of_a_hole_is_an_edge_and_the_mouth_of_a_recess_is_none(hole: bool, tmp_path: Path) -> None:
    """A section of 100 by 60, its left edge traced as one with an extension line, cut above 90 and below 70;
    between them runs a hole about its centre line, or a recess 40 deep."""
    print_ = Print()
    print_.path((50.0, 110.0), (150.0, 110.0), (150.0, 50.0), (50.0, 50.0))
    print_.line((50.0, 110.0), (50.0, 20.0), Role.EXTENSION)
    reach = 150.0 if hole else 90.0
    for height in (70.0, 90.0):
        print_.line((50.0, height), (reach, height))
    if hole:
        print_.line((40.0, 80.0), (160.0, 80.0), Role.CENTRE)
    else:
        print_.line((90.0, 70.0), (90.0, 90.0))
    for height in (54.0, 60.0, 95.0, 100.0):
        print_.line((50.0, height), (58.0, height + 8.0), Role.HATCH)
    wanted = 6000.0 if hole else 6000.0 - 40.0 * 20.0
    assert outer_areas(print_, tmp_path) == pytest.approx([wanted], rel=1e-3)


@pytest.mark.parametrize("role", [Role.EXTENSION, Role.DIMENSION, Role.PHANTOM, Role.HIDDEN])
def test_an_edge_from_the_end_of_an_arc_lies_under_a_thin_line(role: Role, tmp_path: Path) -> None:
    """A block of 100 by 60 with a corner rounded by 20; its top edge was traced as one with a thin line."""
    print_ = Print()
    print_.path((150.0, 110.0), (150.0, 50.0), (50.0, 50.0), (50.0, 90.0))
    print_.arc((70.0, 90.0), 20.0, 90.0, 90.0)
    print_.line((30.0, 110.0), (170.0, 110.0), role)
    assert outer_areas(print_, tmp_path) == pytest.approx([6000.0 - (400.0 - math.pi * 100.0)], rel=1e-3)


def test_a_corner_is_not_led_on_across_the_mouth_of_a_recess(tmp_path: Path) -> None:
    """The recess, 20 high and 40 deep, has a sound corner below and a loose end above, where a bevel is lost."""
    print_ = Print()
    print_.path((50.0, 93.0), (50.0, 110.0), (150.0, 110.0), (150.0, 50.0), (50.0, 50.0), (50.0, 70.0), (90.0, 70.0))
    print_.path((90.0, 70.0), (90.0, 90.0), (51.0, 90.0))
    print_.line((50.0, 92.0), (50.0, 68.0), Role.EXTENSION)
    assert all(area < 5700.0 for area in outer_areas(print_, tmp_path))


@pytest.mark.parametrize("axis", [True, False])
def test_an_edge_under_an_extension_line_is_told_by_the_other_side_of_the_axis(axis: bool, tmp_path: Path) -> None:
    """A gear's section, 40 by 60: below, the end of the tooth from the root line at 57 to the tip at 50 was traced as
    one with the extension line that goes on from it; the root line ends at a corner."""
    print_ = Print()
    print_.path((50.0, 57.0), (50.0, 110.0), (90.0, 110.0), (90.0, 50.0), (50.0, 50.0))
    for root in (57.0, 103.0):
        print_.line((50.0, root), (90.0, root))
    print_.line((50.0, 70.0), (50.0, 20.0), Role.EXTENSION)
    if axis:
        print_.line((40.0, 80.0), (100.0, 80.0), Role.CENTRE)
    wanted = 40.0 * 60.0 if axis else 40.0 * 53.0
    assert outer_areas(print_, tmp_path) == pytest.approx([wanted], rel=1e-3)


def test_a_riser_is_no_ink_taken_twice(tmp_path: Path) -> None:
    """A step of half a millimetre: all of its riser lies near the one tread or the other."""
    print_ = Print()
    print_.path((100.0, 110.0), (50.0, 110.0), (50.0, 50.0), (150.0, 50.0), (150.0, 109.5))
    print_.line((150.0, 109.5), (100.2, 109.5))
    assert outer_areas(print_, tmp_path) == pytest.approx([6000.0 - 25.0], rel=1e-3)


def test_ink_between_a_line_and_the_arc_that_it_touches_is_no_third_edge(tmp_path: Path) -> None:
    """A block of 100 by 60 with a rounding of radius 50, whose arc and top edge both stop short of where they touch,
    2 before and .5 behind; a stroke 9 long lies over both."""
    print_ = Print()
    print_.path((100.5, 110.0), (150.0, 110.0), (150.0, 50.0), (50.0, 50.0), (50.0, 60.0))
    print_.arc((100.0, 60.0), 50.0, 92.3, 87.7)
    print_.line((94.5, 109.75), (103.5, 110.2))
    assert outer_areas(print_, tmp_path) == pytest.approx([6000.0 - 2500.0 * (1 - math.pi / 4)], rel=1e-3)


def test_a_bevel_beside_a_line_that_touches_a_far_arc_is_no_ink_of_both() -> None:
    """The pen errs by .4 mm: an edge 60 long runs into a rounding below, a bevel of .5 by 1.1 is above."""
    edge, bevel = Straight((100.0, 10.0), (100.0, 70.0)), Straight((99.5, 71.1), (100.0, 70.0))
    rounding = Round(Circular((90.0, 10.0), 10.0, 270.0, 90.0), 0)
    assert without_chords((edge, bevel, rounding), Pen(1.0, 0.4)) == (edge, bevel, rounding)


@pytest.mark.parametrize("hole", [True, False])
def test_the_rim_of_a_hole_that_no_centre_line_tells_is_told_by_its_fellow(hole: bool, tmp_path: Path) -> None:
    """A flange's section, 20 by 100, two holes of 10 at 20 from its middle; its right edge was traced as one with an
    extension line below. Where the lower one is a recess 15 deep, its floor and the upper hole's walls differ."""
    print_ = Print()
    print_.path((70.0, 100.0), (70.0, 130.0), (50.0, 130.0), (50.0, 30.0), (70.0, 30.0))
    print_.line((40.0, 80.0), (80.0, 80.0), Role.CENTRE)
    print_.line((70.0, 100.0), (70.0, 10.0), Role.EXTENSION)
    print_.line((50.0, 80.0), (70.0, 80.0))
    for height in (105.0, 115.0):
        print_.line((50.0, height), (70.0, height))
    walls = (45.0, 55.0) if hole else (42.0, 50.0)
    for height in walls:
        print_.line((50.0 if hole else 55.0, height), (70.0, height))
    if not hole:
        print_.line((55.0, walls[0]), (55.0, walls[1]))
    for low in (31.0, 35.0, 60.0, 65.0):
        print_.line((66.0, low), (70.0, low + 4.0), Role.HATCH)
    areas = outer_areas(print_, tmp_path)
    assert (areas == pytest.approx([2000.0], rel=1e-3)) is hole


def test_what_one_side_gets_back_shows_it_to_the_other(tmp_path: Path) -> None:
    """A section of 40 by 60 whose left end lies under extension lines on both sides of its axis: above, its loose ends
    tell; below, what was traced of the rim ends in a corner, at the teeth's root line, and only the mirror tells."""
    print_ = Print()
    print_.path((50.0, 66.0), (50.0, 94.0))
    print_.path((50.0, 110.0), (90.0, 110.0), (90.0, 50.0), (50.0, 50.0), (50.0, 52.5))
    for height, reach in ((66.0, 70.0), (94.0, 70.0), (52.5, 90.0), (107.5, 90.0)):
        print_.line((50.0, height), (reach, height))
    print_.path((70.0, 66.0), (70.0, 55.0), (50.0, 55.0))
    print_.path((70.0, 94.0), (70.0, 105.0), (50.0, 105.0))
    print_.line((50.0, 130.0), (50.0, 100.0), Role.EXTENSION)
    print_.line((50.0, 60.0), (50.0, 53.0), Role.EXTENSION)
    wanted = 40.0 * 60.0 - 2 * 20.0 * 11.0
    assert outer_areas(print_, tmp_path) != [pytest.approx(wanted, rel=1e-3)]
    print_.line((40.0, 80.0), (100.0, 80.0), Role.CENTRE)
    assert outer_areas(print_, tmp_path) == [pytest.approx(wanted, rel=1e-3)]


@pytest.mark.parametrize("deep_mm", [1.5, 4.0])
def test_the_lost_sides_of_a_shallow_keyseat_are_put_back(deep_mm: float, tmp_path: Path) -> None:
    """A square of 80 with a bore of 40 that breaks off at a keyseat 10 wide, of which the floor alone was traced; the
    sides of a deeper one would have been traced too."""
    print_ = Print()
    print_.path((60.0, 70.0), (140.0, 70.0), (140.0, 150.0), (60.0, 150.0), closed=True)
    half = math.degrees(math.asin(5.0 / 20.0))
    print_.arc((100.0, 110.0), 20.0, 90.0 + half, 360.0 - 2 * half)
    floor = 110.0 + math.sqrt(20.0**2 - 5.0**2) + deep_mm
    print_.line((95.0, floor), (105.0, floor))
    _drawing, report = written(print_, tmp_path)
    inner = [each.area_mm2 for each in report.outlines if each.kind is OutlineKind.INNER]
    sector = 20.0**2 * math.radians(half) - 5.0 * math.sqrt(20.0**2 - 5.0**2)
    seat = 10.0 * deep_mm - sector
    # 10 times the depth beyond the chord, less the segment that the bore's circle has there already.
    assert inner == (pytest.approx([math.pi * 20.0**2 + seat], rel=1e-3) if deep_mm < 2.0 else [])
