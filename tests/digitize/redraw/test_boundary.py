"""An outline is called determined only where it is the outer boundary of its view."""

import math
from fractions import Fraction
from pathlib import Path

import pytest

from digitize.lettering.text import Kind, Unit
from digitize.redraw.report import OutlineKind, PartReport
from digitize.strokes.primitives import Role
from tests.digitize.redraw.hand_drawn import Print, bushing, stepped_shaft
from tests.digitize.redraw.test_part import SHAFT_AREA, written

HOLE, AT = 10.0, (80.0, 80.0)


def holed_plate(opened: bool) -> Print:
    """A plate 100 by 60 with a hole of 20, all dimensioned; where ``opened``, its upper right corner was not traced."""
    print_ = Print()
    print_.path((150.0, 100.0), (150.0, 50.0), (50.0, 50.0), (50.0, 110.0), (140.0, 110.0))
    if not opened:
        print_.path((140.0, 110.0), (150.0, 110.0), (150.0, 100.0))
    hole = print_.arc(AT, HOLE)
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 40), (50, 40), (150, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110))
    print_.row("30", Fraction(30), Kind.LINEAR, (65, 130), (50, 130), (80, 130))
    print_.row("30", Fraction(30), Kind.LINEAR, (30, 65), (30, 50), (30, 80))
    print_.row("Ø20", Fraction(20), Kind.DIAMETER, (170, 80), (70, 80), (90, 80), arcs=(hole,))
    return print_


def said(report: PartReport, words: str) -> bool:
    return any(words in note for note in report.notes)


def test_hole_in_an_open_plate_is_no_plate(tmp_path: Path) -> None:
    """The figures settle plate and hole; with a gap in the plate the hole is the outermost that closes."""
    _drawing, whole = written(holed_plate(opened=False), tmp_path)
    assert [each.determined for each in whole.outlines] == [True, True]
    drawing, report = written(holed_plate(opened=True), tmp_path)
    assert [(each.kind, each.determined) for each in report.outlines] == [(OutlineKind.PARTIAL, False)]
    assert [each.dxf.layer for each in drawing.modelspace().query("CIRCLE[radius==10.0]")] == ["SCALED_FROM_PRINT"]
    assert said(report, "is not its boundary, for 100 is measured beyond it")


def test_a_slanted_span_that_stands_on_nothing_drawn_settles_nothing_and_proves_nothing(tmp_path: Path) -> None:
    """Read between an arrowhead of its own and one of another, a width runs askew and out of the plate."""
    print_ = holed_plate(opened=False)
    print_.row("110", Fraction(110), Kind.LINEAR, (105, 130), (45, 125), (155, 135))
    _drawing, report = written(print_, tmp_path)
    assert [each.kind for each in report.outlines] == [OutlineKind.OUTER, OutlineKind.INNER]
    assert not any(each.determined for each in report.outlines)
    assert said(report, "nothing of its outline is settled, for 110 is measured beyond it")


def test_section_lines_outside_make_an_outline_partial(tmp_path: Path) -> None:
    """A bushing's section whose flange is open below, no centre line to tell it from above: bore and body still close,
    but the section goes on."""
    print_ = bushing()
    gap = next(k for k, each in enumerate(print_.lines) if each.view == "V2" and each.start[1] == each.end[1])
    del print_.lines[gap]
    print_.lines = [each for each in print_.lines if each.role is not Role.CENTRE]
    print_.dimensions = [each for each in print_.dimensions if each.view == "V2"]
    print_.line((142.0, 138.0), (143.0, 139.0), Role.HATCH)
    _drawing, report = written(print_, tmp_path)
    section = [each for each in report.outlines if each.view == "V2"]
    assert section
    assert not any(each.determined or each.kind is OutlineKind.OUTER for each in section)
    assert said(report, "section lines lie outside it")


@pytest.mark.parametrize(("count", "partial"), [(2, False), (5, True)])
def test_inch_marks_beside_a_part_that_nothing_cuts_are_no_section_lines(
    count: int, partial: bool, tmp_path: Path
) -> None:
    """Two strokes leave the shaft's outline open to doubt; a row of them is a face that was lost."""
    print_ = stepped_shaft()
    for k in range(count):
        print_.line((100.0 + 2.0 * k, 160.0), (101.0 + 2.0 * k, 162.0), Role.HATCH)
    _drawing, report = written(print_, tmp_path)
    (shaft,) = report.outlines
    assert shaft.kind is (OutlineKind.PARTIAL if partial else OutlineKind.OUTER)
    assert not shaft.determined
    assert said(report, "section lines lie outside it")


