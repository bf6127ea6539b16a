"""Bolt circles: the holes lie exactly on the circle that the figure says. Places by the cosine of 60 degrees' steps."""

import math
from fractions import Fraction
from pathlib import Path

import pytest

from digitize.lettering.text import Kind
from digitize.strokes.primitives import Dash, Role
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written

CENTRE, TRUE_MM, EXACT = (150.0, 100.0), 90.0, 1e-9


def bolted(drawn_mm: float, pitch_drawn: bool, rim: bool = True) -> tuple[Print, list[int]]:
    """Six holes drawn on a circle of ``drawn_mm`` whose figure says 90, with a rim and perhaps the pitch circle."""
    print_ = Print()
    if rim:
        print_.arc(CENTRE, 60.0)
    if pitch_drawn:
        print_.arc(CENTRE, drawn_mm / 2, role=Role.CENTRE, dash=Dash.CHAIN)
    places = [
        (CENTRE[0] + drawn_mm / 2 * math.cos(turn), CENTRE[1] + drawn_mm / 2 * math.sin(turn))
        for turn in (math.radians(60 * k) for k in range(6))
    ]
    holes = [print_.arc(at, 5.0) for at in places]
    print_.row("6 × Ø10 ON Ø90 P.C.D.", Fraction(90), Kind.DIAMETER, (240.0, 160.0), places[3], places[0],
               arcs=tuple(holes), name="bolt_circle")  # fmt: skip
    return print_, holes


@pytest.mark.parametrize("pitch_drawn", [True, False])
def test_holes_lie_on_the_circle_that_the_figure_says(pitch_drawn: bool, tmp_path: Path) -> None:
    print_, _ = bolted(90.6, pitch_drawn)
    drawing, report = written(print_, tmp_path)
    circles = list(drawing.modelspace().query("CIRCLE[layer!='CENTRE']"))
    rim = max(circles, key=lambda each: each.dxf.radius)
    away = [each.dxf.center.distance(rim.dxf.center) for each in circles if each is not rim]
    assert away == pytest.approx([TRUE_MM / 2] * 6, rel=EXACT)
    assert report.used == (print_.dimensions[0].id,)
    (figure,) = drawing.modelspace().query("DIMENSION")
    assert float(figure.get_measurement()) == pytest.approx(TRUE_MM, rel=EXACT)


@pytest.mark.parametrize(
    ("drawn_mm", "rim", "why"), [(98.0, True, "lie on another circle"), (90.0, False, "no circle is drawn about")]
)
def test_a_bolt_circle_tied_to_other_holes_is_left_out(drawn_mm: float, rim: bool, why: str, tmp_path: Path) -> None:
    print_, _ = bolted(drawn_mm, False, rim)
    _drawing, report = written(print_, tmp_path)
    assert why in dict(report.left_out)[print_.dimensions[0].id]
