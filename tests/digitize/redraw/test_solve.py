"""Least squares under relations."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from digitize.redraw.solving.solve import Relation, linear, solve


def test_no_relations_move_nothing() -> None:
    solution = solve(np.array([1.0, 2.0]), np.ones(2), [])
    assert solution.settled
    assert solution.values.tolist() == [1.0, 2.0]
    assert solution.free.shape == (2, 2)


def test_what_holds_already_is_settled() -> None:
    solution = solve(np.array([0.0, 18.0]), np.ones(2), [linear({1: 1.0, 0: -1.0}, 18.0)])
    assert solution.settled
    assert solution.values.tolist() == [0.0, 18.0]


def test_two_lengths_share_the_move_by_weight() -> None:
    """By hand: x1 - x0 must grow by 3; weights 1 and 2 give moves of 2 and 1."""
    solution = solve(np.array([0.0, 10.0]), np.array([1.0, 2.0]), [linear({1: 1.0, 0: -1.0}, 13.0)])
    assert solution.values == pytest.approx([-2.0, 11.0])


def test_redundant_chain_follows_and_false_chain_contradicts() -> None:
    """40 + 90 = 130 follows; 131 can't hold beside them and does not move anything."""
    drawn = np.array([0.0, 40.2, 129.9])
    parts = [linear({1: 1.0, 0: -1.0}, 40.0, "a"), linear({2: 1.0, 1: -1.0}, 90.0, "b")]
    good, bad = linear({2: 1.0, 0: -1.0}, 130.0, "c"), linear({2: 1.0, 0: -1.0}, 131.0, "d")
    solution = solve(drawn, np.ones(3), [*parts, good, bad])
    assert [each.dimension for each in solution.following] == ["c"]
    assert [each.dimension for each in solution.contradicting] == ["d"]
    assert np.diff(solution.values) == pytest.approx([40.0, 90.0], abs=1e-12)


def test_impossible_relation_is_not_settled() -> None:
    """x^2 + 1 = 0 has no solution: the drawing's values stay."""
    solution = solve(np.array([3.0]), np.ones(1), [Relation((0,), lambda v: complex(v[0] ** 2 + 1))])
    assert not solution.settled
    assert solution.values.tolist() == [3.0]


@settings(max_examples=25)
@given(st.lists(st.floats(-5, 5), min_size=4, max_size=4), st.floats(3, 6))
def test_distance_relation_against_scipy(moves: list[float], wanted: float) -> None:
    """Two points at a set distance: the same point as scipy's constrained minimiser finds (outside check)."""
    drawn = np.array([0.0, 0.0, 4.0, 3.0]) + 0.1 * np.array(moves)

    def apart(v: np.ndarray) -> complex:
        return complex(np.sqrt((v[2] - v[0]) ** 2 + (v[3] - v[1]) ** 2) - wanted)

    ours = solve(drawn, np.ones(4), [Relation((0, 1, 2, 3), apart)])
    other = minimize(
        lambda v: ((v - drawn) ** 2).sum(), drawn, method="SLSQP",
        constraints={"type": "eq", "fun": lambda v: apart(v).real}, options={"ftol": 1e-14, "maxiter": 200},
    )  # fmt: skip
    assert ours.settled
    assert ours.values == pytest.approx(other.x, abs=1e-5)
    assert ours.free.shape == (4, 3)


def test_a_hair_beside_its_touching_point_an_arc_keeps_its_size() -> None:
    """A slot's round end, its corner drawn .03 beside the centre: that corner's place on the circle is no news, and
    taken for news it would draw the slot in to a line. Unknowns: corner x, centre x, middle, low, high, radius."""

    def on_circle(v: np.ndarray) -> complex:
        return complex(np.sqrt((v[0] - v[1]) ** 2 + (v[3] - v[2]) ** 2) - v[4])

    drawn = np.array([335.204, 335.233, 616.804, 612.031, 621.573, 4.0])
    joints = [
        Relation((0, 1, 2, 4, 5), on_circle),
        linear({0: 1.0, 1: -1.0}, 0.0),
        linear({3: 1.0, 2: -1.0, 5: 1.0}, 0.0),
        linear({3: 1.0, 4: 1.0, 2: -2.0}, 0.0),
    ]
    solution = solve(drawn, np.array([1e-3, 7.0, 473.0, 16.0, 16.0, 14.0]), joints)
    assert solution.settled
    assert solution.values[5] == pytest.approx(4.5, abs=0.5)
    assert solution.values[4] - solution.values[3] == pytest.approx(2 * solution.values[5])
