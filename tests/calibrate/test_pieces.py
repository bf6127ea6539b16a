"""Ruled lines that a crease parted speak of the crease together."""

import json
from dataclasses import replace

import numpy as np
import pytest

from calibrate.level import calibrate_sheet
from calibrate.straightening.bars import TRACK_POINTS
from calibrate.straightening.pieces import as_one, in_one_line
from samples.__main__ import make_sheet
from samples.bends import FOLD
from tests.bench.photo import shape_of
from tests.calibrate.test_bend import PEN_PX, SHAPE, found_from, ruled

LONGER_PX = float(max(SHAPE))


def track(first, last, across, axis=0, rise_px=0.0):
    along = np.linspace(first, last, TRACK_POINTS)
    points = np.column_stack([along, across + np.linspace(0.0, rise_px, TRACK_POINTS)])
    return points[:, ::-1] if axis else points


@pytest.mark.parametrize(("gap_px", "off_px", "rise_px", "joined"), [
    (100.0, 0.0, 0.0, True),
    (100.0, 4.0, 60.0, True),  # a crease shows a line kinked
    (100.0, 4.0, 0.0, False),  # a kink leads to what it kinks: two extension lines that end near each other
    (100.0, 9.0, 0.0, False),  # another line
    (0.2 * LONGER_PX, 0.0, 0.0, False),  # what lies so far off may be another line's
])  # fmt: skip
@pytest.mark.parametrize("axis", [0, 1])
def test_pieces_that_go_on_behind_each_other_are_one_line(axis, gap_px, off_px, rise_px, joined):
    tracks = np.array([track(900 + gap_px, 1800, 500 + off_px, axis, rise_px), track(100, 900, 500, axis)[::-1]])
    lines = in_one_line(tracks, np.array([axis, axis]), LONGER_PX, PEN_PX)
    assert sorted(len(line) for line in lines) == ([2] if joined else [1, 1])
    if joined:
        points = as_one(tracks[lines[0]], axis)
        assert points.shape == (TRACK_POINTS, 2)
        assert points[[0, -1], axis] == pytest.approx([100, 1800])
        assert np.all(np.diff(points[:, axis]) > 0)


def test_each_piece_goes_on_in_one_other_only():
    tracks = np.array([track(0, 400, 500), track(450, 800, 500), track(480, 900, 501), track(850, 1300, 500)])
    lines = in_one_line(tracks, np.zeros(4, int), LONGER_PX, PEN_PX)
    assert sorted(line.tolist() for line in lines) == [[0, 1, 3], [2]]


def test_a_correction_does_not_kink_borders_that_the_crease_parted(tmp_path):
    """Of this photograph each piece lay straight, as any turn of it would have it: the borders came out 39 px off."""
    picture = make_sheet("harsh", 101004, tmp_path, bend=FOLD)
    truth = json.loads(picture.with_name(f"{picture.stem}.truth.json").read_text(encoding="utf-8"))
    sheet = calibrate_sheet(picture)
    assert sheet.bend is not None
    assert shape_of(sheet, truth).straight_px <= shape_of(sheet, truth, as_seen=True).straight_px


def test_a_border_that_bows_beside_a_short_line_that_does_is_told_and_nothing_is_moved():
    level, upright = ruled(None)
    bow_px = 3 * PEN_PX * np.cos(np.linspace(-np.pi / 2, np.pi / 2, TRACK_POINTS))
    short = track(1000, 1000 + 0.1 * LONGER_PX, 700)
    lines = np.concatenate([level.tracks, short[None]])
    lines[0, :, 1] += bow_px
    alone = replace(level, tracks=lines, track_std_px=np.append(level.track_std_px, 0.03))
    assert found_from([alone, upright]) is None
    lines[-1, :, 1] += bow_px
    found = found_from([alone, upright])
    assert found is not None
    assert not found.corrected
