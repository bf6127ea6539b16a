"""What runs on beyond where strokes touch is an overshoot, not an edge."""

import math
from pathlib import Path

import pytest

from digitize.redraw.report import OutlineKind
from digitize.redraw.writing import layers
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written

RADIUS = 20.0


def rounded(overshoot: float) -> Print:
    """A plate 100 by 60 with one corner rounded; arc and sides run on beside each other beyond where they touch."""
    print_ = Print()
    over_deg = math.degrees(overshoot / RADIUS)
    print_.path((50.0, 90.0 + overshoot), (50.0, 50.0), (150.0, 50.0), (150.0, 110.0), (70.0 - overshoot, 110.0))
    print_.arc((70.0, 90.0), RADIUS, 90.0 - over_deg, 90.0 + 2 * over_deg)
    return print_


@pytest.mark.parametrize(("overshoot", "stubs"), [(3.0, False), (9.0, True)])
def test_what_runs_on_beside_an_arc_by_a_little_is_no_edge(overshoot: float, stubs: bool, tmp_path: Path) -> None:
    """Nine millimetres of paper are more than a pen strays along a rounding of 20."""
    drawing, report = written(rounded(overshoot), tmp_path)
    (outer,) = (each for each in report.outlines if each.kind is OutlineKind.OUTER)
    assert outer.area_mm2 == pytest.approx(6000 - RADIUS**2 * (1 - math.pi / 4), rel=1e-6)
    assert bool([each for each in drawing.modelspace() if each.dxf.layer == layers.EDGE]) is stubs
