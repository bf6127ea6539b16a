"""Chamfers that a leader shows: corner to corner, cut short, covered by the head."""

import math
from dataclasses import replace

import pytest

from digitize.dimensions.linking.directions import unit
from digitize.dimensions.linking.leaders import Leader
from digitize.strokes.primitives import Strokes
from tests.digitize.dimensions.led import edge, shown


def chamfered(lean_deg: float, short_px: float = 0.0) -> tuple[Leader, Strokes]:
    """A chamfered corner whose slanted edge was traced short by so much; the leader touches its middle."""
    away = unit(lean_deg)
    corner = 500.0 + 40 * away[0], 500.0 + 40 * away[1]
    slanted = edge(500.0, 500.0, corner[0] - short_px * away[0], corner[1] - short_px * away[1])
    tip = 500.0 + 20 * away[0], 500.0 + 20 * away[1]
    level, upright = edge(*corner, 900.0, corner[1]), edge(500.0, 500.0, 500.0, 900.0)
    return Leader(tip, (400.0, 300.0), 300.0, (), (0,)), Strokes((slanted, level, upright))


def test_a_chamfer_is_as_long_as_the_leg_of_its_edge_and_leans_as_it_is_drawn() -> None:
    leader, strokes = chamfered(45.0)
    leg, lean = (shown("2 × 45°", which, leader, strokes) for which in (0, 1))
    assert leg is not None
    assert leg.size == pytest.approx(40 / math.sqrt(2))
    assert lean is not None
    assert lean.size == pytest.approx(45.0)
    assert lean.size_std > 1.0, "the ends of so short an edge are known badly"


def test_an_edge_that_leans_otherwise_is_no_chamfer() -> None:
    assert shown("2 × 45°", 0, *chamfered(20.0)) is None


def test_a_chamfer_is_measured_from_corner_to_corner_where_its_edge_was_traced_short() -> None:
    found = shown("2 × 45°", 0, *chamfered(45.0, short_px=15.0))
    assert found is not None
    assert found.size == pytest.approx(40 / math.sqrt(2))


def test_an_edge_that_ends_in_the_open_is_no_whole_chamfer() -> None:
    leader, strokes = chamfered(45.0)
    assert shown("2 × 45°", 0, leader, replace(strokes, lines=strokes.lines[:2])) is None


def test_a_scrap_of_the_head_at_the_tip_does_not_hide_the_chamfer_ahead() -> None:
    leader, strokes = chamfered(45.0)
    early = short_of(leader, 12.0)
    scrap = edge(early.tip[0] - 8.0, early.tip[1] - 8.0, early.tip[0] + 8.0, early.tip[1] + 8.0)
    led = replace(early, edges=(len(strokes.lines),))
    found = shown("2 × 45°", 0, led, replace(strokes, lines=(*strokes.lines, scrap)))
    assert found is not None
    assert found.size == pytest.approx(40 / math.sqrt(2))


@pytest.mark.parametrize("back_px", [12.0, 20.0])
def test_a_leader_that_an_extension_line_cuts_short_shows_the_chamfer_it_points_at(back_px: float) -> None:
    leader, strokes = chamfered(45.0)
    found = shown("2 × 45°", 0, short_of(leader, back_px), strokes)
    assert found is not None
    assert found.size == pytest.approx(40 / math.sqrt(2))


def test_a_leader_shows_no_chamfer_far_ahead_nor_one_that_it_passes_by() -> None:
    leader, strokes = chamfered(45.0)
    assert shown("2 × 45°", 0, short_of(leader, 30.0), strokes) is None, "three millimetres on"
    aside = replace(short_of(leader, 12.0), direction_deg=240.0)
    assert shown("2 × 45°", 0, aside, strokes) is None


def test_a_chamfer_that_the_head_covers_runs_between_the_ends_of_the_edges_it_cuts() -> None:
    leader, strokes = covered()
    leg, lean = (shown("2 × 45°", which, leader, strokes) for which in (0, 1))
    assert leg is not None
    assert leg.size == pytest.approx(10.0)
    assert lean is not None
    assert lean.size == pytest.approx(45.0)


