"""Pieces joined, dashes gathered, ends set: small drawings traced to strokes."""

import math

import numpy as np
import pytest

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.centre_lines.refine import Trail
from digitize.strokes.joining.board import Bench
from digitize.strokes.joining.dash_patterns import pattern_of, split_sequence
from digitize.strokes.joining.join import along_a_thick_one
from digitize.strokes.pieces import piece_on
from digitize.strokes.primitives import Arc, Dash, Line
from digitize.strokes.trace import trace_strokes
from digitize.strokes.tracks import Track
from digitize.strokes.widths import Pens
from tests.digitize.strokes.drawn import MM_PER_PX, Picture


def traced(picture: Picture, noise: float = 4.0) -> tuple[tuple[Line, ...], tuple[Arc, ...]]:
    strokes = trace_strokes(picture.sheet(noise), picture.no_lettering())
    return strokes.lines, strokes.arcs


def test_a_crossing_leaves_two_lines() -> None:
    lines, arcs = traced(Picture(200, 160).line((10, 80.4), (190, 80.4)).line((60, 10), (140, 150)))
    assert len(lines) == 2
    assert arcs == ()
    level = min(lines, key=lambda line: abs(line.start[1] - line.end[1]))
    assert level.start == pytest.approx((10, 80.4), abs=0.3)
    assert level.end == pytest.approx((190, 80.4), abs=0.3)
    assert level.width_px == pytest.approx(3.0, abs=0.15)


def test_a_small_dropout_is_closed_and_a_wide_gap_is_not() -> None:
    near = Picture(400, 40).line((10, 20), (190, 20)).line((197, 20), (390, 20))
    far = Picture(400, 40).line((10, 20), (180, 20)).line((205, 20), (390, 20))
    assert len(traced(near)[0]) == 1
    assert len(traced(far)[0]) == 2


def test_pens_of_different_width_are_not_joined() -> None:
    lines, _ = traced(Picture(300, 40).line((10, 20), (150, 20), 7.0).line((155, 20), (290, 20), 3.0))
    assert sorted(round(line.width_px) for line in lines) == [3, 7]


def test_a_circle_crossed_by_centre_lines_is_one_circle() -> None:
    picture = Picture(240, 240).arc((120.3, 119.8), 80.0, width=5.0)
    lines, arcs = traced(picture.line((20, 119.8), (220, 119.8), 2.5).line((120.3, 20), (120.3, 220), 2.5))
    assert len(lines) == 2
    (circle,) = arcs
    assert circle.sweep_deg == 360.0
    assert circle.centre == pytest.approx((120.3, 119.8), abs=0.05)
    assert circle.radius_px == pytest.approx(80.0, abs=0.05)


def test_an_arc_begins_and_ends_where_it_was_drawn() -> None:
    _, arcs = traced(Picture(200, 200).arc((100, 100), 70.0, start=20.0, sweep=130.0, width=4.0))
    (arc,) = arcs
    assert arc.start_deg == pytest.approx(20.0, abs=0.4)
    assert arc.sweep_deg == pytest.approx(130.0, abs=0.8)


def test_corners_close() -> None:
    corners = [(30.0, 30.0), (170.0, 30.0), (170.0, 110.0), (30.0, 110.0)]
    picture = Picture(200, 140)
    for p, q in zip(corners, corners[1:] + corners[:1], strict=True):
        picture.line(p, q, 5.0)
    lines, _ = traced(picture)
    assert len(lines) == 4
    for corner in corners:
        met = [end for line in lines for end in (line.start, line.end) if np.hypot(*np.subtract(end, corner)) < 0.3]
        assert len(met) == 2


