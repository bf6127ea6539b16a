"""Arcs cut by a crossing, strokes that run into each other at a slender angle, and the hand of a sheet."""

import numpy as np
import pytest

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.centre_lines.refine import Trail
from digitize.strokes.joining.board import Bench
from digitize.strokes.joining.bows import join_bows
from digitize.strokes.joining.meetings import END, START, meetings_of
from digitize.strokes.pieces import Piece, pieces_of
from digitize.strokes.primitives import Arc, Dash, Line
from digitize.strokes.trace import as_true_as_its_lines, tolerance_of, trace_strokes
from digitize.strokes.tracks import Track
from tests.digitize.strokes.drawn import Picture


def traced(picture: Picture, noise: float = 4.0) -> tuple[tuple[Line, ...], tuple[Arc, ...]]:
    strokes = trace_strokes(picture.sheet(noise), picture.no_lettering())
    return strokes.lines, strokes.arcs


def piece(track: Track, s0: float, s1: float, rms: float = 0.05) -> Piece:
    run = track.point(s0), track.point(0.5 * (s0 + s1)), track.point(s1)
    return Piece(track, s0, s1, 3.0, rms, ((0, 2),), (run,))


@pytest.mark.parametrize("sweep", [24.0, 40.0])
def test_a_flank_that_the_pitch_circle_crosses_is_one_arc(sweep: float) -> None:
    picture = Picture(260, 260).arc((40.3, 130.0), 130.0, -sweep / 2, sweep, 8.0)
    lines, arcs = traced(picture.line((100, 128.7), (250, 131.2), 3.0))
    assert len(lines) == 1
    (flank,) = arcs
    assert flank.radius_px == pytest.approx(130.0, rel=0.04)
    assert flank.sweep_deg == pytest.approx(sweep, abs=1.5)


@pytest.mark.parametrize("start", [158.0, 200.0])
def test_a_flank_with_a_short_straight_foot_is_an_arc_and_a_line(start: float) -> None:
    picture, radius = Picture(520, 420), 170.0
    for n in range(6):  # lines that show how truly the sheet is drawn
        picture.line((20, 330 + 14 * n), (500, 333 + 14 * n), 3.0)
    centre = np.array([320.3, 190.7]) if start < 180.0 else np.array([320.3, 100.7])
    angle = np.radians(start + np.array([0.0, 12.0, 24.0]))
    tip, pitch, tangent = centre + radius * np.column_stack([np.cos(angle), -np.sin(angle)])
    heading = angle[2] + np.radians(8.0)  # a radial foot turns a little from the flank
    foot = tangent + 12.0 * np.array([-np.sin(heading), -np.cos(heading)])
    out = (pitch - centre) / radius
    picture.arc(tuple(centre), radius, start, 24.0, 8.0).line(tuple(tangent), tuple(foot), 8.0)
    picture.line(tuple(foot), tuple(foot + 70.0 * out), 8.0).line(tuple(tip), tuple(tip - 60.0 * out), 8.0)
    lines, arcs = traced(picture.line(tuple(pitch - 60.0 * out), tuple(pitch + 60.0 * out), 3.0), noise=2.0)
    (flank,) = arcs
    assert flank.radius_px == pytest.approx(radius, rel=0.04)
    assert flank.sweep_deg == pytest.approx(24.0, abs=1.5)
    lengths = [float(np.hypot(*np.subtract(line.end, line.start))) for line in lines]
    assert min(lengths) == pytest.approx(12.0, abs=3.0)
    assert len(lines) == 10


def test_a_part_that_holds_the_start_of_the_next_stroke_gives_it_up() -> None:
    radius, angle = 170.0, np.radians(np.arange(150.0, 174.0, 0.34))
    flank = np.array([300.0, 150.0]) + radius * np.column_stack([np.cos(angle), -np.sin(angle)])
    heading = angle[-1] + np.radians(8.0)
    foot = flank[-1] + np.arange(1, 13)[:, None] * np.array([-np.sin(heading), -np.cos(heading)])
    points, half = np.vstack([flank, foot]), len(flank) // 2
    ones = np.ones(len(points))
    trail = Trail(points[:, 0], points[:, 1], 8.0 * ones, ones, np.array([0, half, len(points)]), np.zeros((2, 2), int))
    ground = Picture(320, 320).arc((300.0, 150.0), radius, 150.0, 24.0, 8.0).ground()
    tolerance = tolerance_of(ground).times(0.25)
    bench = Bench(ground, trail, tolerance.rms_px, tolerance.sagitta_px, tolerance.rms_px)
    parts = pieces_of(trail, np.array([[0, half, ARC], [half, len(points), ARC]]))
    bow, rest = join_bows(bench, tolerance, parts)
    assert bow.track.radius == pytest.approx(radius, abs=0.5)
    assert rest.length == pytest.approx(11.0, abs=2.0)


