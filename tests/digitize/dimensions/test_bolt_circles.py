"""Equal holes and the circle they stand on, against scikit-image's own fit."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.measure import CircleModel

from digitize.dimensions.linking.bolt_circles import bolt_circle, equal_holes
from digitize.strokes.primitives import Arc
from tests.digitize.dimensions.drawn import circle


def ring(count: int, radius: float = 400.0, turn: float = 0.3, off: float = 0.0) -> list[Arc]:
    rng = np.random.default_rng(count)
    angles = [turn + 2 * math.pi * k / count for k in range(count)]
    return [
        circle(
            (1000 + radius * math.cos(a) + off * rng.normal(), 1000 + radius * math.sin(a) + off * rng.normal()), 30.0
        )
        for a in angles
    ]


def test_two_holes_make_no_circle() -> None:
    assert bolt_circle(0, ring(2)) is None


def test_holes_in_a_row_make_no_bolt_circle() -> None:
    row = [circle((500.0 + 200 * k, 500.0), 30.0) for k in range(4)]
    found = bolt_circle(0, row)
    assert found is None or found.radius_px > 1e4


def test_a_larger_bore_is_not_counted() -> None:
    assert equal_holes(0, [*ring(6), circle((1000.0, 1000.0), 90.0)]) == tuple(range(6))


def test_a_hole_whose_rim_is_cut_by_the_head_of_its_leader_is_counted_and_a_slots_end_is_not() -> None:
    holes = ring(6)
    assert equal_holes(0, [replace(holes[0], sweep_deg=280.0), *holes[1:]]) == tuple(range(6))
    assert equal_holes(0, [*holes[:5], replace(holes[5], sweep_deg=180.0)]) == tuple(range(5))


@given(count=st.integers(3, 12), radius=st.floats(100, 900))
def test_the_circle_is_exact(count: int, radius: float) -> None:
    found = bolt_circle(0, ring(count, radius))
    assert found is not None
    assert found.radius_px == pytest.approx(radius, rel=1e-6)
    assert len(found.holes) == count


def test_shaky_holes_agree_with_another_library() -> None:
    holes = ring(6, off=3.0)
    found = bolt_circle(0, holes)
    other = CircleModel.from_estimate(np.array([hole.centre for hole in holes]))
    assert found is not None
    assert found.radius_px == pytest.approx(other.radius, abs=1.0)