@pytest.mark.parametrize("angle", [0.0, 33.0])
@pytest.mark.parametrize(
    ("width_mm", "apart_mm", "error_px"), [(0.25, 0.35, 0.8), (0.25, 0.45, 0.1), (0.35, 0.55, 0.1), (0.6, 0.75, 0.25)]
)
def test_lines_less_than_three_quarters_of_a_millimetre_apart_stay_two(
    width_mm: float, apart_mm: float, error_px: float, angle: float
) -> None:
    along = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
    across, middle, width = np.array([-along[1], along[0]]), np.array([210.3, 150.2]), width_mm / MM_PER_PX
    picture = Picture(420, 300).line(tuple(middle - 100 * across), tuple(middle + 100 * across), width)
    for side in (-0.5, 0.5):
        at = middle + side * apart_mm / MM_PER_PX * across
        picture.line(tuple(at - 140 * along), tuple(at + 140 * along), width)
    lines, arcs = traced(picture)
    assert not arcs
    assert len(lines) == 3
    place = sorted(float((np.add(line.start, line.end) / 2 - middle) @ across) for line in lines)
    assert place[2] - place[0] == pytest.approx(apart_mm / MM_PER_PX, abs=error_px)


@pytest.mark.parametrize("past", [-2.0, 1.0, 3.0])
def test_edges_meet_in_their_corner_where_a_section_line_runs_through_it(past: float) -> None:
    picture = Picture(300, 300).line((100, 120), (280, 120), 6.0).line((100, 120), (100, 280), 6.0)
    lines, _ = traced(picture.line((20 - past, 200), (180 - past, 40), 2.5))
    corner = [min((line.start, line.end), key=lambda end: math.dist(end, (100, 120))) for line in lines]
    edges = [end for line, end in zip(lines, corner, strict=True) if line.width_px > 4.0]
    assert len(edges) == 2
    assert all(end == pytest.approx((100, 120), abs=0.5) for end in edges)


def test_a_line_ends_on_the_line_it_runs_into() -> None:
    lines, _ = traced(Picture(200, 160).line((100.2, 10), (100.2, 150), 7.0).line((10, 80), (100.2, 80), 3.0))
    stem = min(lines, key=lambda line: line.width_px)
    assert stem.end == pytest.approx((100.2, 80.0), abs=0.2)


def test_a_fillet_between_two_lines_is_an_arc_that_touches_both() -> None:
    picture = Picture(200, 200).line((20, 150), (110, 150), 4.0).line((150, 110), (150, 20), 4.0)
    lines, arcs = traced(picture.arc((110, 110), 40.0, start=270.0, sweep=90.0, width=4.0))
    assert len(lines) == 2
    (arc,) = arcs
    assert arc.radius_px == pytest.approx(40.0, abs=0.5)
    assert arc.sweep_deg == pytest.approx(90.0, abs=4.0)


def test_a_dashed_line_is_one_stroke() -> None:
    lines, _ = traced(Picture(460, 60).broken((20, 30), (431.8, 41.8), [36, 11]))
    (line,) = lines
    assert line.dash == Dash.DASHED
    assert np.hypot(*np.subtract(line.end, line.start)) == pytest.approx(412, abs=2)


def test_section_lines_on_both_sides_of_walls_are_no_dashed_line() -> None:
    picture = Picture(460, 260)
    for x in (60.0, 130.0, 150.0, 220.0, 240.0, 310.0, 330.0, 400.0):
        picture.line((x, 20), (x, 240), 5.0)
    for y in (80.0, 110.0, 140.0):
        for x in (60.0, 150.0, 240.0, 330.0):
            picture.line((x, y - 0.2 * (x - 60.0)), (x + 70.0, y - 0.2 * (x + 10.0)), 2.4)
    lines, _ = traced(picture)
    assert {line.dash for line in lines} == {Dash.SOLID}


def test_a_chain_line_is_one_stroke() -> None:
    lines, _ = traced(Picture(760, 60).broken((20, 30), (740, 30), [140, 18, 30, 18], 2.5))
    (line,) = lines
    assert line.dash == Dash.CHAIN


