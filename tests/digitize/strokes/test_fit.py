"""Line and circle fits against exact points, scikit-image, and the Cramer-Rao bound."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.measure import CircleModel

from digitize.strokes.centre_lines.cuts import Tolerance, cut_chains
from digitize.strokes.centre_lines.fit import ARC, LINE, circle_through, line_through
from digitize.strokes.centre_lines.refine import Trail

TOLERANCE = Tolerance(rms_px=0.4, local_px=0.9, window=9, sagitta_px=1.2)


def trail_of(x: np.ndarray, y: np.ndarray, width: float = 3.0) -> Trail:
    n = len(x)
    ends = np.array([0, n], np.int32)
    return Trail(x, y, np.full(n, width), np.ones(n), ends, np.zeros((1, 2), np.int32))


def test_a_line_through_one_point_is_refused() -> None:
    assert np.isnan(line_through(np.array([2.0, 2.0]), np.array([3.0, 3.0]), np.ones(2))).all()


@pytest.mark.parametrize(
    ("x", "y"),
    [([1.0, 2.0], [1.0, 5.0]), ([4.0, 4.0, 4.0], [7.0, 7.0, 7.0]), ([0.0, 1.0, 2.0, 3.0], [0.0, 1.0, 2.0, 3.0])],
    ids=["two points", "one point thrice", "a straight row"],
)
def test_points_that_determine_no_circle_give_none(x: list[float], y: list[float]) -> None:
    *_, radius, rms = circle_through(np.array(x), np.array(y), np.ones(len(x)))
    assert not (np.isfinite(rms) and radius > 0.0)


@given(angle=st.floats(0, np.pi), x=st.floats(-4000, 4000), y=st.floats(-4000, 4000), length=st.floats(5, 5000))
def test_an_exact_line_is_found_exactly(angle: float, x: float, y: float, length: float) -> None:
    s = np.linspace(-length / 2, length / 2, 41)
    _, _, dx, dy, rms = line_through(x + s * np.cos(angle), y + s * np.sin(angle), np.ones(len(s)))
    assert abs(dx * np.sin(angle) - dy * np.cos(angle)) < 1e-7
    assert rms < 1e-5 * max(length, 1.0)


@given(
    x=st.floats(-4000, 4000),
    y=st.floats(-4000, 4000),
    radius=st.floats(3, 3000),
    start=st.floats(0, 6.2),
    sweep=st.floats(0.4, 6.2),
)
def test_an_exact_circle_is_found_exactly(x: float, y: float, radius: float, start: float, sweep: float) -> None:
    t = start + np.linspace(0, sweep, 60)
    found_x, found_y, found, _ = circle_through(x + radius * np.cos(t), y + radius * np.sin(t), np.ones(len(t)))
    assert np.hypot(found_x - x, found_y - y) < 1e-4 * radius
    assert abs(found - radius) < 1e-4 * radius


def test_a_full_circle_agrees_with_scikit_image() -> None:
    rng = np.random.default_rng(3)
    t = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    points = np.column_stack([200 + 80 * np.cos(t), 150 + 80 * np.sin(t)]) + rng.normal(0, 0.2, (400, 2))
    other = CircleModel.from_estimate(points)
    x, y, radius, _ = circle_through(points[:, 0].copy(), points[:, 1].copy(), np.ones(len(points)))
    assert np.hypot(x - other.center[0], y - other.center[1]) < 0.005
    assert abs(radius - other.radius) < 0.005


@pytest.mark.parametrize("sweep_deg", [40.0, 90.0, 360.0])
def test_circle_radius_scatters_as_the_cramer_rao_bound_says(sweep_deg: float) -> None:
    """Bound: inverse of the normal matrix of (centre, radius) for normal noise across the circle (from memory)."""
    rng = np.random.default_rng(11)
    t = np.radians(np.linspace(0, sweep_deg, 300))
    jacobian = np.stack([np.cos(t), np.sin(t), np.ones_like(t)], axis=1)
    bound = 0.1 * np.sqrt(np.linalg.inv(jacobian.T @ jacobian)[2, 2])
    found = []
    for _ in range(200):
        r = 120 + rng.normal(0, 0.1, len(t))
        found.append(circle_through(r * np.cos(t), r * np.sin(t), np.ones(len(t)))[2])
    assert 0.85 < np.std(found) / bound < 1.15
    assert abs(np.mean(found) - 120) < 4 * bound / np.sqrt(200) + 0.002 * bound


def test_a_corner_is_cut_where_it_is() -> None:
    x = np.concatenate([np.arange(0.0, 80), np.full(60, 80.0)])
    y = np.concatenate([np.full(80, 10.0), 10 + np.arange(0.0, 60)])
    cuts = cut_chains(trail_of(x, y), TOLERANCE)
    assert cuts[:, 2].tolist() == [LINE, LINE]
    assert abs(cuts[0, 1] - 80) <= 1


def test_a_line_that_flows_into_an_arc_is_cut_near_the_tangent_point() -> None:
    t = np.linspace(-np.pi / 2, 0, 95)
    x = np.concatenate([np.arange(0.0, 100), 100 + 60 * np.cos(t)])
    y = np.concatenate([np.full(100, 60.0), 120 + 60 * np.sin(t)])
    cuts = cut_chains(trail_of(x, y), TOLERANCE)
    assert cuts[:, 2].tolist() == [LINE, ARC]
    assert abs(cuts[0, 1] - 100) <= 8


def test_a_slightly_bowed_line_stays_a_line() -> None:
    x = np.arange(0.0, 300)
    y = 0.4 * np.sin(np.pi * x / 300)
    assert cut_chains(trail_of(x, y), TOLERANCE)[:, 2].tolist() == [LINE]


def test_no_arc_is_tighter_than_the_pen_can_draw() -> None:
    t = np.linspace(0, np.pi, 14)
    cuts = cut_chains(trail_of(4 * np.cos(t), 4 * np.sin(t), width=4.0), TOLERANCE)
    assert ARC not in cuts[:, 2]


@pytest.mark.parametrize("seed", [27, 45, 50])
def test_no_part_of_a_circle_that_strays_as_far_as_is_allowed_is_called_a_line(seed: int) -> None:
    rng = np.random.default_rng(seed)
    radius, n = 590.0, 900
    angle = np.linspace(0, n / radius, n)
    r = radius + rng.normal(0, TOLERANCE.rms_px * rng.uniform(0.9, 1.1), n)
    cuts = cut_chains(trail_of(r * np.cos(angle), r * np.sin(angle)), TOLERANCE)
    rises = [(b - a) ** 2 / (8 * radius) for a, b, kind in cuts.tolist() if kind == LINE]
    assert max(rises, default=0.0) < 2 * TOLERANCE.sagitta_px
