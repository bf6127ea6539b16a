"""Bent curves as edges of an outline: cams and freehand edges. Areas by integration."""

import math
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf import path as dxf_path
from hand_drawn import Print, blank_sheet
from scipy.interpolate import make_interp_spline
from shapely import Polygon

from digitize.lettering.text import Kind, Unit
from digitize.redraw.part import write_part
from digitize.redraw.report import OutlineKind, PartReport
from digitize.redraw.writing.layers import SCALED
from digitize.report.frame import sheet_frame
from digitize.strokes.primitives import Point, Spline, Strokes

HUMP = 40.0  # height of half a sine over a base of 100


def spline(print_: Print, place: Callable[[float], Point], count: int = 41) -> Spline:
    """A clamped cubic through points of a curve, as the tracer gives it."""
    at = np.linspace(0.0, 1.0, count)
    curve = make_interp_spline(at, np.array([print_.px(place(float(t))) for t in at]), k=3)
    control = tuple((float(x), float(y)) for x, y in curve.c)
    return Spline(control, tuple(float(knot) for knot in curve.t), 4.0, view="V1")


def written(print_: Print, splines: tuple[Spline, ...], folder: Path) -> tuple[list[Polygon], PartReport]:
    """Closed polygons of the file on the layer of what is only scaled, and the report."""
    drawn, reconciled = print_.strokes(), print_.reconciled()
    strokes = Strokes(drawn.lines, drawn.arcs, drawn.arrowheads, drawn.views, splines=splines)
    frame = sheet_frame(blank_sheet(), reconciled)
    report = write_part(folder / "part.dxf", strokes, reconciled, None, frame, Unit.MM)
    drawing = ezdxf.readfile(folder / "part.dxf")
    assert not drawing.audit().errors
    closed = [each for each in drawing.modelspace().query(f"LWPOLYLINE[layer=='{SCALED}']") if each.closed]
    return [Polygon([(p.x, p.y) for p in dxf_path.make_path(each).flattening(0.001)]) for each in closed], report


def hump(left: float, right: float) -> Callable[[float], Point]:
    return lambda t: (left + (right - left) * t, 50.0 + HUMP * math.sin(math.pi * t))


@pytest.mark.parametrize("open_mm", [0.0, 0.5])
def test_a_cam_closes_along_its_curve_and_its_base_obeys(open_mm: float, tmp_path: Path) -> None:
    """The base is drawn .4 mm too long; the curve goes along with its ends, and nothing calls its shape settled."""
    print_ = Print()
    print_.line((50.0, 50.0), (150.4, 50.0))
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 30), (50.0, 30), (150.4, 30))
    (shape,), report = written(print_, (spline(print_, hump(50.0 + open_mm, 150.4 - open_mm)),), tmp_path)
    left, low, right, _ = shape.bounds
    assert right - left == pytest.approx(100.0, abs=1e-7)
    assert shape.is_valid
    drawn = HUMP * 100.4 * 2 / math.pi
    assert shape.area == pytest.approx(drawn * (100.0 / 100.4) ** 2, rel=2e-4 + 2 * open_mm / 100)
    (outer,) = report.outlines
    assert (outer.kind, outer.determined) == (OutlineKind.OUTER, False)
    assert report.used == (print_.dimensions[0].id,)
    assert report.open_ends == ()
    assert low == pytest.approx(50.0, abs=0.01)


def test_a_curve_that_ends_short_of_its_base_stays_open(tmp_path: Path) -> None:
    print_ = Print()
    print_.line((50.0, 50.0), (150.0, 50.0))
    lifted = spline(print_, lambda t: (hump(50.0, 150.0)(t)[0], hump(50.0, 150.0)(t)[1] + 3.0))
    shapes, report = written(print_, (lifted,), tmp_path)
    assert shapes == []
    assert report.outlines == ()


def test_a_loop_is_an_outline_with_its_holes_within(tmp_path: Path) -> None:
    """An ellipse of 100 by 60 with a hole of 10: areas by pi a b."""
    print_ = Print()
    print_.arc((100.0, 80.0), 5.0)
    loop = spline(print_, lambda t: (100 + 50 * math.cos(2 * math.pi * t), 80 + 30 * math.sin(2 * math.pi * t)), 121)
    (shape,), report = written(print_, (loop,), tmp_path)
    assert shape.area == pytest.approx(math.pi * 50 * 30, rel=1e-3)
    assert [each.kind for each in report.outlines] == [OutlineKind.OUTER, OutlineKind.INNER]
    assert report.outlines[0].area_mm2 == pytest.approx(shape.area, rel=1e-6)