def test_a_double_chain_line_is_one_stroke() -> None:
    lines, _ = traced(Picture(1060, 60).broken((20, 30), (1040, 30), [140, 18, 30, 18, 30, 18], 2.5))
    (line,) = lines
    assert line.dash == Dash.DOUBLE_CHAIN


@pytest.mark.parametrize(("pattern_deg", "dash"), [([10.0, 4.0], Dash.DASHED), ([26.0, 4.0, 6.0, 4.0], Dash.CHAIN)])
def test_a_broken_circle_is_one_circle(pattern_deg: list[float], dash: Dash) -> None:
    picture = Picture(420, 420)
    at, n = 0.0, 0
    repeats = round(360 / sum(pattern_deg))
    scale = 360 / (repeats * sum(pattern_deg))
    while n < repeats * len(pattern_deg):
        step = pattern_deg[n % len(pattern_deg)] * scale
        if n % 2 == 0:
            picture.arc((210, 210), 160.0, start=at, sweep=step, width=2.6)
        at, n = at + step, n + 1
    lines, arcs = traced(picture)
    assert lines == ()
    (circle,) = arcs
    assert circle.dash == dash
    assert circle.sweep_deg == 360.0
    assert circle.radius_px == pytest.approx(160.0, abs=0.1)


@pytest.mark.parametrize("apart", [8.0, 9.0])
def test_a_broken_line_or_circle_close_beside_a_solid_one_is_one_stroke(apart: float) -> None:
    """Hidden edges of small parts: 4 px wide, their middles 8 or 9 px from that of an edge as wide."""
    picture = (
        Picture(420, 480).line((20, 30), (400, 30), 4.0).broken((20, 30 + apart), (400, 30 + apart), [30, 10], 4.0)
    )
    picture.arc((210, 270), 160.0, width=4.0)
    for k in range(30):
        picture.arc((210, 270), 160.0 - apart, start=12.0 * k, sweep=8.5, width=4.0)
    lines, arcs = traced(picture)
    assert sorted(line.dash for line in lines) == [Dash.DASHED, Dash.SOLID]
    assert sorted((arc.dash, round(arc.radius_px), round(arc.sweep_deg)) for arc in arcs) == [
        (Dash.DASHED, round(160.0 - apart), 360),
        (Dash.SOLID, 160, 360),
    ]


def test_a_chain_line_stays_one_where_damage_puts_it_out_of_turn() -> None:
    """A dash in 20 mm is cut in two, as by a dropout."""
    picture = Picture(1500, 60).broken((20, 30), (1480, 30), [120, 16, 26, 16], 2.6)
    picture.cover[:, 590:596] = 0.0
    lines, _ = traced(picture)
    assert [line.dash for line in lines] == [Dash.CHAIN]


def test_three_odd_lines_in_a_row_stay_apart() -> None:
    picture = Picture(700, 40).line((10, 20), (70, 20)).line((95, 20), (400, 20)).line((455, 20), (690, 20))
    lines, _ = traced(picture)
    assert len(lines) == 3
    assert {line.dash for line in lines} == {Dash.SOLID}


@pytest.mark.parametrize(
    ("lengths", "gaps", "pattern"),
    [
        ([30.0, 30.0], [9.0], "dashed"),
        ([30.0, 90.0], [9.0], None),
        ([30.0, 30.0, 30.0], [9.0, 9.0], "dashed"),
        ([30.0, 30.0, 30.0], [9.0, 40.0], None),
        ([30.0, 69.0, 30.0, 30.0], [9.0, 9.0, 9.0], "dashed"),
        ([120.0, 25.0, 118.0], [15.0, 15.0], "chain"),
        ([120.0, 25.0, 24.0, 118.0, 25.0, 25.0, 120.0], [15.0] * 6, "double_chain"),
        ([118.0, 25.0, 115.0, 24.0, 110.0, 24.0, 117.0, 23.0, 99.0, 15.0, 26.0, 110.0, 23.0], [15.0] * 12, None),
    ],
)
def test_patterns(lengths: list[float], gaps: list[float], pattern: str | None) -> None:
    assert pattern_of(lengths, gaps, 11.8) == pattern


