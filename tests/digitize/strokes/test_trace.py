"""The whole road on small sheets: bad input, flips and turns, the level frame, coarse scans."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from digitize.strokes.primitives import Strokes
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture, sheet_of

COARSE_MM_PER_PX = 25.4 / 175


def traced(grey: np.ndarray) -> Strokes:
    return trace_strokes(sheet_of(grey), np.zeros(grey.shape, bool))


def test_a_blank_sheet_has_no_strokes() -> None:
    strokes = traced(np.full((80, 120), 250, np.uint8))
    assert strokes.lines == ()
    assert strokes.arcs == ()
    assert strokes.views == ()


def test_a_mask_of_another_size_is_refused() -> None:
    with pytest.raises(ValueError, match="as large as the level sheet"):
        trace_strokes(sheet_of(np.full((80, 120), 250, np.uint8)), np.zeros((80, 100), bool))


def test_a_sheet_full_of_ink_and_one_full_of_specks_end_quietly() -> None:
    assert len(traced(np.zeros((60, 60), np.uint8)).arcs) == 0
    specks = np.where(np.random.default_rng(2).random((200, 200)) < 0.03, 20, 250).astype(np.uint8)
    assert isinstance(traced(specks), Strokes)


def scene(x: float, y: float, angle: float) -> Picture:
    """An outline, a circle, a dashed line and an arrow, none of them like its own mirror image."""
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    picture = Picture(320, 260).line((40, 40), (280, 52), 5.0).line((280, 52), (250, 210), 5.0)
    picture.arc((110 + x, 140 + y), 52.0, width=5.0).broken((240, 80), (240, 236), [30, 10], 3.0)
    tip = (110 + x + 52 * c, 140 + y + 52 * s)
    return picture.line(tip, (tip[0] + 60 * c, tip[1] + 60 * s), 2.6).head(tip, 180.0 - angle)


def summary(strokes: Strokes, move: object = None) -> np.ndarray:
    """Middles and lengths of lines, centres and radii of circles, tips, as sorted rows."""
    to = move if callable(move) else (lambda p: p)
    rows = []
    for line in strokes.lines:
        a, b = np.array(to(line.start)), np.array(to(line.end))
        rows.append([0.0, *((a + b) / 2), np.hypot(*(b - a)), line.width_px])
    for arc in strokes.arcs:
        rows.append([1.0, *to(arc.centre), arc.radius_px, arc.sweep_deg])
    for head in strokes.arrowheads:
        rows.append([2.0, *to(head.tip), 0.0, 0.0])
    return np.array(sorted(rows, key=lambda row: [round(v / 3) for v in row]))


@settings(max_examples=6)
@given(x=st.floats(-1, 1), y=st.floats(-1, 1), angle=st.floats(-20, 20))
def test_a_turned_or_flipped_sheet_gives_the_turned_or_flipped_strokes(x: float, y: float, angle: float) -> None:
    grey = scene(x, y, angle).grey()
    columns = grey.shape[1]
    upright = summary(traced(grey))
    assert {row[0] for row in upright} == {0.0, 1.0, 2.0}
    flipped = summary(traced(grey[:, ::-1].copy()), lambda p: (columns - 1 - p[0], p[1]))
    turned = summary(traced(np.rot90(grey).copy()), lambda p: (columns - 1 - p[1], p[0]))
    assert flipped == pytest.approx(upright, abs=0.5)
    assert turned == pytest.approx(upright, abs=0.5)


def test_strokes_are_given_in_the_level_frame() -> None:
    sheet = scene(0, 0, 10).sheet()
    turn = np.radians(2.0)
    matrix = np.array([[np.cos(turn), np.sin(turn), 12.0], [-np.sin(turn), np.cos(turn), 7.0], [0.0, 0.0, 1.0]])
    level = replace(sheet, level_from_working=matrix)
    mask = np.zeros(sheet.grey.shape, bool)
    plain, moved = trace_strokes(sheet, mask), trace_strokes(level, mask)
    centre = matrix @ [*plain.arcs[0].centre, 1.0]
    assert moved.arcs[0].centre == pytest.approx(tuple(centre[:2]), abs=1e-6)
    assert moved.arcs[0].radius_px == pytest.approx(plain.arcs[0].radius_px, abs=1e-6)
    turned_by = (moved.arrowheads[0].direction_deg - plain.arrowheads[0].direction_deg) % 360.0
    assert turned_by == pytest.approx(2.0, abs=0.05)


def test_the_same_sheet_gives_the_same_strokes() -> None:
    grey = scene(0.3, 0.1, 5.0).grey(noise=5.0)
    assert traced(grey) == traced(grey)


def test_lettering_is_not_traced_and_not_bridged() -> None:
    picture = Picture(300, 80).line((20, 40), (120, 40)).line((170, 40), (280, 40))
    picture.line((135, 30), (135, 50)).line((150, 30), (158, 50))
    mask = picture.no_lettering()
    mask[26:55, 128:164] = True
    strokes = trace_strokes(picture.sheet(), mask & (picture.grey() < 130))
    assert len(strokes.lines) == 2
    assert all(abs(line.start[1] - line.end[1]) < 1.0 for line in strokes.lines)


def test_a_rim_that_section_lines_end_on_is_no_row_of_bows() -> None:
    """On a coarse scan little of the rim between two section lines is clear of both, and lies on many a circle."""
    picture = Picture(240, 120).line((20, 90), (220, 91.5), 2.4)
    for x in range(30, 210, 8):
        picture.line((x + 3.5, 90), (x + 53.5, 40), 2.0)
    sheet = sheet_of(picture.grey(6.0), COARSE_MM_PER_PX)
    strokes = trace_strokes(sheet, picture.no_lettering())
    assert not strokes.arcs
    assert max(math.dist(line.start, line.end) for line in strokes.lines) > 150