def test_the_rounded_ink_of_a_corner_bends_no_short_arc() -> None:
    off = []
    for shift in (0.0, 0.3, 0.6):
        centre, sweep = (100.2 + shift, 100.4), 70.0
        picture = Picture(200, 200).arc(centre, 60.0, 20.0, sweep, 8.0)
        angles = np.radians([20.0, 20.0 + sweep])
        lower, upper = ((centre[0] + 60.0 * np.cos(a), centre[1] - 60.0 * np.sin(a)) for a in angles)
        _, arcs = traced(picture.line(lower, (190, 100), 8.0).line(upper, (100, 10), 8.0), noise=2.0)
        off += [arc.radius_px - 60.0 for arc in arcs]
    assert len(off) == 3
    assert abs(np.mean(off)) < 0.1


def test_two_lines_that_meet_on_a_third_stay_two() -> None:
    picture = Picture(260, 260).line((60, 40), (110, 130), 6.0).line((110, 130), (190, 215), 6.0)
    lines, arcs = traced(picture.line((20, 132), (240, 128), 3.0))
    assert len(lines) == 3
    assert arcs == ()


def test_a_line_that_touches_a_wide_arc_leaves_both_whole() -> None:
    picture = Picture(960, 480).arc((480.2, 450.4), 400.0, 0.0, 180.0, width=7.0).line((20, 50.4), (470, 50.4), 3.0)
    lines, arcs = traced(picture)
    (arc,) = arcs
    assert arc.sweep_deg == pytest.approx(180.0, abs=0.5)
    assert arc.radius_px == pytest.approx(400.0, abs=0.2)
    (line,) = lines
    assert line.width_px == pytest.approx(3.0, abs=0.3)
    assert line.start[0] == pytest.approx(20.0, abs=1.0)
    assert 440.0 < line.end[0] < 490.0


def test_an_edge_and_the_extension_line_that_carries_it_on_stay_two() -> None:
    picture = Picture(500, 200).line((20, 150), (480, 150), 5.0).line((20, 180), (480, 180), 3.0)
    lines, _ = traced(picture.line((20, 60), (250, 60), 5.0).line((258, 60), (480, 60), 3.0))
    assert sorted(round(line.width_px) for line in lines) == [3, 3, 5, 5]


def test_a_hidden_circle_with_narrow_gaps_is_dashed() -> None:
    picture, dashes = Picture(480, 480), 28
    for n in range(dashes):
        picture.arc((240, 240), 200.0, n * 360 / dashes, 0.77 * 360 / dashes, 6.0)
    lines, arcs = traced(picture)
    assert lines == ()
    (circle,) = arcs
    assert circle.dash == Dash.DASHED
    assert circle.sweep_deg == 360.0


def test_a_truly_drawn_sheet_is_held_to_its_own_lines() -> None:
    ground = Picture(60, 60).ground()
    allowed = tolerance_of(ground)
    true, wild = (
        [piece(Track(LINE, 0.0, 20.0 * n), 0.0, 200.0, rms) for n in range(8)] for rms in (0.03, 2.0 * allowed.rms_px)
    )
    narrowed = as_true_as_its_lines(ground, true, allowed)
    assert narrowed.rms_px < 0.5 * allowed.rms_px
    assert narrowed.rms_px * narrowed.doubtful == pytest.approx(allowed.rms_px)
    assert as_true_as_its_lines(ground, wild, allowed) == allowed
    assert as_true_as_its_lines(ground, true[:3], allowed) == allowed


def test_ends_that_point_into_each_other_meet() -> None:
    level = piece(Track(LINE, 0.0, 0.0), 0.0, 100.0)
    bow = piece(Track(ARC, 102.0, 50.0, radius=50.0), 50.0 * -np.pi / 2, 50.0 * -np.pi / 4)
    upright = piece(Track(LINE, 100.0, 2.0, 0.0, 1.0), 0.0, 80.0)
    (met,) = meetings_of([level, bow, upright], 4.0, 30.0)
    assert (met.first, met.first_end, met.second, met.second_end) == (0, END, 1, START)
    assert met.cosine == pytest.approx(1.0, abs=1e-6)
    assert meetings_of([], 4.0, 30.0) == []
