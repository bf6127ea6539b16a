"""Spans, leaders and openings on strokes whose layout is known."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from digitize.dimensions.linking.directions import unit
from digitize.dimensions.linking.leaders import find_leaders
from digitize.dimensions.linking.openings import find_openings
from digitize.dimensions.linking.spans import find_spans
from digitize.strokes.primitives import Arc, Arrowhead, Line, Role, Strokes
from tests.digitize.dimensions.drawn import MM_PER_PX, Drawn, circle, draw, sure


def test_no_arrowhead_gives_no_span() -> None:
    assert find_spans(Strokes(), MM_PER_PX) == ()


def test_lone_arrowhead_without_line_gives_no_span() -> None:
    strokes = Strokes(arrowheads=(Arrowhead((100.0, 100.0), 0.0, 30.0),))
    assert find_spans(strokes, MM_PER_PX) == ()


@given(angle_deg=st.floats(-180, 180), length=st.floats(100, 900))
def test_a_dimension_line_is_one_span_of_its_length_at_any_angle(angle_deg: float, length: float) -> None:
    u = unit(angle_deg)
    second = 1500 + length * u[0], 1500 + length * u[1]
    strokes, _ = draw([Drawn((1500.0, 1500.0), second, sure("1"))])
    (span,) = find_spans(strokes, MM_PER_PX)
    assert span.size == pytest.approx(length, abs=1e-6)
    assert not span.outside


def test_a_chain_is_as_many_spans_as_it_has_links() -> None:
    stations = [300.0, 500.0, 900.0, 1600.0]
    chain = [Drawn((a, 800.0), (b, 800.0), sure("1")) for a, b in pairwise(stations)]
    strokes, _ = draw(chain)
    sizes = sorted(span.size for span in find_spans(strokes, MM_PER_PX))
    assert sizes == pytest.approx([200.0, 400.0, 700.0], abs=1e-6)


@pytest.mark.parametrize(("break_mm", "loose"), [(35.0, False), (45.0, True)])
def test_a_line_that_is_broken_for_longer_than_a_figure_may_be_two_lines(break_mm: float, loose: bool) -> None:
    far = 200.0 + break_mm / MM_PER_PX
    lines = (
        Line((100.0, 500.0), (200.0, 500.0), 3.0, role=Role.DIMENSION),
        Line((far, 500.0), (far + 100.0, 500.0), 3.0, role=Role.DIMENSION),
        Line((100.0, 400.0), (100.0, 520.0), 3.0, role=Role.EXTENSION),
        Line((far + 100.0, 400.0), (far + 100.0, 520.0), 3.0, role=Role.EXTENSION),
    )
    heads = (Arrowhead((101.0, 500.0), 180.0, 35.0, line=0), Arrowhead((far + 99.0, 500.0), 0.0, 35.0, line=1))
    (span,) = find_spans(Strokes(lines, (), heads), MM_PER_PX)
    assert span.certain
    assert span.loose is loose


def test_arrows_that_point_at_each_other_are_an_outside_pair() -> None:
    lines = (
        Line((400.0, 500.0), (500.0, 500.0), 3.0, role=Role.DIMENSION),
        Line((560.0, 500.0), (660.0, 500.0), 3.0, role=Role.DIMENSION),
        Line((500.0, 400.0), (500.0, 520.0), 3.0, role=Role.EXTENSION),
        Line((560.0, 400.0), (560.0, 520.0), 3.0, role=Role.EXTENSION),
    )
    heads = (Arrowhead((499.0, 500.0), 0.0, 35.0, line=0), Arrowhead((561.0, 500.0), 180.0, 35.0, line=1))
    (span,) = find_spans(Strokes(lines, (), heads), MM_PER_PX)
    assert span.outside
    assert span.size == pytest.approx(60.0)
    assert {end[0] for end in span.tails} == {400.0, 660.0}


@pytest.mark.parametrize("lean_deg", [-0.01, 0.01])
def test_upright_heads_that_lean_either_way_are_one_axis(lean_deg: float) -> None:
    """Directions just short of and just past upright fold to opposite senses of one axis."""
    lines = (
        Line((500.0, 700.0), (500.0, 600.0), 3.0, role=Role.DIMENSION),
        Line((500.0, 400.0), (500.0, 500.0), 3.0, role=Role.DIMENSION),
        Line((400.0, 600.0), (520.0, 600.0), 3.0, role=Role.EXTENSION),
        Line((400.0, 500.0), (520.0, 500.0), 3.0, role=Role.EXTENSION),
    )
    heads = (
        Arrowhead((500.0, 600.0), 90.0 + lean_deg, 35.0, line=0),
        Arrowhead((500.0, 500.0), 270.0 - lean_deg, 35.0, line=1),
    )
    for order in (heads, heads[::-1]):
        (span,) = find_spans(Strokes(lines, (), order), MM_PER_PX)
        assert span.outside
        assert span.size == pytest.approx(100.0)


@given(lean_deg=st.floats(-3.5, 3.5))
def test_an_uneven_head_lies_on_the_axis_of_its_line(lean_deg: float) -> None:
    strokes, _ = draw([Drawn((300.0, 500.0), (1500.0, 500.0), sure("1"))])
    first, second = strokes.arrowheads
    uneven = Arrowhead(first.tip, first.direction_deg + lean_deg, 35.0, line=first.line)
    (span,) = find_spans(Strokes(strokes.lines, (), (uneven, second)), MM_PER_PX)
    assert span.size == pytest.approx(1200.0)
    assert span.certain


def test_a_scrap_of_a_head_leaves_the_end_of_its_line_in_doubt() -> None:
    """The true head at the upper end was taken for a stroke; the line stops short of it."""
    strokes, _ = draw([Drawn((300.0 * k, 900.0), (300.0 * k + 250.0, 900.0), sure("1")) for k in (1, 2, 3)])
    assert not any(span.loose for span in find_spans(strokes, MM_PER_PX))
    first, *others = strokes.arrowheads
    scrap = replace(first, length_px=0.1 * first.length_px)
    loose = [span.loose for span in find_spans(replace(strokes, arrowheads=(scrap, *others)), MM_PER_PX)]
    assert sum(loose) == 1


@pytest.mark.parametrize(("off_mm", "line", "loose"), [(0.2, None, False), (0.6, None, True), (0.6, 1, False)])
def test_a_head_without_a_shaft_beside_its_fellows_axis_may_be_a_piece_of_something(
    off_mm: float, line: int | None, loose: bool
) -> None:
    strokes, _ = draw([Drawn((200.0, 500.0), (600.0, 500.0), sure("4"))])
    first, second = strokes.arrowheads
    y = 500.0 + off_mm / MM_PER_PX
    lines = (*strokes.lines[:1], Line((500.0, y), (600.0, y), 3.0, role=Role.DIMENSION), *strokes.lines[1:])
    heads = (first, replace(second, tip=(600.0, y), line=line))
    (span,) = find_spans(replace(strokes, lines=lines, arrowheads=heads), MM_PER_PX)
    assert span.loose is loose


def broken_line(*xs: float, role: Role = Role.VISIBLE) -> tuple[Line, ...]:
    """Two pieces of a dimension line at y 500, from the first x to the second and from the third to the fourth."""
    pieces = tuple(Line((a, 500.0), (b, 500.0), 3.0, role=role) for a, b in (xs[:2], xs[2:]))
    known = Line((100.0, 2000.0), (900.0, 2000.0), 3.0, role=Role.DIMENSION)
    return (*pieces, known)


def upright(x: float, past: float = 20.0) -> Line:
    return Line((x, 200.0), (x, 500.0 + past), 3.0, role=Role.EXTENSION)


def test_a_broken_line_between_extension_lines_is_a_span_though_no_head_was_seen() -> None:
    lines = (*broken_line(300.0, 450.0, 560.0, 700.0), upright(300.0), upright(700.0))
    (span,) = find_spans(Strokes(lines), MM_PER_PX)
    assert span.size == pytest.approx(400.0)
    assert (span.certain, span.loose, span.outside) == (True, True, False)


@pytest.mark.parametrize(
    "lines",
    [
        (*broken_line(300.0, 450.0, 560.0, 700.0), upright(300.0)),
        (*broken_line(300.0, 450.0, 560.0, 692.0), upright(300.0), upright(700.0)),
        (*broken_line(300.0, 450.0, 460.0, 700.0), upright(300.0), upright(700.0)),
        (*broken_line(300.0, 450.0, 560.0, 700.0), upright(300.0), upright(700.0), upright(450.0)),
    ],
    ids=["an end at nothing", "an end short of its line", "no room for a figure", "a corner at the break"],
)
def test_lines_that_are_no_broken_dimension_line_are_no_span(lines: tuple[Line, ...]) -> None:
    assert find_spans(Strokes(lines), MM_PER_PX) == ()


def test_a_head_and_the_unseen_one_on_the_other_piece_are_a_span() -> None:
    lines = (*broken_line(300.0, 450.0, 560.0, 700.0, role=Role.DIMENSION), upright(300.0), upright(700.0))
    head = Arrowhead((300.0, 500.0), 180.0, 35.0, line=0)
    (span,) = find_spans(Strokes(lines, (), (head,)), MM_PER_PX)
    assert span.size == pytest.approx(400.0)
    assert (span.certain, span.loose) == (True, True)


@pytest.mark.parametrize(("short_px", "found"), [(35.0, True), (18.0, False), (60.0, False)])
def test_a_shaft_that_was_traced_to_the_root_of_its_head_is_a_span(short_px: float, found: bool) -> None:
    """The head itself was lost; the other heads of the sheet are 35 px long."""
    pieces = broken_line(300.0, 450.0, 560.0, 700.0 - short_px, role=Role.DIMENSION)
    head = Arrowhead((300.0, 500.0), 180.0, 35.0, line=0)
    spans = find_spans(Strokes((*pieces, upright(300.0), upright(700.0)), (), (head,)), MM_PER_PX)
    assert [(pytest.approx(400.0), True, True)] * found == [(s.size, s.certain, s.loose) for s in spans]


def test_ticks_given_to_the_lines_that_cross_a_broken_line_end_it_too() -> None:
    crossing = tuple(Line((x, 200.0), (x, 560.0), 3.0, role=Role.DIMENSION) for x in (300.0, 700.0))
    lines = (*broken_line(300.0, 450.0, 560.0, 700.0), *crossing)
    assert all(abs(span.direction[0]) < 0.5 for span in find_spans(Strokes(lines), MM_PER_PX))
    ticks = tuple(Arrowhead((x, 500.0), 90.0, 30.0, "tick", 3 + i) for i, x in enumerate((300.0, 700.0)))
    level = [s for s in find_spans(Strokes(lines, (), ticks), MM_PER_PX) if abs(s.direction[0]) > 0.5]
    assert [span.size for span in level] == pytest.approx([400.0])


def test_between_two_ticked_dimension_lines_in_one_row_is_no_length() -> None:
    """A tick points either way: its own line tells on which side it ends one."""
    ends = (100.0, 300.0, 500.0, 800.0)
    lines = tuple(Line((a, 500.0), (b, 500.0), 3.0, role=Role.DIMENSION) for a, b in (ends[:2], ends[2:]))
    ticks = tuple(Arrowhead((x, 500.0), 180.0 * (i % 2 == 0), 30.0, "tick", i // 2) for i, x in enumerate(ends))
    spans = find_spans(Strokes((*lines, *(upright(x) for x in ends)), (), ticks), MM_PER_PX)
    assert [span.size for span in spans] == pytest.approx([200.0, 300.0])


def test_a_line_broken_twice_on_which_another_ends_has_lost_heads_between() -> None:
    pieces = (*broken_line(300.0, 450.0, 560.0, 1000.0, role=Role.DIMENSION), upright(300.0), upright(1400.0))
    last = Line((1150.0, 500.0), (1400.0, 500.0), 3.0, role=Role.DIMENSION)
    heads = (Arrowhead((300.0, 500.0), 180.0, 35.0, line=0), Arrowhead((1400.0, 500.0), 0.0, 35.0, line=5))
    (whole,) = find_spans(Strokes((*pieces, last), (), heads), MM_PER_PX)
    assert whole.certain
    edge = Line((700.0, 200.0), (700.0, 520.0), 3.0)
    (merged,) = find_spans(Strokes((*pieces, last, edge), (), heads), MM_PER_PX)
    assert not merged.certain


def test_a_short_length_before_one_measured_from_outside_ends_at_that_ones_head() -> None:
    """Heads at 500 and 600 point right on one line, one at 800 points back: lengths of 100 and of 200."""
    lines = (
        Line((400.0, 500.0), (650.0, 500.0), 3.0, role=Role.DIMENSION),
        Line((800.0, 500.0), (900.0, 500.0), 3.0, role=Role.DIMENSION),
        *(Line((x, 400.0), (x, 520.0), 3.0, role=Role.EXTENSION) for x in (500.0, 600.0, 800.0)),
    )
    heads = (
        Arrowhead((500.0, 500.0), 0.0, 35.0, line=0),
        Arrowhead((600.0, 500.0), 0.0, 35.0, line=0),
        Arrowhead((800.0, 500.0), 180.0, 35.0, line=1),
    )
    spans = sorted(find_spans(Strokes(lines, (), heads), MM_PER_PX), key=lambda span: span.size)
    assert [span.size for span in spans] == pytest.approx([100.0, 200.0])
    assert spans[0].tails == ((400.0, 500.0), (600.0, 500.0))
    assert [span.loose for span in spans] == [True, False]
    (leader,) = find_leaders(Strokes(lines, (), heads[:1]), (), MM_PER_PX)
    assert leader.tail == (400.0, 500.0)


def test_a_tip_is_carried_onto_its_extension_line() -> None:
    strokes, _ = draw([Drawn((500.0, 500.0), (900.0, 500.0), sure("1"))])
    heads = tuple(Arrowhead((h.tip[0] + 2.0, h.tip[1]), h.direction_deg, 35.0, line=h.line) for h in strokes.arrowheads)
    (span,) = find_spans(Strokes(strokes.lines, (), heads), MM_PER_PX)
    assert span.first[0] == pytest.approx(500.0)
    assert span.size == pytest.approx(400.0)


def test_a_leader_names_the_circle_that_it_touches() -> None:
    head = Arrowhead((1000 + 100 * unit(30)[0], 1000 + 100 * unit(30)[1]), 210.0, 35.0, line=0)
    tail = 1000 + 300 * unit(30)[0], 1000 + 300 * unit(30)[1]
    strokes = Strokes((Line(head.tip, tail, 3.0, role=Role.LEADER),), (circle((1000, 1000), 100.0),), (head,))
    (leader,) = find_leaders(strokes, (), MM_PER_PX)
    assert leader.arcs == (0,)
    assert leader.tail == pytest.approx(tail)


def test_an_angle_is_measured_between_its_tips() -> None:
    arc = Arc((1000.0, 1000.0), 400.0, 0.0, 45.0, 3.0, role=Role.DIMENSION)
    heads = tuple(
        Arrowhead((1000 + 400 * unit(a)[0], 1000 + 400 * unit(a)[1]), a + turn, 35.0)
        for a, turn in ((0, -90), (45, 90))
    )
    (opening,) = find_openings(Strokes((), (arc,), heads), MM_PER_PX)
    assert opening.size_deg == pytest.approx(45.0, abs=1e-6)
    assert math.dist(opening.middle, (1000.0, 1000.0)) == pytest.approx(400.0)


def test_an_angle_is_measured_between_the_lines_that_bound_it() -> None:
    """The tips are drawn a little off; the lines are not."""
    arc = Arc((1000.0, 1000.0), 400.0, 0.0, 45.0, 3.0, role=Role.DIMENSION)
    at = [(1000 + 400 * unit(a)[0], 1000 + 400 * unit(a)[1]) for a in (0.3, 44.6)]
    heads = (Arrowhead(at[0], -90.0, 35.0), Arrowhead(at[1], 135.0, 35.0))
    legs = tuple(
        Line((1000.0, 1000.0), (1000 + 450 * unit(a)[0], 1000 + 450 * unit(a)[1]), 3.0, role=Role.VISIBLE)
        for a in (0.0, 45.0)
    )
    (opening,) = find_openings(Strokes(legs, (arc,), heads), MM_PER_PX)
    assert opening.size_deg == pytest.approx(45.0, abs=1e-6)
    assert opening.size_std_deg < 0.1
    (rough,) = find_openings(Strokes((), (arc,), heads), MM_PER_PX)
    assert rough.size_deg == pytest.approx(44.3, abs=1e-6)
    assert rough.size_std_deg > opening.size_std_deg


def test_heads_that_follow_each_other_along_an_arc_measure_no_angle() -> None:
    arc = Arc((1000.0, 1000.0), 400.0, 0.0, 45.0, 3.0, role=Role.DIMENSION)
    heads = tuple(Arrowhead((1000 + 400 * unit(a)[0], 1000 + 400 * unit(a)[1]), a + 90.0, 35.0) for a in (0.0, 45.0))
    assert find_openings(Strokes((), (arc,), heads), MM_PER_PX) == ()


def legs_at(*bearings: float, to_px: float = 450.0) -> tuple[Line, ...]:
    """Edges from (1000, 1000) outwards."""
    ends = [(1000 + to_px * unit(a)[0], 1000 + to_px * unit(a)[1]) for a in bearings]
    return tuple(Line((1000.0, 1000.0), end, 3.0, role=Role.VISIBLE) for end in ends)


def test_two_heads_at_the_edges_of_an_arc_that_was_not_traced_bound_a_loose_angle() -> None:
    """A dashed dimension line is in pieces; two heads at unlike distances from the corner are of none."""

    def heads(*distances: float, turn: float = 1.0) -> tuple[Arrowhead, ...]:
        ways = (-90.0 * turn, 45.0 + 90.0 * turn)
        places = [(1000 + d * unit(a)[0], 1000 + d * unit(a)[1]) for d, a in zip(distances, (0.0, 45.0), strict=True)]
        return tuple(Arrowhead(at, way, 35.0) for at, way in zip(places, ways, strict=True))

    legs = legs_at(0.0, 45.0)
    for turn in (1.0, -1.0):
        (opening,) = find_openings(Strokes(legs, (), heads(400.0, 401.0, turn=turn)), MM_PER_PX)
        assert opening.loose
        assert opening.size_deg == pytest.approx(45.0, abs=1e-6)
    assert find_openings(Strokes(legs, (), heads(400.0, 430.0)), MM_PER_PX) == ()
    assert find_openings(Strokes(legs[:1], (), heads(400.0, 400.0)), MM_PER_PX) == ()
    assert find_openings(Strokes(legs, (), heads(40.0, 40.0)), MM_PER_PX) == ()
    one, other = heads(400.0, 400.0)
    same_way = replace(other, direction_deg=other.direction_deg + 180.0)
    assert find_openings(Strokes(legs, (), (one, same_way)), MM_PER_PX) == ()
    assert find_openings(Strokes(legs, (), (replace(one, line=0), other)), MM_PER_PX) == ()


def test_two_heads_back_to_back_at_one_end_of_an_arc_are_one_end() -> None:
    arc = Arc((1000.0, 1000.0), 400.0, 0.0, 45.0, 3.0, role=Role.DIMENSION)
    heads = (*(Arrowhead((1400.0, 1000.0), way, 35.0) for way in (90.0, -90.0)),
             Arrowhead((1000 + 400 * unit(45)[0], 1000 + 400 * unit(45)[1]), 135.0, 35.0))  # fmt: skip
    (opening,) = find_openings(Strokes((), (arc,), heads), MM_PER_PX)
    assert opening.size_deg == pytest.approx(45.0, abs=1e-6)
    assert not opening.loose


@pytest.mark.parametrize(
    ("lost_mm", "role", "found"), [(10, Role.LEADER, True), (14, Role.LEADER, False), (6, Role.VISIBLE, False)]
)
def test_a_leader_runs_on_behind_the_strokes_that_cross_it(lost_mm: int, role: Role, found: bool) -> None:
    behind = 400.0 + lost_mm / MM_PER_PX
    lines = (
        Line((300.0, 500.0), (400.0, 500.0), 3.0, role=Role.LEADER),
        Line((behind, 500.0), (behind + 80.0, 500.0), 3.0, role=role),
        Line((behind, 540.0), (behind + 200.0, 540.0), 3.0, role=Role.LEADER),
    )
    (leader,) = find_leaders(Strokes(lines, (), (Arrowhead((300.0, 500.0), 180.0, 35.0, line=0),)), (), MM_PER_PX)
    assert leader.tail == ((behind + 80.0, 500.0) if found else (400.0, 500.0))


@pytest.mark.parametrize(("width_px", "found"), [(1.6, True), (3.0, False)])
def test_a_piece_of_a_leader_that_the_trace_took_for_an_edge_is_told_by_its_pen(width_px: float, found: bool) -> None:
    lines = (
        Line((300.0, 500.0), (400.0, 500.0), 1.5, role=Role.LEADER),
        Line((450.0, 500.0), (530.0, 500.0), width_px, role=Role.VISIBLE),
        Line((530.0, 500.0), (600.0, 540.0), width_px, role=Role.VISIBLE),
        *(Line((300.0, y), (600.0, y), 3.0, role=Role.VISIBLE) for y in (700.0, 800.0, 900.0)),
    )
    (leader,) = find_leaders(Strokes(lines, (), (Arrowhead((300.0, 500.0), 180.0, 35.0, line=0),)), (), MM_PER_PX)
    assert leader.tail == ((600.0, 540.0) if found else (400.0, 500.0))


@pytest.mark.parametrize(("other_deg", "reach_px", "spans"), [(0.0, 0.0, 0), (-30.0, 0.0, 1), (0.0, 80.0, 1)])
def test_a_line_that_turns_into_another_does_not_stop_at_it(other_deg: float, reach_px: float, spans: int) -> None:
    """A leader at 60 degrees ends in its shoulder; a dimension line at a line square to it, or that runs past it."""
    tip = 200.0 + 400 * unit(60)[0], 500.0 + 400 * unit(60)[1]
    way = unit(other_deg)
    first, last = ((200 + t * way[0], 500 + t * way[1]) for t in (-reach_px, 80.0))
    lines = Line(tip, (200.0, 500.0), 1.5, role=Role.DIMENSION), Line(first, last, 1.5, role=Role.VISIBLE)
    assert len(find_spans(Strokes(lines, (), (Arrowhead(tip, 60.0, 35.0, line=0),)), MM_PER_PX)) == spans


def test_the_tail_of_an_arrow_ends_at_the_next_tip_on_its_shaft() -> None:
    """Two short lengths side by side from outside: the shaft of the second runs on through the first, to its arrow."""
    stations = (400.0, 460.0, 650.0)
    lines = (
        Line((330.0, 500.0), (460.0, 500.0), 3.0, role=Role.DIMENSION),
        Line((650.0, 500.0), (720.0, 500.0), 3.0, role=Role.DIMENSION),
        *(Line((x, 400.0), (x, 520.0), 3.0, role=Role.EXTENSION) for x in stations),
    )
    heads = (
        Arrowhead((400.0, 500.0), 0.0, 30.0, line=0),
        Arrowhead((460.0, 500.0), 180.0, 30.0),
        Arrowhead((460.0, 500.0), 0.0, 30.0, line=0),
        Arrowhead((650.0, 500.0), 180.0, 30.0, line=1),
    )
    tails = {round(span.size): span.tails for span in find_spans(Strokes(lines, (), heads), MM_PER_PX)}
    assert tails[60][0] == (330.0, 500.0)
    assert tails[190] == ((400.0, 500.0), (720.0, 500.0))


def test_a_length_that_is_found_in_two_ways_may_have_another_ones_figure() -> None:
    """The left head of the next length points back at it; its own, tip to tip with that, was not seen."""
    shaft = Line((400.0, 500.0), (600.0, 500.0), 3.0, role=Role.DIMENSION)
    ends = [Line((x, 400.0), (x, 520.0), 3.0, role=Role.EXTENSION) for x in (500.0, 600.0)]
    outside = Arrowhead((500.0, 500.0), 0.0, 35.0, line=0), Arrowhead((600.0, 500.0), 180.0, 35.0)
    back = Arrowhead((500.0, 500.0), 180.0, 35.0, line=0)
    for heads, loose in ((outside, [False]), ((*outside, back), [True, True])):
        spans = find_spans(Strokes((shaft, *ends), (), heads), MM_PER_PX)
        assert [span.size for span in spans] == pytest.approx([100.0] * len(loose))
        assert [span.loose for span in spans] == loose


def test_of_two_heads_tip_to_tip_in_a_chain_one_may_be_missed() -> None:
    """The shaft runs through both lengths; the head that points on from the station they share was not seen."""
    lines = (
        Line((100.0, 500.0), (700.0, 500.0), 3.0, role=Role.DIMENSION),
        *(Line((x, 400.0), (x, 520.0), 3.0, role=Role.EXTENSION) for x in (100.0, 250.0, 700.0)),
    )
    heads = tuple(Arrowhead((x, 500.0), way, 30.0, line=0) for x, way in ((100.0, 180.0), (250.0, 180.0), (700.0, 0.0)))
    spans = {round(span.size): span for span in find_spans(Strokes(lines, (), heads), MM_PER_PX)}
    assert set(spans) == {150, 450}
    assert spans[150].loose
    assert not spans[150].outside
    assert not spans[450].loose
