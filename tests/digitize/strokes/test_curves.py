"""Curves that are neither line nor circle become one spline along their ink; what compasses drew stays as it is."""

from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf.path import make_path
from scipy.spatial import cKDTree

from digitize.lettering.text import Unit
from digitize.redraw.trace import write_trace
from digitize.report.frame import Frame, Length
from digitize.strokes.centre_lines.refine import FloatArray
from digitize.strokes.joining.curves import fit_spline, points_along
from digitize.strokes.primitives import Role, Spline, Strokes
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture

WIDTH, HEIGHT = 560, 420
PLACE_PX = 0.1
"""Centre-line error on clean ink that the issue of strokes allows."""


def ruled(picture: Picture) -> Picture:
    """Long lines, by which tracing knows how true a hand is."""
    for k in range(7):
        picture.line((20, 14 + 10 * k), (WIDTH - 20, 14 + 10 * k), 2.5)
    return picture


def drawn_along(points: FloatArray, width: float) -> Strokes:
    picture = ruled(Picture(WIDTH, HEIGHT))
    for a, b in zip(points[:-1].tolist(), points[1:].tolist(), strict=True):
        picture.line((a[0], a[1]), (b[0], b[1]), width)
    return trace_strokes(picture.sheet(4.0), picture.no_lettering())


def away_from(points: FloatArray, spline: Spline) -> FloatArray:
    """Distances of places along a spline from a curve."""
    seen = points_along(np.array(spline.knots), np.array(spline.control), 400)
    share, fine = np.linspace(0, 1, len(points)), np.linspace(0, 1, 40_000)
    return distances(np.stack([np.interp(fine, share, v) for v in points.T], axis=1), seen)


def distances(points: FloatArray, seen: FloatArray) -> FloatArray:
    return np.asarray(cKDTree(points).query(seen)[0], dtype=np.float64)


def half_ellipse() -> FloatArray:
    t = np.linspace(0.0, np.pi, 700)
    return np.stack([280 - 220 * np.cos(t), 380 - 120 * np.sin(t)], axis=1)


def break_by_hand() -> FloatArray:
    x = np.linspace(60.0, 500.0, 500)
    return np.stack([x, 250 + 14 * np.sin(x / 30) + 6 * np.sin(x / 17 + 1)], axis=1)


def test_a_curve_becomes_one_spline_along_the_middle_of_its_ink() -> None:
    strokes = drawn_along(half_ellipse(), 6.0)
    (spline,) = strokes.splines
    assert spline.role is Role.VISIBLE
    assert not strokes.arcs
    assert spline.width_px == pytest.approx(6.0, abs=0.5)
    assert float(np.sqrt(np.mean(away_from(half_ellipse(), spline) ** 2))) < PLACE_PX


def test_a_break_drawn_by_hand_has_its_own_role() -> None:
    strokes = drawn_along(break_by_hand(), 3.0)
    (spline,) = strokes.splines
    assert spline.role is Role.BREAK
    assert float(np.sqrt(np.mean(away_from(break_by_hand(), spline) ** 2))) < PLACE_PX


def test_what_ruler_and_compasses_drew_is_no_curve() -> None:
    picture = ruled(Picture(WIDTH, HEIGHT)).line((60, 120), (60, 300), 6.0).line((110, 350), (300, 350), 6.0)
    picture.arc((110, 300), 50.0, 180.0, 90.0, 6.0)  # fillet between two lines
    picture.arc((420, 250), 60.0, 0.0, 100.0, 6.0).arc((420, 250), 60.0, 200.0, 60.0, 6.0)
    strokes = trace_strokes(picture.sheet(4.0), picture.no_lettering())
    assert not strokes.splines
    assert len(strokes.arcs) == 3


def test_a_straight_run_of_points_takes_no_inner_knots() -> None:
    points = np.stack([np.linspace(0, 100, 60), np.linspace(0, 40, 60)], axis=1)
    fitted = fit_spline(points, np.ones(60), 0.05)
    assert fitted is not None
    assert len(fitted[0]) == 8  # four alike at either end


def test_too_few_points_are_no_spline() -> None:
    assert fit_spline(np.zeros((5, 2)), np.ones(5), 0.1) is None


def test_the_trace_holds_a_spline_as_one_entity(tmp_path: Path) -> None:
    (spline,) = drawn_along(half_ellipse(), 6.0).splines
    flip = np.array([[0.1, 0.0, 0.0], [0.0, -0.1, 42.0], [0.0, 0.0, 1.0]])
    frame = Frame(flip, np.eye(3), 0.1, 0.1, Length.PAPER_MM, 1.0)
    write_trace(tmp_path / "trace.dxf", Strokes(splines=(spline,)), frame, Unit.MM)
    drawing = ezdxf.readfile(tmp_path / "trace.dxf")  # type: ignore[attr-defined]
    (entity,) = drawing.modelspace().query("SPLINE")
    assert entity.dxf.layer == "VISIBLE"
    seen = np.array([(p.x, p.y) for p in make_path(entity).flattening(0.001)])
    expected = points_along(np.array(spline.knots), np.array(spline.control), 2000) @ flip[:2, :2].T + flip[:2, 2]
    assert distances(expected, seen).max() < 0.02  # mm of paper; the places along it lie 0.04 mm apart
    assert not drawing.audit().errors
