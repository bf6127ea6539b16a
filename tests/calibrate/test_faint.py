"""Worn places of thin lines are ink again; what is no line stays paper."""

from unittest import mock

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.restoring import faint
from calibrate.restoring.faint import add_fine_lines
from calibrate.restoring.moving import ink_of
from calibrate.straightening.perspective import _warped

FAINT, DARK, PAPER = 145, 40, 250


def line(gap, level, *, upright=False):
    """A line two pixels broad with a gap of the given length and level."""
    picture = np.full((30, 40), PAPER, np.uint8)
    picture[14:16, 5:35] = DARK
    picture[14:16, 18 : 18 + gap] = level
    return np.ascontiguousarray(picture.T) if upright else picture


def test_a_faint_gap_is_filled_both_ways():
    for gap in (1, 2):
        for upright in (False, True):
            assert np.count_nonzero(ink_of(line(gap, FAINT, upright=upright))) == 60


def test_a_gap_as_light_as_paper_or_longer_stays_open():
    assert np.count_nonzero(ink_of(line(2, 200))) == 56
    assert np.count_nonzero(ink_of(line(6, FAINT))) == 48


def test_the_end_of_a_line_does_not_grow():
    picture = line(0, 0)
    picture[14:16, 35:38] = FAINT
    assert np.count_nonzero(ink_of(picture)) == 60


@settings(max_examples=30)
@given(st.integers(0, 2**32 - 1), st.integers(3, 60), st.integers(3, 12))
def test_bands_are_as_the_whole(seed, height, width):
    """Each worn pixel by the rule itself, one by one."""
    rng = np.random.default_rng(seed)
    grey = rng.integers(0, 256, (height, width)).astype(np.uint8)
    ink = grey < 128
    expected = ink.copy()
    for y in range(2, height - 2):
        for x in range(2, width - 2):
            for a, b, c, d in (ink[y, x - 2 : x + 3][[0, 1, 3, 4]], ink[y - 2 : y + 3, x][[0, 1, 3, 4]]):
                if grey[y, x] < 150 and ((b and c) or (b and d) or (a and c)):
                    expected[y, x] = True
    with mock.patch.object(faint, "BAND_PX", 16):
        assert np.array_equal(faint.fill_worn_places(grey, ink.copy()), expected)


def fine_line(slope=0.0, level=140, beside=200):
    """A line one pixel broad and nowhere half as dark as full ink, its sides fainter still."""
    picture = np.full((60, 60), PAPER, np.uint8)
    for x in range(6, 54):
        y = round(10 + slope * x)
        picture[y - 1 : y + 2, x] = np.minimum(picture[y - 1 : y + 2, x], beside)
        picture[y, x] = level
    return picture


def fine_pixels(picture, pen_px=1.3):
    return int(np.count_nonzero(add_fine_lines(picture, ink_of(picture), pen_px)))


def test_a_fine_line_is_found_at_any_slope():
    for slope in (0.0, 0.1, 0.5, 0.8):
        for picture in (fine_line(slope), np.ascontiguousarray(fine_line(slope).T)):
            assert np.count_nonzero(ink_of(picture)) == 0
            assert 48 <= fine_pixels(picture) <= 52


def test_a_fine_line_among_heavy_ones_is_looked_for_where_the_pen_is_fine():
    picture = fine_line()
    picture[14:50, 2:58] = DARK
    assert fine_pixels(picture, pen_px=2.0) == 36 * 56
    assert fine_pixels(picture, pen_px=1.3) >= 36 * 56 + 48


def test_fine_lines_that_make_up_much_of_a_drawing_are_looked_for_though_only_its_heavy_pen_was_seen():
    picture = fine_line()
    picture[16:20, 5:55] = DARK
    assert fine_pixels(picture, pen_px=4.0) >= 4 * 50 + 48


def test_what_shows_through_a_speck_and_an_edge_are_no_fine_lines():
    assert fine_pixels(fine_line(level=185)) == 0
    speck = np.full((60, 60), PAPER, np.uint8)
    speck[20:22, 20] = 150
    assert fine_pixels(speck) == 0
    edge = np.full((60, 60), PAPER, np.uint8)
    edge[20:40, 10:50] = DARK
    edge[19, 10:50] = edge[40, 10:50] = FAINT
    assert fine_pixels(edge) == 20 * 40


def test_fine_lines_stay_ink_where_a_perspective_is_taken_off() -> None:
    grey = np.full((60, 90), 255, np.uint8)
    grey[30, 10:80] = 150
    grey[3:27, 5:85] = 0
    ink = grey < 255
    leaning = np.array([[1.0, 0, 0], [0, 1, 0], [0, 1e-5, 1]])
    extent = np.array([[0.0, 0], [89, 0], [89, 59], [0, 59]])
    fine, broad = (_warped(grey, ink, leaning, extent, pen_px, roughly=False)[2] for pen_px in (1.3, 2.0))
    assert np.count_nonzero(fine[28:]) > 60
    assert not broad[28:].any()