def test_a_covered_chamfer_that_ends_in_two_ways_is_not_measured() -> None:
    leader, strokes = covered()
    farther = edge(517.0, 483.0, 517.0, 900.0)
    assert shown("2 × 45°", 0, leader, replace(strokes, lines=(*strokes.lines, farther))) is None


def short_of(leader: Leader, back_px: float) -> Leader:
    """The leader, its tip taken so much too early."""
    towards = unit(leader.direction_deg)
    tip = leader.tip[0] - back_px * towards[0], leader.tip[1] - back_px * towards[1]
    return replace(leader, tip=tip, edges=())


def covered() -> tuple[Leader, Strokes]:
    """A chamfer a millimetre wide of which only the two edges beside it were traced."""
    lines = edge(500.0, 500.0, 500.0, 900.0), edge(510.0, 490.0, 900.0, 490.0)
    return Leader((503.0, 490.0), (450.0, 400.0), 300.0, (), ()), Strokes(lines)


def turned(face_short_px: float = 8.0) -> tuple[Leader, Strokes]:
    """A turned end whose chamfer of 12 px the head covers: end face, the circle where the turning begins, its edge."""
    face, rim = edge(500.0, 512.0 + face_short_px, 500.0, 800.0), edge(512.0, 500.0, 512.0, 812.0)
    turning = edge(512.0, 500.0, 900.0, 500.0)
    return Leader((506.0, 508.0), (440.0, 410.0), 305.0, (), ()), Strokes((face, rim, turning))


@pytest.mark.parametrize("face_short_px", [8.0, -12.0])
def test_a_turned_chamfer_under_the_head_is_as_long_as_its_face_is_from_its_rim(face_short_px: float) -> None:
    leader, strokes = turned(face_short_px)
    leg = shown("1/16 × 45°", 0, leader, strokes)
    assert leg is not None
    assert leg.size == pytest.approx(12.0)
    assert leg.size_std < 1.0, "two long lines are known far better than a corner"
    assert shown("1/16 × 45°", 1, leader, strokes) is None, "the slanted edge itself is not seen"


def test_a_covered_turned_chamfer_leans_as_it_does_at_the_other_end_of_its_face() -> None:
    leader, strokes = turned()
    turning = edge(512.0, 812.0, 900.0, 812.0)
    slanted = edge(500.0, 800.0, 512.0, 812.0)
    lean = shown("1/16 × 45°", 1, leader, replace(strokes, lines=(*strokes.lines, turning, slanted)))
    assert lean is not None
    assert lean.size == pytest.approx(45.0)
    elsewhere = edge(700.0, 800.0, 712.0, 812.0)
    assert shown("1/16 × 45°", 1, leader, replace(strokes, lines=(*strokes.lines, turning, elsewhere))) is None


def test_what_is_no_turned_end_shows_no_chamfer() -> None:
    leader, strokes = turned()
    face, rim, turning = strokes.lines
    assert shown("1/16 × 45°", 0, leader, replace(strokes, lines=(face, rim))) is None, "nothing runs on"
    groove = edge(100.0, 500.0, 512.0, 500.0)
    assert shown("1/16 × 45°", 0, leader, replace(strokes, lines=(face, rim, groove))) is None, "it runs the other way"
    third = edge(524.0, 500.0, 524.0, 812.0)
    beyond = replace(leader, tip=(518.0, 508.0))
    assert shown("1/16 × 45°", 0, beyond, strokes) is None, "the tip is not between them"
    assert shown("1/16 × 45°", 0, leader, replace(strokes, lines=(face, rim, turning, third))) is not None
    nearer = edge(494.0, 520.0, 494.0, 800.0)
    assert shown("1/16 × 45°", 0, leader, replace(strokes, lines=(*strokes.lines, nearer))) is None, "two faces"
