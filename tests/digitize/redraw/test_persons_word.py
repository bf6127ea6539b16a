"""What a person confirms against the drawing: the outline follows however far, or the file says why it can't."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hand_drawn import Print, bushing, flange
from test_part import written

from digitize.lettering.text import Kind


def confirmed(print_: Print, number: int, value: Fraction) -> Print:
    row = print_.dimensions[number]
    print_.dimensions[number] = replace(row, value=value, text=str(value), confirmed_by="A. Fitter")
    return print_


def drilled() -> Print:
    """A plate 100 by 60 with a bore 20 from the left and 30 up."""
    print_ = Print()
    print_.path((50, 50), (150, 50), (150, 110), (50, 110), closed=True)
    bore = print_.arc((70, 80), 8.0)
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 40), (50, 40), (150, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (30, 80), (30, 50), (30, 110))
    print_.row("30", Fraction(30), Kind.LINEAR, (40, 65), (40, 50), (40, 80))
    print_.row("20", Fraction(20), Kind.LINEAR, (60, 120), (50, 120), (70, 120))
    print_.row("Ø16", Fraction(16), Kind.DIAMETER, (90, 90), (62, 80), (78, 80), arcs=(bore,))
    return print_


def test_the_holes_follow_a_corrected_bolt_circle(tmp_path: Path) -> None:
    print_ = flange()
    at = next(n for n, each in enumerate(print_.dimensions) if "B.C." in each.text)
    holes = tuple(n for n, each in enumerate(print_.arcs) if n > 2)
    geometry = print_.dimensions[at].geometry
    assert geometry is not None
    print_.dimensions[at] = replace(
        print_.dimensions[at], name="bolt_circle", geometry=replace(geometry, arcs=holes, lines=())
    )
    drawing, report = written(confirmed(print_, at, Fraction(19, 4)), tmp_path)
    assert not [why for _, why in report.left_out if "another circle" in why]
    circles = list(drawing.modelspace().query("CIRCLE[layer!='CENTRE']"))
    middle = max(circles, key=lambda each: float(each.dxf.radius)).dxf.center
    away = [each.dxf.center.distance(middle) for each in circles if each.dxf.radius < 10]
    assert away == pytest.approx([19 / 8 * 25.4] * 6, rel=1e-9)


def test_a_bore_that_is_put_outside_the_plate_leaves_it_as_drawn_and_says_so(tmp_path: Path) -> None:
    _, report = written(confirmed(drilled(), 3, Fraction(220)), tmp_path)
    assert [note for note in report.notes if "220 as confirmed" in note and "V1 is as drawn" in note]
    assert not any(each.determined for each in report.outlines)


def test_a_bore_that_is_put_elsewhere_within_the_plate_follows(tmp_path: Path) -> None:
    drawing, report = written(confirmed(drilled(), 3, Fraction(80)), tmp_path)
    (circle,) = drawing.modelspace().query("CIRCLE")
    left = min(x for each in drawing.modelspace().query("LWPOLYLINE") for x, _ in each.get_points("xy"))
    assert circle.dxf.center.x - left == pytest.approx(80.0, abs=1e-9)
    assert all(each.determined for each in report.outlines)


def test_section_lines_that_stay_behind_a_corrected_length_prove_nothing(tmp_path: Path) -> None:
    """The body is 10 shorter: the last section lines then lie beyond its end."""
    print_ = bushing()
    at = next(n for n, each in enumerate(print_.dimensions) if each.text == "50")
    _, report = written(confirmed(print_, at, Fraction(40)), tmp_path)
    assert not [note for note in report.notes if "section lines lie outside" in note]
    side = max((each for each in report.outlines if each.view == "V2"), key=lambda each: each.area_mm2)
    assert side.area_mm2 == pytest.approx(12 * 60 + 28 * 44, rel=1e-9)


def test_a_view_beside_follows_too(tmp_path: Path) -> None:
    """The face says 52 where 60 is drawn: the section that stands level with it has it as well."""
    print_ = bushing()
    _, report = written(confirmed(print_, 0, Fraction(52)), tmp_path)
    assert any("stand level: " in note and "are one" in note for note in report.notes)
    side = max((each for each in report.outlines if each.view == "V2"), key=lambda each: each.area_mm2)
    assert side.area_mm2 == pytest.approx(12 * 52 + 38 * 44, rel=1e-9)
