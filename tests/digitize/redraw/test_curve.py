"""Circles drawn by compass on paper that has shrunk unequally."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from digitize.redraw.planes.curve import CLOSED_DEG, Circular, axis_scaled


def fitted_circle(points: np.ndarray) -> tuple[float, float, float]:
    """Geometric circle fit by scipy: an outside check on the algebra."""

    def residuals(v: np.ndarray) -> np.ndarray:
        return np.hypot(points[:, 0] - v[0], points[:, 1] - v[1]) - v[2]

    return tuple(least_squares(residuals, [0.0, 0.0, np.hypot(*points.T).mean()], xtol=1e-14, ftol=1e-14).x)


@settings(max_examples=40)
@given(
    x_px=st.floats(9.9, 10.1), y_px=st.floats(9.9, 10.1), start=st.floats(0, 360), sweep=st.floats(40, 360),
    radius=st.floats(2, 200),
)  # fmt: skip
def test_drawn_circle_comes_back(x_px: float, y_px: float, start: float, sweep: float, radius: float) -> None:
    """A circle of the drawing, shrunk to an ellipse in pixels and fitted there by a circle, comes back as it was
    drawn, to second order in the difference of the axes."""
    angles = np.radians(start + np.linspace(0, sweep, 200))
    ink = radius * np.column_stack([x_px * np.cos(angles), y_px * np.sin(angles)])
    x, y, r = fitted_circle(ink)
    ends = [math.degrees(math.atan2(p[1] - y, p[0] - x)) for p in (ink[0], ink[-1])]
    seen = Circular((x / x_px, y / y_px), r, ends[0], sweep if sweep >= 360 - CLOSED_DEG else (ends[1] - ends[0]) % 360)
    back = axis_scaled(seen, 1 / x_px, 1 / y_px)
    unequal = abs(x_px / y_px - 1)  # left uncorrected, the radius would be off by up to half of this
    second_order = (4 * unequal**2 + 0.02 * unequal) * radius + 1e-9
    shortness = (360 / sweep) ** 2
    assert abs(back.radius - radius) < second_order * shortness
    assert math.hypot(*back.centre) < second_order * shortness


def test_equal_axes_only_scale() -> None:
    curve = Circular((3.0, 4.0), 10.0, 20.0, 50.0)
    assert axis_scaled(curve, 0.5, 0.5) == Circular((3.0, 4.0), 5.0, 20.0, 50.0)


@pytest.mark.parametrize(("sweep", "full"), [(360.0, True), (359.9, False)])
def test_full_turn(sweep: float, full: bool) -> None:
    assert Circular((0.0, 0.0), 1.0, 0.0, sweep).full is full
