"""Worn places of thin lines are ink again; what is no line stays paper."""

from unittest import mock

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate import worn
from calibrate.moving import ink_of

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


@settings(deadline=None, max_examples=30)
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
    with mock.patch.object(worn, "BAND_PX", 16):
        assert np.array_equal(worn.fill_worn_places(grey, ink.copy()), expected)
