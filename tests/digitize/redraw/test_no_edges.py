"""What a sheet's pens and a cutting plane's ends tell apart from edges, before views are outlined."""

import dataclasses
from fractions import Fraction
from pathlib import Path

import pytest

from digitize.lettering.text import Kind
from digitize.redraw.planes.cutting_ends import cutting_ends_told
from digitize.redraw.planes.fine_lines import fine_lines_told
from digitize.strokes.primitives import Arc, Line, Pen, Role, Strokes
from tests.digitize.redraw.hand_drawn import PX_PER_MM, Print
from tests.digitize.redraw.test_part import written

THICK_PX, FINE_PX = 5.0, 2.5  # half a millimetre and a quarter: ISO 128-20, one twice the other
PENS = (Pen(FINE_PX, 0.1, FINE_PX, 1000.0, 9), Pen(THICK_PX, 0.1, THICK_PX, 4000.0, 9))


def drawn(*lines: tuple[float, float, float, float, float], arcs: tuple[Arc, ...] = ()) -> Strokes:
    """Edges of a view, each as (x0, y0, x1, y1) in mm of paper and its width in px."""
    px = [[PX_PER_MM * value for value in each[:4]] for each in lines]
    made = [
        Line((x0, y0), (x1, y1), width, view="A")
        for (x0, y0, x1, y1), (*_, width) in zip(px, lines, strict=True)
    ]  # fmt: skip
    return Strokes(lines=tuple(made), arcs=arcs, pens=PENS)


PLATE = ((10, 10, 60, 10, THICK_PX), (60, 10, 60, 30, THICK_PX), (60, 30, 10, 30, THICK_PX), (10, 30, 10, 10, THICK_PX))


@pytest.mark.parametrize(
    ("line", "role"),
    [
        ((30, 7, 30, 33, FINE_PX), Role.CENTRE),  # stands out of both edges by 3 mm
        ((30, 7, 30, 33, THICK_PX), Role.VISIBLE),  # so does an edge, of a thicker pen
        ((30, 7, 30, 45, FINE_PX), Role.EXTENSION),  # 3 mm and 15 mm: an extension line that begins within
        ((65, 10, 80, 10, FINE_PX), Role.EXTENSION),
        ((30, 7, 30, 33, 0.83 * THICK_PX), Role.VISIBLE),  # the finest of 1,700 edges in clean and aged samples
    ],
)
def test_role_by_pen(line: tuple[float, float, float, float, float], role: Role) -> None:
    told = fine_lines_told(drawn(*PLATE, line), PX_PER_MM)
    assert [each.role for each in told.lines] == [*[Role.VISIBLE] * 4, role]


def test_fine_circle_is_a_centre_line_and_a_fine_arc_is_none() -> None:
    full, part = (Arc((300.0, 200.0), 50.0, 0.0, sweep, FINE_PX, view="A") for sweep in (360.0, 90.0))
    told = fine_lines_told(drawn(*PLATE, arcs=(full, part)), PX_PER_MM)
    assert [each.role for each in told.arcs] == [Role.CENTRE, Role.EXTENSION]


def test_one_pen_tells_nothing() -> None:
    strokes = dataclasses.replace(drawn(*PLATE, (30, 7, 30, 33, FINE_PX)), pens=())
    assert fine_lines_told(strokes, PX_PER_MM) == strokes


MARK = ((70, 5, 70, 9, THICK_PX), (70, 5, 74, 5, THICK_PX))


@pytest.mark.parametrize(
    ("beside", "found"),
    [
        ((), True),
        (((70, 9.5, 70, 30, THICK_PX),), False),  # an edge goes on from it
        (((70, 9.5, 70, 30, FINE_PX),), False),  # and may have been traced as an extension line
        (((74.2, 5, 75, 5, FINE_PX),), True),  # a crumb of its arrowhead
    ],
)
def test_corner_in_the_open_ends_a_cutting_plane(
    beside: tuple[tuple[float, float, float, float, float], ...], found: bool
) -> None:
    told = cutting_ends_told(fine_lines_told(drawn(*PLATE, *MARK, *beside), PX_PER_MM), PX_PER_MM)
    assert [each.role is Role.CUTTING for each in told.lines[4:6]] == [found, found]
    assert all(each.role is not Role.CUTTING for each in (*told.lines[:4], *told.lines[6:]))


def test_outline_beside_a_cutting_plane_is_settled(tmp_path: Path) -> None:
    """A plate 100 by 60 of which both sizes are agreed, with the ends of a cutting plane above and below it."""
    print_ = Print()
    print_.path((50.0, 50.0), (150.0, 50.0), (150.0, 110.0), (50.0, 110.0), closed=True)
    print_.path((100.0, 114.0), (100.0, 119.0), (104.0, 119.0))
    print_.path((100.0, 46.0), (100.0, 41.0), (104.0, 41.0))
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 30), (50, 30), (150, 30))
    print_.row("60", Fraction(60), Kind.LINEAR, (40, 80), (40, 50), (40, 110))
    drawing, report = written(print_, tmp_path)
    assert [(each.area_mm2, each.determined) for each in report.outlines] == [(pytest.approx(6000.0, rel=1e-9), True)]
    assert not report.open_ends
    assert not drawing.modelspace().query('*[layer=="OPEN"]')
