"""Arcs cut by a crossing, strokes that run into each other at a slender angle, and the hand of a sheet."""

import numpy as np
import pytest

from digitize.strokes.fit import ARC, LINE
from digitize.strokes.meetings import END, START, meetings_of
from digitize.strokes.pieces import Piece, Track
from digitize.strokes.primitives import Arc, Dash, Line
from digitize.strokes.trace import as_true_as_its_lines, tolerance_of, trace_strokes
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