def test_a_solid_line_before_a_dashed_one_is_split_off() -> None:
    parts = split_sequence([400.0, 30.0, 30.0, 30.0, 29.0], [9.0, 9.0, 9.0, 9.0], 11.8)
    assert parts == [(1, 5, "dashed")]


def test_the_tips_of_teeth_are_no_broken_circle() -> None:
    picture, teeth = Picture(440, 440), 24
    for tooth in range(teeth):
        a, b = (tooth + 0.1) * 360 / teeth, (tooth + 0.5) * 360 / teeth
        picture.arc((220, 220), 190.0, a, b - a, 4.0).arc((220, 220), 160.0, b, 360 / teeth - (b - a), 4.0)
        for angle in np.radians([a, b]):
            ray = np.array([np.cos(angle), -np.sin(angle)])
            picture.line(tuple(220 + 160.0 * ray), tuple(220 + 190.0 * ray), 4.0)
    lines, arcs = traced(picture)
    assert len(lines) + len(arcs) == 4 * teeth
    assert all(stroke.dash == Dash.SOLID for stroke in (*lines, *arcs))


def test_a_scrap_does_not_send_an_arc_round_its_whole_circle() -> None:
    x = 100.0 + 80.0 * np.cos(np.radians([10.0, 10.8, 10.4]))
    y = 100.0 + 80.0 * np.sin(np.radians([10.0, 10.8, 10.4]))
    trail = Trail(x, y, np.full(3, 3.0), np.ones(3), np.array([0, 3], np.int32), np.zeros((1, 2), np.int32))
    run = tuple(zip(x.tolist(), y.tolist(), strict=True))
    scrap = piece_on(trail, Track(ARC, 100.0, 100.0, radius=80.0), 0.1, ((0, 3),), (run,))  # type: ignore[arg-type]
    assert scrap.length == pytest.approx(80.0 * np.radians(0.4), abs=0.01)


@pytest.mark.parametrize("reach", [4.5, 5.0, 9.0])
@pytest.mark.parametrize(("along", "met"), [((60.0, 20.0), True), ((60.0, 80.0), False)])
def test_even_a_short_way_into_a_thick_line_is_told(reach: float, along: tuple[float, float], met: bool) -> None:
    ground = Picture(140, 100).line((10, 20), (50, 20), 1.5).line((50, 20), along, 3.0).ground()
    trail = Trail(
        np.array([10.0, 30.0, 50.0]),
        np.full(3, 20.0),
        np.full(3, 1.5),
        np.ones(3),
        np.array([0, 3]),
        np.zeros((1, 2), int),
    )
    run = ((10.0, 20.0), (30.0, 20.0), (50.0, 20.0))
    thin = piece_on(trail, Track(LINE, 0.0, 20.0), 0.1, ((0, 3),), (run,))
    bench = Bench(ground, trail, 0.3, 0.6, 0.3)
    assert along_a_thick_one(bench, Pens(1.5, 3.0, 2.2), thin, reach, True) is met


def test_an_edge_does_not_reach_past_the_extension_line_behind_its_corner() -> None:
    picture = Picture(1100, 300).line((20.0, 150.0), (900.0, 150.0), 2.0).line((900.0, 150.0), (900.0, 50.0), 2.0)
    picture.line((912.0, 150.2), (1023.0, 150.2), 2.0).line((1008.0, 250.0), (1008.0, 50.0), 2.0)
    level = sorted((line.start[0], line.end[0]) for line in traced(picture)[0] if abs(line.start[1] - line.end[1]) < 1)
    assert level == [pytest.approx((20.0, 900.0), abs=1.5), pytest.approx((912.0, 1023.0), abs=1.5)]
