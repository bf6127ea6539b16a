"""A size whose callout counts the holes it is of: ``Ø10 2 HOLES``."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

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
