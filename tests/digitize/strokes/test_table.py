"""What lies near a place, by cells and by looking at every piece."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.joining.crossings import PARALLEL_SINE, crossings_of, holds, meets
from digitize.strokes.pieces import Piece
from digitize.strokes.table import Table, distance_to
from digitize.strokes.tracks import Track

SIDE = 700.0
places = st.floats(-SIDE, SIDE)
turns = st.floats(0.0, 2.0 * math.pi)


def piece(track: Track, s0: float, length: float, width: float) -> Piece:
    end = s0 + min(length, track.period)
    run = track.point(s0), track.point(0.5 * (s0 + end)), track.point(end)
    return Piece(track, s0, end, width, 0.1, ((0, 2),), (run,))


@st.composite
def pieces(draw: st.DrawFn) -> list[Piece]:
    found = []
    for _ in range(draw(st.integers(1, 12))):
        x, y, turn = draw(places), draw(places), draw(turns)
        line = Track(LINE, x, y, math.cos(turn), math.sin(turn))
        arc = Track(ARC, x, y, radius=draw(st.floats(2.0, 400.0)))
        length, width = draw(st.floats(1.0, 900.0)), draw(st.floats(1.0, 9.0))
        found.append(piece(draw(st.sampled_from([line, arc])), draw(st.floats(-300.0, 300.0)), length, width))
    return found


@settings(max_examples=60)
@given(pieces(), places, places, st.floats(0.5, 300.0), st.sampled_from([0.0, 0.5]), st.sampled_from([0.0, 20.0]))
def test_cells_leave_nothing_out(
    every: list[Piece], x: float, y: float, reach: float, share: float, least: float
) -> None:
    table = Table(every)
    limit = np.maximum(reach + share * table.width, least)
    expected = [k for k in range(len(every)) if distance_to(table.rows[k], x, y, limit[k]) <= limit[k]]
    assert table.near(x, y, reach, share, least).tolist() == expected


@settings(max_examples=40)
@given(pieces(), st.floats(0.5, 30.0))
def test_nothing_along_a_piece_is_left_out(every: list[Piece], reach: float) -> None:
    *others, one = every
    on_it = one.track.at(np.linspace(one.s0, one.s1, 200))
    rows = Table(others).rows
    least = [min(distance_to(row, x, y, reach) for x, y in on_it.tolist()) for row in rows]
    assert {k for k, away in enumerate(least) if away <= reach} <= set(Table(others).along(one, reach))


@settings(max_examples=40)
@given(pieces(), st.floats(0.0, 9.0))
def test_cells_leave_no_crossing_out(every: list[Piece], slack: float) -> None:
    rows = Table(every).rows
    for k in range(len(every)):
        expected = [
            other
            for other in range(len(every))
            for x, y, sine in meets(rows[k], rows[other])
            if other != k and sine >= PARALLEL_SINE and all(holds(rows[n], x, y, slack) for n in (k, other))
        ]
        assert sorted(crossing.other for crossing in crossings_of(Table(every), k, slack)) == expected


def test_two_lines_cross_where_they_do() -> None:
    level, upright = Track(LINE, 0.0, 50.0), Track(LINE, 30.0, 0.0, 0.0, 1.0)
    (crossing,) = crossings_of(Table([piece(level, 0.0, 300.0, 3.0), piece(upright, 0.0, 300.0, 3.0)]), 0, 1.0)
    assert (crossing.s, crossing.other_s, crossing.other, crossing.sine) == (30.0, 50.0, 1, 1.0)


def test_an_empty_table_holds_nothing() -> None:
    assert len(Table([]).near(3.0, 4.0, 50.0)) == 0


def test_past_its_ends_an_arc_is_as_far_off_as_the_nearer_of_them() -> None:
    """Along the circle the way is shorter than across to a point far outside it."""
    bow = Table([piece(Track(ARC, 0.0, 0.0, radius=20.0), 0.0, 1.0, 1.0)]).rows[0]
    assert abs(distance_to(bow, 0.0, -183.0, 200.0) - math.hypot(20.0, 183.0)) < 1e-9
