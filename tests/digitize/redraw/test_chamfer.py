"""A chamfer's figure shapes the corner where its edge is drawn; areas by hand."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hand_drawn import Print
from test_part import written

from digitize.lettering.text import Kind
from digitize.strokes.primitives import Dash, Role


def bevelled(leg_mm: float = 4.2, text: str = "4 x 45°") -> Print:
    """A plate 100 by 60 whose upper right corner is drawn with a chamfer a little over its size."""
    print_ = Print()
    first, second = (150 - leg_mm, 110.0), (150.0, 110 - leg_mm)
    print_.path((50, 50), (150, 50), second, first, (50, 110), closed=True)
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 40), (50, 40), (150, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110))
    print_.row(text, Fraction(4), Kind.CHAMFER, (165, 120), first, second)
    del print_.lines[-1], print_.arrowheads[-2:]
    return print_


def test_a_chamfer_has_its_written_legs(tmp_path: Path) -> None:
    drawing, report = written(bevelled(), tmp_path)
    (outline,) = drawing.modelspace().query("LWPOLYLINE")
    assert outline.dxf.layer == "OUTLINE"
    assert report.outlines[0].area_mm2 == pytest.approx(6000 - 4 * 4 / 2, rel=1e-9)
    assert report.left_out == ()


@pytest.mark.parametrize(
    ("print_", "why"),
    [(bevelled(text="4 x"), "its angle is not read"), (bevelled(leg_mm=8.0), "another size")],
)
def test_another_chamfer_is_left_out(print_: Print, why: str, tmp_path: Path) -> None:
    _drawing, report = written(print_, tmp_path)
    assert [reason for _, reason in report.left_out if why in reason]
    assert not report.outlines[0].determined


@pytest.mark.parametrize(("upright_mm", "held"), [(3.8, True), (3.4, False)])
def test_legs_may_differ_by_what_a_pen_blunts(upright_mm: float, held: bool, tmp_path: Path) -> None:
    """Three standard errors of their difference are .47 mm of paper; neither is drawn at 45 degrees."""
    print_ = Print()
    first, second = (150 - 4.2, 110.0), (150.0, 110 - upright_mm)
    print_.path((50, 50), (150, 50), second, first, (50, 110), closed=True)
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 40), (50, 40), (150, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110))
    print_.row("4 x 45°", Fraction(4), Kind.CHAMFER, (165, 120), first, second)
    del print_.lines[-1], print_.arrowheads[-2:]
    _drawing, report = written(print_, tmp_path)
    assert report.outlines[0].determined is held


def test_no_corner_is_cut_where_none_is_drawn(tmp_path: Path) -> None:
    print_ = bevelled()
    plain = Print()
    plain.path((50, 50), (150, 50), (150, 110), (50, 110), closed=True)
    plain.dimensions = [replace(each) for each in print_.dimensions]
    _drawing, report = written(plain, tmp_path)
    assert report.outlines[0].area_mm2 == pytest.approx(6000, rel=1e-9)
    assert "no drawn edge" in report.left_out[0][1]


def turned(*lost: int) -> Print:
    """A shaft 100 long and 40 across, chamfered at its left end, each drawn a little off; strokes may be lost."""
    print_ = Print(part_per_paper=2.0)
    ends = [(53.0, 140), (150.0, 140), (150.0, 100), (53.0, 100), (50.0, 103.1), (50.0, 137.2)]
    for number, (start, end) in enumerate(zip(ends, [*ends[1:], ends[0]], strict=True)):
        if number not in lost:
            print_.line(start, end)
    print_.line((53, 100), (53, 140))
    print_.line((45, 120), (155, 120), Role.CENTRE, Dash.CHAIN)
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 90), (50, 90), (150, 90))
    print_.row("Ø40", Fraction(40), Kind.DIAMETER, (165, 120), (165, 100), (165, 140))
    print_.row("3 x 45°", Fraction(3), Kind.CHAMFER, (40, 150), (50, 137.2), (53, 140))
    del print_.lines[-1], print_.arrowheads[-2:]
    return print_


@pytest.mark.parametrize("lost", [(), (3,)])
def test_a_turned_chamfer_has_one_size_above_and_below(lost: tuple[int, ...], tmp_path: Path) -> None:
    """The figure tells the upper one. The lower is lost, between a loose end and a corner, or drawn otherwise."""
    _drawing, report = written(turned(*lost), tmp_path)
    outer = report.outlines[0]
    assert outer.area_mm2 == pytest.approx(100 * 40 - 3 * 3, rel=1e-9)
    assert outer.determined


def test_a_slant_that_no_figure_gives_is_named_with_its_error(tmp_path: Path) -> None:
    print_ = turned()
    del print_.dimensions[-1]
    drawing, report = written(print_, tmp_path)
    assert [note for note in report.notes if "slant up 2.950 ± " in note and "about 51.50, 101.48" in note]
    assert [each for each in drawing.modelspace().query("TEXT") if "SCALED: slant up 2.950" in each.dxf.text]
