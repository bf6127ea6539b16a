"""Dark ragged margins: no ink there, and none lost elsewhere."""

import cv2
import numpy as np
import pytest

from calibrate.restoring.gutter import find_gutter
from calibrate.restoring.restore import restore
from tests.calibrate import drawn
from tests.calibrate.test_straighten import page_of

BAND_PX = 110


def with_gutter(sheet, quarters, seed=4):
    """The sheet with a speckled band beside its right side, before so many quarter turns."""
    rng = np.random.default_rng(seed)
    rows = len(sheet)
    depth = np.arange(BAND_PX) + cv2.resize(rng.normal(0, 8, (12, 1)), (1, rows), interpolation=cv2.INTER_CUBIC)
    core = np.clip(depth / 12, 0, 1) * np.clip(1.6 - depth / 70, 0.1, 1)
    band = np.where(rng.random((rows, BAND_PX)) < core, 12, 245).astype(np.uint8)
    return np.ascontiguousarray(np.rot90(np.hstack([sheet, band]), quarters))


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
@pytest.mark.parametrize("skew_deg", [0.0, 2.5])
def test_a_gutter_leaves_no_ink_and_takes_none(quarters, skew_deg):
    sheet = drawn.sheet(skew_deg)
    ink = np.rot90(restore(page_of(with_gutter(sheet, quarters))).ink, -quarters)
    beyond = ink[:, drawn.WIDTH - 10 :]
    assert beyond.mean() < 1e-4
    sound = restore(page_of(sheet)).ink
    assert np.count_nonzero(ink[:, : drawn.WIDTH - 30] != sound[:, : drawn.WIDTH - 30]) < 0.01 * sound.sum()


def test_sheets_have_no_gutter():
    assert find_gutter(drawn.sheet()) is None
    assert find_gutter(drawn.noisy(drawn.sheet(3.0), 1, 12.0)) is None


def test_solid_ink_in_the_drawing_is_no_gutter():
    picture = drawn.sheet()
    picture[100:900, 600:700] = 30
    assert find_gutter(picture) is None
    shadow = np.full((600, 800), 240.0)
    shadow *= 1 - 0.45 * np.clip((np.arange(800) - 500) / 300, 0, 1)  # a page that bends into soft shade
    assert find_gutter(shadow.astype(np.uint8)) is None
