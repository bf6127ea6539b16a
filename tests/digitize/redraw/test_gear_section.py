"""Tip and root lines of a gear's section, given by its agreed teeth.

Radii by ASA B6.1's full depth, 1/P above the pitch circle and 1.157/P below it: 2.2 and 1.9843 in for 42 teeth of 10 P.
"""

from fractions import Fraction
from pathlib import Path

import pytest

from digitize.dimensions.table import State
from digitize.lettering.text import Kind, Unit
from digitize.strokes.primitives import Role
from tests.digitize.redraw.hand_drawn import Print, agreed_gear, spur_gear
from tests.digitize.redraw.test_part import polygon, written

INCH, MIDDLE, TIP_IN, ROOT_IN = 25.4, 110.0, 2.2, 1.9843


def section_beside(tip_off_mm: float = 0.1, root_off_mm: float = -0.15) -> Print:
    """The gear's face and its section, an inch wide, whose tips and roots were drawn a little off."""
    print_ = spur_gear()
    print_.view = "V2"
    tip, root = TIP_IN * INCH + tip_off_mm, ROOT_IN * INCH + root_off_mm
    left, right = 220.0, 245.4
    print_.path((left, MIDDLE - tip), (right, MIDDLE - tip), (right, MIDDLE + tip), (left, MIDDLE + tip), closed=True)
    for height in (MIDDLE - root, MIDDLE + root):
        print_.line((left, height), (right, height))
    print_.line((left - 5, MIDDLE), (right + 5, MIDDLE), Role.CENTRE)
    return print_


def sizes_in(print_: Print, folder: Path, state: State = State.AGREED) -> tuple[float, float]:
    """How high the section is from tip to tip and from root to root."""
    drawing, report = written(print_, folder, Unit.INCH, agreed_gear(state))
    tips = max(drawing.modelspace().query("LWPOLYLINE[layer=='SCALED_FROM_PRINT']"), key=lambda e: polygon(e).area)
    _, low, _, high = polygon(tips).bounds
    roots = sorted(
        each.dxf.start.y for each in drawing.modelspace().query("LINE[layer=='EDGE']") if each.dxf.start.x > 8
    )
    assert report.contradicting == ()
    return high - low, roots[-1] - roots[0]


def test_agreed_teeth_give_tips_and_roots(tmp_path: Path) -> None:
    assert sizes_in(section_beside(), tmp_path) == pytest.approx((2 * TIP_IN, 2 * ROOT_IN), abs=1e-9)


def test_unproven_teeth_give_nothing(tmp_path: Path) -> None:
    _, roots = sizes_in(section_beside(), tmp_path, State.UNPROVEN)
    assert roots == pytest.approx(2 * ROOT_IN - 0.3 / INCH, abs=1e-6)


def test_a_figure_has_the_right_of_way(tmp_path: Path) -> None:
    """The blank was turned to 4.39, and says so: the roots are where the cutter left them."""
    print_ = section_beside()
    ends = (255.0, MIDDLE - TIP_IN * INCH), (255.0, MIDDLE + TIP_IN * INCH)
    print_.row("4.39", Fraction("4.39"), Kind.LINEAR, (255.0, MIDDLE), *ends)
    assert sizes_in(print_, tmp_path) == pytest.approx((4.39, 2 * ROOT_IN), abs=1e-9)


@pytest.mark.parametrize(("tip_off_mm", "root_off_mm"), [(2.0, 0.0), (0.0, -2.0)])
def test_edges_elsewhere_are_no_tips_or_roots(tip_off_mm: float, root_off_mm: float, tmp_path: Path) -> None:
    drawn = 2 * (TIP_IN + tip_off_mm / INCH), 2 * (ROOT_IN + root_off_mm / INCH)
    assert sizes_in(section_beside(tip_off_mm, root_off_mm), tmp_path) == pytest.approx(drawn, abs=1e-6)
