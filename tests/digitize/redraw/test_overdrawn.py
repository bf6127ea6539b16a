"""Edges that were traced as one stroke with an extension line."""

from pathlib import Path

import pytest

from digitize.redraw.report import OutlineKind
from digitize.strokes.primitives import Dash, Role
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written


def section(hatched: bool, role: Role = Role.EXTENSION) -> Print:
    """A cut block of 100 by 60 whose lower and right edges run on as extension lines from their corner."""
    print_ = Print()
    print_.path((60.0, 50.0), (50.0, 50.0), (50.0, 110.0), (150.0, 110.0), (150.0, 100.0))
    print_.line((60.0, 50.0), (190.0, 50.0), role)
    print_.line((150.0, 100.0), (150.0, 20.0), role)
    for reach in (10.0, 20.0, 30.0, 40.0) if hatched else ():
        print_.line((150.0 - reach, 50.0), (150.0, 50.0 + reach), Role.HATCH)
    return print_


@pytest.mark.parametrize("role", [Role.EXTENSION, Role.CUTTING])
def test_section_lines_tell_the_edge_under_an_extension_line(role: Role, tmp_path: Path) -> None:
    """Both edges end in their common corner, not where the extension lines do; an edge with the dashes of a faded
    extension line beyond it may have been taken for a cutting plane."""
    _drawing, report = written(section(True, role), tmp_path)
    (outer,) = [each for each in report.outlines if each.kind is OutlineKind.OUTER]
    assert outer.area_mm2 == pytest.approx(6000.0, rel=1e-3)
    assert report.open_ends == ()


def test_an_extension_line_by_itself_closes_nothing(tmp_path: Path) -> None:
    """As across the mouth of a slot: without section lines there is no edge."""
    _drawing, report = written(section(hatched=False), tmp_path)
    assert report.outlines == ()
    assert len(report.open_ends) == 2


def test_section_lines_traced_over_their_edge_make_no_edge_beside_it(tmp_path: Path) -> None:
    """The lower half's right edge lies at 90, an extension line 0.6 beyond it, on which the section lines end."""
    print_ = Print()
    print_.path((50.0, 110.0), (90.0, 110.0), (90.0, 50.0), (50.0, 50.0), closed=True)
    print_.line((90.6, 112.0), (90.6, 20.0), Role.EXTENSION)
    for reach in (10.0, 20.0, 30.0):
        print_.line((90.6 - reach, 50.0), (90.6, 50.0 + reach), Role.HATCH)
    _drawing, report = written(print_, tmp_path)
    assert [each.area_mm2 for each in report.outlines if each.kind is OutlineKind.OUTER] == pytest.approx(
        [2400.0], rel=1e-3
    )


@pytest.mark.parametrize("bevelled", [True, False])
def test_the_other_side_of_the_centre_line_tells_where_an_edge_ends(bevelled: bool, tmp_path: Path) -> None:
    """A bush 100 long, 60 outside, 30 inside, its right end bevelled by 1.5. Its outside was taken for extension lines,
    above from a collar's foot on and below for the last 40; the bevel above is lost."""
    print_ = Print()
    cut = 1.5
    print_.path((40.0, 65.0), (40.0, 30.0), (50.0, 30.0), (50.0, 50.0), (110.0, 50.0))
    print_.path((40.0, 65.0), (40.0, 130.0), (50.0, 130.0), (50.0, 110.0))
    print_.path((150.0, 50.0 + cut), (150.0, 110.0 - cut))
    if bevelled:
        print_.line((150.0, 50.0 + cut), (150.0 - cut, 50.0))
    for y in (65.0, 95.0):
        print_.line((40.0, y), (150.0, y))
    print_.line((110.0, 50.0), (190.0, 50.0), Role.EXTENSION)
    print_.line((52.0, 110.0), (190.0, 110.0), Role.EXTENSION)
    for x in range(55, 145, 10):
        print_.line((x - 15.0, 95.0), (x, 110.0), Role.HATCH)
        print_.line((x - 15.0, 50.0), (x, 65.0), Role.HATCH)
    print_.line((34.0, 80.0), (156.0, 80.0), Role.CENTRE, Dash.CHAIN)
    _drawing, report = written(print_, tmp_path)
    outers = [each.area_mm2 for each in report.outlines if each.kind is OutlineKind.OUTER]
    assert outers == (pytest.approx([100.0 * 60 + 10 * 100 - cut**2], rel=1e-3) if bevelled else [])


@pytest.mark.parametrize("pitch_line", ["this side", "other side", "none"])
def test_the_rim_of_teeth_that_are_not_cut_is_an_edge(pitch_line: str, tmp_path: Path) -> None:
    """A gear's section: disc 20 thick and 100 over the teeth, 80 at their roots, bore 30; its right side was taken for
    an extension line, on which the section lines end between root and bore. Above them a pitch line, here or on the
    other side, tells teeth; without one it may be the mouth of a recess."""
    print_, (left, right), y = Print(), (60.0, 80.0), 100.0
    for half in (50.0, 40.0, 15.0):
        for side in (-1, 1):
            print_.line((left, y + side * half), (right, y + side * half))
    print_.line((left, y - 50.0), (left, y + 50.0))
    print_.line((right, y + 70.0), (right, y - 70.0), Role.EXTENSION)
    for side in (-1, 1):
        for k in range(5):
            print_.line(
                (right - 3.0, y + side * (18.0 + 4.0 * k)), (right, y + side * (18.0 + 4.0 * k) + 3.0), Role.HATCH
            )
    print_.line((left - 10.0, y), (right + 12.0, y), Role.CENTRE, Dash.CHAIN)
    sides = {"this side": (-1, 1), "other side": (-1,), "none": ()}[pitch_line]
    for side in sides:
        print_.line((left - 5.0, y + side * 47.0), (right + 5.0, y + side * 47.0), Role.CENTRE, Dash.CHAIN)
    _drawing, report = written(print_, tmp_path)
    outers = [each.area_mm2 for each in report.outlines if each.kind is OutlineKind.OUTER]
    assert (outers == pytest.approx([2000.0], rel=1e-3)) is (pitch_line != "none")