@pytest.mark.parametrize(("turned_deg", "partial"), [(45.0, True), (70.0, False)])
def test_strokes_of_letters_beside_a_section_are_no_section_lines(
    turned_deg: float, partial: bool, tmp_path: Path
) -> None:
    """Slanted ones of a figure may be taken for them, but lie no way that section lines do."""
    print_ = bushing()
    print_.dimensions = [each for each in print_.dimensions if each.view == "V2"]
    across, up = 2.0 * math.cos(math.radians(turned_deg)), 2.0 * math.sin(math.radians(turned_deg))
    print_.line((200.0, 108.0), (200.0 + across, 108.0 + up), Role.HATCH)
    _drawing, report = written(print_, tmp_path)
    assert said(report, "section lines lie outside it") is partial


def test_edges_beside_an_outline_leave_it_unsettled(tmp_path: Path) -> None:
    """It may be lettering taken for an edge: the outline is still the likely boundary, but a person must look."""
    print_ = stepped_shaft()
    print_.line((100.0, 160.0), (130.0, 165.0))
    _drawing, report = written(print_, tmp_path, Unit.INCH)
    (outer,) = report.outlines
    assert (outer.kind, outer.determined) == (OutlineKind.OUTER, False)
    assert outer.area_mm2 == pytest.approx(SHAFT_AREA)
    assert said(report, "edges lie outside it, as at 4.528, 6.398 in")  # in the file's unit
    assert said(
        report, f"encloses {SHAFT_AREA / 25.4**2:.3f} square in as drawn here: how far that is off is not known"
    )


@pytest.mark.parametrize(("runs_out_mm", "settled"), [(2.5, True), (6.0, False)])
def test_an_edge_that_runs_out_a_little_leaves_an_outline_settled(
    runs_out_mm: float, settled: bool, tmp_path: Path
) -> None:
    """The line across a plate's edge view goes over into a fine one at both ends."""
    print_ = Print()
    print_.path((50.0, 50.0), (150.0, 50.0), (150.0, 110.0), (50.0, 110.0), closed=True)
    print_.line((50.0 - runs_out_mm, 80.0), (150.0 + runs_out_mm, 80.0))
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 40), (50, 40), (150, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (30, 80), (30, 50), (30, 110))
    _drawing, report = written(print_, tmp_path)
    assert [each.determined for each in report.outlines if each.kind is OutlineKind.OUTER] == [settled]


@pytest.mark.parametrize(("left_open_mm", "settled"), [(0.2, True), (0.7, False)])
def test_a_corner_left_open_settles_nothing(left_open_mm: float, settled: bool, tmp_path: Path) -> None:
    """Both strokes stop short of the corner: by less than a pen's width it is one, by more it may be a bevel."""
    print_ = Print()
    print_.path((150 - left_open_mm, 50.0), (50.0, 50.0), (50.0, 110.0), (150.0, 110.0), (150.0, 50 + left_open_mm))
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 40), (50, 40), (150, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110))
    _drawing, report = written(print_, tmp_path)
    (outer,) = report.outlines
    assert outer.area_mm2 == pytest.approx(6000.0)
    assert outer.determined is settled
    assert said(report, "its corner at 150.00, 50.00 mm is open") is not settled


def test_a_face_cut_from_edge_to_edge_is_drawn_once(tmp_path: Path) -> None:
    """The cut face of a solid block is its outline: one polyline, hatched."""
    print_ = Print()
    print_.path((50.0, 50.0), (150.0, 50.0), (150.0, 110.0), (50.0, 110.0), closed=True)
    for x in (70.0, 100.0, 130.0):
        print_.line((x, 70.0), (x + 10.0, 80.0), Role.HATCH)
    drawing, report = written(print_, tmp_path)
    assert {each.kind for each in report.outlines} == {OutlineKind.OUTER, OutlineKind.CUT}
    assert len(drawing.modelspace().query("LWPOLYLINE")) == 1
    assert len(drawing.modelspace().query("HATCH")) == 1


