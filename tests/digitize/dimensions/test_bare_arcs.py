"""Angles of arcs whose heads were missed, on strokes whose layout is known."""

from dataclasses import replace

import pytest

from digitize.dimensions.linking.bare_arcs import HEAD_MM
from digitize.dimensions.linking.openings import find_openings
from digitize.strokes.primitives import Arc, Arrowhead, Role, Strokes
from tests.digitize.dimensions.drawn import MM_PER_PX
from tests.digitize.dimensions.test_spans import legs_at, unit

RADIUS_PX = 400.0
HEAD_DEG = 57.3 * HEAD_MM / MM_PER_PX / RADIUS_PX


def arc(start: float, end: float, role: Role = Role.CENTRE, radius_px: float = RADIUS_PX) -> Arc:
    return Arc((1000.0, 1000.0), radius_px, start % 360.0, end - start, 3.0, role=role)


@pytest.mark.parametrize("pieces", [
    [(1.0, 44.0)],  # whole, its figure outside
    [(2.0, 12.0), (32.0, 43.0)],  # broken for its figure
    [(-20.0, 65.0)],  # short, with tails beyond the lines
], ids=["whole", "broken", "with tails"])  # fmt: skip
def test_a_thin_arc_from_line_to_line_is_an_angle_that_contradicts_nothing(pieces: list[tuple[float, float]]) -> None:
    arcs = tuple(arc(*ends) for ends in pieces)
    (opening,) = find_openings(Strokes(legs_at(0.0, 45.0), arcs, ()), MM_PER_PX)
    assert opening.loose
    assert opening.size_deg == pytest.approx(45.0, abs=1e-6)
    assert opening.legs is not None


def test_angles_one_behind_the_other_on_one_circle_are_each_found() -> None:
    arcs = arc(350.0, 359.0), arc(1.0, 14.0), arc(36.0, 49.0), arc(52.0, 108.0)
    sizes = [o.size_deg for o in find_openings(Strokes(legs_at(340.0, 0.0, 50.0, 110.0), arcs, ()), MM_PER_PX)]
    assert sorted(sizes) == pytest.approx([50.0, 60.0], abs=1e-6)  # of the first 20 deg no ink begins at its line


@pytest.mark.parametrize(("arcs", "legs"), [
    ((arc(HEAD_DEG + 1.0, 44.0),), (0.0, 45.0)),  # it does not reach one of the lines
    ((arc(0.0, 5.0), arc(40.0, 45.0)), (0.0, 45.0)),  # more is missing than a figure takes
    ((arc(0.0, 45.0, Role.VISIBLE),), (0.0, 45.0)),  # an edge of the part
    ((arc(0.0, 45.0),), (0.0,)),  # one line alone
    ((arc(0.0, 45.0, radius_px=30.0),), (0.0, 45.0)),  # no figure has room within
    ((arc(0.0, 310.0),), (0.0, 45.0)),  # a circle of holes
])  # fmt: skip
def test_what_does_not_run_from_line_to_line_is_no_angle(arcs: tuple[Arc, ...], legs: tuple[float, ...]) -> None:
    assert find_openings(Strokes(legs_at(*legs), arcs, ()), MM_PER_PX) == ()


def test_an_angle_whose_heads_were_seen_is_found_once_and_may_contradict() -> None:
    at = [(1000 + RADIUS_PX * unit(a)[0], 1000 + RADIUS_PX * unit(a)[1]) for a in (0.0, 45.0)]
    heads = Arrowhead(at[0], -90.0, 35.0), Arrowhead(at[1], 135.0, 35.0)
    whole = replace(arc(0.0, 45.0), role=Role.DIMENSION)
    (opening,) = find_openings(Strokes(legs_at(0.0, 45.0), (whole,), heads), MM_PER_PX)
    assert not opening.loose
