"""Each hole of `part.dxf` is crossed by its centre lines where the print shows them, whatever they were traced as."""

from fractions import Fraction
from pathlib import Path

import pytest

from digitize.lettering.text import Kind
from digitize.redraw.writing.centre_marks import BEYOND_MM
from digitize.strokes.primitives import Dash, Role
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written

Segment = tuple[float, ...]


def centre_lines(print_: Print, folder: Path) -> list[Segment]:
    drawing, _ = written(print_, folder)
    lines = drawing.modelspace().query("LINE[layer=='CENTRE']")
    ends = [sorted([line.dxf.start.vec2, line.dxf.end.vec2], key=lambda at: (at.x, at.y)) for line in lines]
    return sorted((a.x, a.y, b.x, b.y) for a, b in ends)


def plate() -> Print:
    """80 by 60, with a hole of 20."""
    print_ = Print()
    print_.path((40.0, 60.0), (120.0, 60.0), (120.0, 120.0), (40.0, 120.0), closed=True)
    hole = print_.arc((80.0, 90.0), 10.0)
    print_.row("Ø20", Fraction(20), Kind.DIAMETER, (60.0, 140.0), (70.0, 90.0), (90.0, 90.0), arcs=(hole,))
    print_.row("80", Fraction(80), Kind.LINEAR, (80.0, 40.0), (40.0, 40.0), (120.0, 40.0))
    print_.row("60", Fraction(60), Kind.LINEAR, (20.0, 90.0), (20.0, 60.0), (20.0, 120.0))
    return print_


REACH = 10.0 + BEYOND_MM
CROSSED = [(80.0 - REACH, 90.0, 80.0 + REACH, 90.0), (80.0, 90.0 - REACH, 80.0, 90.0 + REACH)]


@pytest.mark.parametrize(
    ("level", "upright"),
    [
        (((20.0, 90.0), (94.0, 90.0)), ((80.0, 40.0), (80.0, 104.0))),  # an extension line runs on from each
        (((20.0, 90.0), (77.0, 90.0)), ((80.0, 94.0), (80.0, 104.0))),  # and breaks off where the dot is
    ],
)
def test_a_hole_that_extension_lines_lead_to_has_its_centre_lines(
    level: Segment, upright: Segment, tmp_path: Path
) -> None:
    print_ = plate()
    for line in (level, upright):
        print_.line(*line, Role.EXTENSION)
    for found, crossed in zip(centre_lines(print_, tmp_path), CROSSED, strict=True):
        assert found == pytest.approx(crossed, abs=1e-6)


def test_dashes_through_a_hole_are_centre_lines(tmp_path: Path) -> None:
    print_ = plate()
    print_.line((65.0, 90.0), (95.0, 90.0), Role.HIDDEN, Dash.DASHED)
    (found,) = centre_lines(print_, tmp_path)
    assert found == pytest.approx(CROSSED[0], abs=1e-6)


def test_a_hole_that_has_its_centre_lines_gets_no_second_ones(tmp_path: Path) -> None:
    print_ = plate()
    print_.line((65.0, 90.0), (95.0, 90.0), Role.CENTRE, Dash.CHAIN)
    print_.line((20.0, 90.0), (64.0, 90.0), Role.EXTENSION)
    print_.line((20.0, 90.0), (94.0, 90.0), Role.EXTENSION)
    assert len(centre_lines(print_, tmp_path)) == 1


def test_lines_that_touch_a_hole_s_rim_or_stay_outside_are_none_of_its(tmp_path: Path) -> None:
    print_ = plate()
    print_.line((20.0, 100.0), (80.0, 100.0), Role.EXTENSION)
    print_.line((20.0, 90.0), (66.0, 90.0), Role.EXTENSION)
    assert centre_lines(print_, tmp_path) == []