def test_a_gap_is_marked_once_and_told(tmp_path: Path) -> None:
    """Two open chains end a millimetre apart: one ring marks both ends; figures that shape nothing are listed."""
    print_ = Print()
    print_.path((50.0, 50.0), (100.0, 50.0), (100.0, 80.0))
    print_.path((101.0, 80.0), (150.0, 80.0), (150.0, 50.0))
    print_.row("R30", Fraction(30), Kind.RADIUS, (40, 65), (40, 50), (40, 80))
    drawing, report = written(print_, tmp_path)
    space = drawing.modelspace()
    assert len(report.open_ends) == 4
    rings = [each.dxf.center.vec2 for each in space.query("CIRCLE[layer=='OPEN_END']")]
    assert len(rings) == 3
    assert any(each.isclose((100.5, 80.0)) for each in rings)
    assert [each.dxf.text for each in space.query("TEXT")] == [
        "OUTLINES OPEN AT 3 PLACES, RINGED",
        "C4.1: R30 NOT APPLIED",
    ]
    assert not space.query("DIMENSION")


@pytest.mark.parametrize(("step_mm", "settled"), [(0.2, True), (0.45, False)])
def test_a_step_that_a_poor_pen_hides_settles_nothing(step_mm: float, settled: bool, tmp_path: Path) -> None:
    """Two neighbouring top edges are taken for one level: with the pen that bad it may be a step all the same."""
    print_ = Print()
    print_.path(
        (100.0, 110 + step_mm), (50.0, 110 + step_mm), (50.0, 50.0), (150.0, 50.0), (150.0, 110.0), (100.0, 110.0)
    )
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 40), (50, 40), (150, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110))
    _drawing, report = written(print_, tmp_path)
    assert [each.determined for each in report.outlines] == [settled]


def test_steps_of_nearly_one_height_keep_their_own(tmp_path: Path) -> None:
    """A shaft of 30 and 32 diameter, the first alone agreed: the other is neither made 30 nor called determined."""
    print_ = Print()
    upper = [(50.0, 115.0), (100.0, 115.0), (100.0, 116.0), (150.0, 116.0)]
    print_.path(*upper, *((x, 200.0 - y) for x, y in reversed(upper)), closed=True)
    print_.line((40.0, 100.0), (160.0, 100.0), Role.CENTRE)
    print_.row("50", Fraction(50), Kind.LINEAR, (75, 70), (50, 70), (100, 70))
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 60), (50, 60), (150, 60))
    print_.row("Ø30", Fraction(30), Kind.DIAMETER, (40, 100), (40, 85), (40, 115))
    _drawing, report = written(print_, tmp_path)
    assert [each.determined for each in report.outlines] == [False]
    assert report.outlines[0].area_mm2 == pytest.approx(50 * 30 + 50 * 32, rel=1e-3)


@pytest.mark.parametrize("side_by_side", [True, False])
def test_edges_mirror_in_a_centre_line_only_where_they_run_side_by_side(side_by_side: bool, tmp_path: Path) -> None:
    """A hub 30 below and a rim 30.4 above the centre line of a hole are no pair; two edges of one length are."""
    print_ = Print()
    if side_by_side:
        print_.path((50.0, 120.4), (150.0, 120.4), (150.0, 60.0), (50.0, 60.0), closed=True)
    else:
        print_.path((50.0, 120.4), (90.0, 120.4), (90.0, 60.0), (150.0, 60.0), (150.0, 40.0), (50.0, 40.0), closed=True)
    print_.line((40.0, 90.0), (160.0, 90.0), Role.CENTRE)
    drawing, _report = written(print_, tmp_path)
    (outer,) = drawing.modelspace().query("LWPOLYLINE")
    heights = sorted({round(y, 9) for _x, y in outer.get_points("xy")})
    (centre,) = drawing.modelspace().query("LINE[layer=='CENTRE']")
    middle = (heights[-1] + heights[-2]) / 2
    assert bool(abs(middle - centre.dxf.start.y) < 1e-7) == side_by_side


