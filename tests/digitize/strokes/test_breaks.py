"""Break lines by rule and by hand are one stroke each; notches, threads and racks are none."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from digitize.strokes.centre_lines.refine import FloatArray
from digitize.strokes.joining.curves import points_along
from digitize.strokes.primitives import Role, Spline, Strokes
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture

TOP, BOTTOM, RIGHT = 60.0, 360.0, 320.0


def traced(points: FloatArray, width: float) -> Strokes:
    """A block that ends on the right along some points, over ruled lines, with a centre line through it."""
    picture = Picture(460, 440)
    for row in (390, 405, 420):
        picture.line((20, row), (440, row), 3)
    picture.line((40, TOP), (RIGHT, TOP), 6).line((40, BOTTOM), (RIGHT, BOTTOM), 6).line((40, TOP), (40, BOTTOM), 6)
    for a, b in zip(points[:-1].tolist(), points[1:].tolist(), strict=True):
        picture.line((a[0], a[1]), (b[0], b[1]), width)
    return trace_strokes(picture.sheet(4.0), picture.no_lettering())


def breaks(strokes: Strokes) -> list[Spline]:
    return [spline for spline in strokes.splines if spline.role is Role.BREAK]


def stray(points: FloatArray, spline: Spline) -> float:
    """Largest distance of the spline from corners drawn."""
    seen = points_along(np.array(spline.knots), np.array(spline.control), 2000)
    return float(np.hypot(*np.moveaxis(points[:, None] - seen[None], 2, 0)).min(axis=1).max())


@pytest.mark.parametrize(("place", "lean"), [(150.0, 0.0), (230.0, 8.0)])
def test_a_long_break_is_one_stroke_through_its_zigzag(place: float, lean: float) -> None:
    """ISO 128: a thin line with zigzags (type 01.1, from memory)."""
    y = np.array([40.0, place - 20, place - 10, place + 10, place + 20, 380.0])
    x = RIGHT + np.array([0.0, 0, 36, -36, 0, 0]) + lean * (y - 200) / 160
    drawn = np.stack([x, y], axis=1)
    (found,) = breaks(traced(drawn, 3.0))
    assert stray(drawn, found) < 1.5
    assert found.width_px == pytest.approx(3.0, abs=0.4)


@pytest.mark.parametrize(("seed", "width"), [(1, 5.0), (4, 5.0), (6, 3.0)])
def test_a_short_break_by_hand_is_one_stroke_from_edge_to_edge(seed: int, width: float) -> None:
    """ISO 128: freehand (type 01.1, from memory)."""
    random = np.random.default_rng(seed)
    at = np.linspace(TOP, BOTTOM, 13)
    x = RIGHT + np.concatenate([[0.0], random.normal(0.0, 5.0, 11), [0.0]])
    y = np.linspace(TOP, BOTTOM, 300)
    drawn = np.stack([CubicSpline(at, x)(y), y], axis=1)
    (found,) = breaks(traced(drawn, width))
    assert stray(drawn, found) < 3.0


def notch() -> FloatArray:
    return np.array([[RIGHT, TOP], [RIGHT, 170], [280, 170], [280, 240], [RIGHT, 240], [RIGHT, BOTTOM]])


def thread() -> FloatArray:
    y = np.linspace(TOP, BOTTOM, 21)
    return np.stack([RIGHT - 14.0 * (np.arange(21) % 2), y], axis=1)


def rack() -> FloatArray:
    one = np.array([[0.0, 0.0], [0.0, 22.0], [-45.0, 36.0], [-45.0, 58.0]])
    teeth = [one + np.array([RIGHT, TOP + 75.0 * n]) for n in range(4)]
    return np.vstack([*teeth, [[RIGHT, BOTTOM]]])


def test_section_lines_and_the_edges_that_they_meet_are_no_break() -> None:
    picture = Picture(460, 440).line((20, 400), (440, 400), 3).line((20, 415), (440, 415), 3)
    picture.line((60, 60), (60, 360), 5).line((160, 60), (160, 360), 5).line((60, 60), (160, 60), 5)
    for n in range(9):
        picture.line((60, 150 + 24 * n), (160, 50 + 24 * n) if n else (150, 60), 2.2)
    assert breaks(trace_strokes(picture.sheet(4.0), picture.no_lettering())) == []


@pytest.mark.parametrize("edge", [notch, thread, rack])
def test_an_edge_that_was_meant_is_no_break(edge: object) -> None:
    assert callable(edge)
    assert breaks(traced(edge(), 4.0)) == []
