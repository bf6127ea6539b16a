"""A keyseat in a side view and in a cross-section has one width, and its step one diameter; areas by hand."""

import math
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from digitize.lettering.text import Kind
from digitize.redraw.report import OutlineKind
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written
from tests.digitize.redraw.test_solid import cross_section, keyed

FLOOR = 19.5


def both(*without: str) -> Print:
    """The keyed shaft, its seat 14 wide, beside its cross-section; some figures left out."""
    print_ = cross_section(keyed(depth=None), FLOOR)
    print_.dimensions = [each for each in print_.dimensions if each.text not in without and each.id not in without]
    return print_


def test_what_one_view_gives_the_other_has(tmp_path: Path) -> None:
    """The width stands in the cross-section alone, the diameter in the side view alone."""
    _, report = written(both("50 DIA.", "K1.1"), tmp_path)
    seat = next(each for each in report.outlines if each.kind is OutlineKind.INNER)
    section = next(each for each in report.outlines if each.view == "V2" and each.kind is OutlineKind.OUTER)
    half = math.asin(7 / 25)
    cap = 25.0**2 * (half - math.sin(half) * math.cos(half))
    notch = 14 * (math.sqrt(25.0**2 - 7.0**2) - FLOOR) + cap
    assert seat.determined
    assert seat.area_mm2 == pytest.approx(26 * 14 + math.pi * 7**2, rel=1e-9)
    assert section.determined
    assert section.area_mm2 == pytest.approx(math.pi * 25.0**2 - notch, rel=1e-9)
    assert any("show one keyseat: its width and the diameter of its step are one" in note for note in report.notes)


def test_views_that_contradict_each_other_say_so(tmp_path: Path) -> None:
    print_ = both("50 DIA.")
    print_.view = "V2"
    print_.row("50.5", Fraction("50.5"), Kind.DIAMETER, (250, 80), (225, 120), (275, 120), arcs=(len(print_.arcs) - 1,))
    _, report = written(print_, tmp_path)
    assert any("show one keyseat and contradict each other by 0.500 mm" in note for note in report.notes)


def test_a_circle_of_another_size_is_no_cross_section(tmp_path: Path) -> None:
    """Its notch is as wide as the seat, but the step is of 50 and the circle of 53."""
    print_ = both("50 DIA.")
    index = len(print_.arcs) - 1
    print_.arcs[index] = replace(print_.arcs[index], radius_px=26.5 / print_.x_mm_per_px)
    _, report = written(print_, tmp_path)
    assert not any("keyseat: its width" in note for note in report.notes)