@pytest.mark.parametrize(("side_mm", "kind"), [(4.0, OutlineKind.OUTER), (12.0, OutlineKind.PARTIAL)])
def test_a_letter_beside_an_outline_proves_nothing_and_settles_nothing(
    side_mm: float, kind: OutlineKind, tmp_path: Path
) -> None:
    """A closed stroke of a letter's size may be lettering; a larger one is material."""
    print_ = Print()
    print_.path((50.0, 50.0), (150.0, 50.0), (150.0, 110.0), (50.0, 110.0), closed=True)
    left, low = 170.0, 60.0
    corners = ((left, low), (left + side_mm, low), (left + side_mm, low + side_mm), (left, low + side_mm))
    print_.path(*corners, closed=True)
    _drawing, report = written(print_, tmp_path)
    block = max(report.outlines, key=lambda each: each.area_mm2)
    assert (block.kind, block.determined) == (kind, False)


@pytest.mark.parametrize(("thickness", "kind"), [(12.0, OutlineKind.OUTER), (95.0, OutlineKind.PARTIAL)])
def test_two_views_taken_for_one_are_outlines_and_halves_of_a_section_are_not(
    thickness: float, kind: OutlineKind, tmp_path: Path
) -> None:
    """A front 100 wide and its edge stand level; two outlines of nearly one thickness may be halves of one section."""
    print_ = Print()
    print_.path((20.0, 50.0), (120.0, 50.0), (120.0, 110.0), (20.0, 110.0), closed=True)
    print_.path((150.0, 50.0), (150.0 + thickness, 50.0), (150.0 + thickness, 110.0), (150.0, 110.0), closed=True)
    _drawing, report = written(print_, tmp_path)
    assert [(each.kind, each.determined, each.area_std_mm2) for each in report.outlines] == [(kind, False, 0.0)] * 2


def test_an_edge_between_two_outlines_makes_them_parts_of_one(tmp_path: Path) -> None:
    print_ = Print()
    print_.path((20.0, 50.0), (120.0, 50.0), (120.0, 110.0), (20.0, 110.0), closed=True)
    print_.path((150.0, 50.0), (162.0, 50.0), (162.0, 110.0), (150.0, 110.0), closed=True)
    print_.line((122.0, 80.0), (148.0, 80.0))
    _drawing, report = written(print_, tmp_path)
    assert {each.kind for each in report.outlines} == {OutlineKind.PARTIAL}


@pytest.mark.parametrize("recesses", [1, 2])
def test_an_outline_unlike_on_both_sides_of_its_centre_line_leaves_open_how_far_its_area_is_off(
    recesses: int, tmp_path: Path
) -> None:
    """A wheel's section with a recess in one side of its rim: in the other the trace may have closed it."""
    print_ = Print()
    lower = ((50.0, 50.0), (150.0, 50.0))
    upper = ((150.0, 110.0), (120.0, 110.0), (120.0, 100.0), (80.0, 100.0), (80.0, 110.0), (50.0, 110.0))
    if recesses == 2:
        lower = ((50.0, 50.0), (80.0, 50.0), (80.0, 60.0), (120.0, 60.0), (120.0, 50.0), (150.0, 50.0))
    print_.path(*lower, *upper, closed=True)
    print_.line((40.0, 80.0), (160.0, 80.0), Role.CENTRE)
    _drawing, report = written(print_, tmp_path)
    (outer,) = report.outlines
    assert bool(outer.area_std_mm2) == (recesses == 2)
    assert said(report, "its sides of the centre line at") == (recesses == 1)


@pytest.mark.parametrize("crossed", [True, False])
def test_a_round_section_with_a_keyseat_is_alike_about_one_of_two_centre_lines(crossed: bool, tmp_path: Path) -> None:
    """With the other line alone a lost edge can't be told from a keyseat."""
    print_ = Print()
    x, y, side = 100.0, 80.0, math.sqrt(25.0**2 - 7.0**2)
    print_.path((x - 7, y + side), (x - 7, y + 20), (x + 7, y + 20), (x + 7, y + side))
    half_deg = math.degrees(math.asin(7 / 25))
    print_.arc((x, y), 25.0, 90 + half_deg, 360 - 2 * half_deg)
    print_.line((x - 30, y), (x + 30, y), Role.CENTRE)
    if crossed:
        print_.line((x, y - 30), (x, y + 30), Role.CENTRE)
    _drawing, report = written(print_, tmp_path)
    assert said(report, "its sides of the centre line at") == (not crossed)
