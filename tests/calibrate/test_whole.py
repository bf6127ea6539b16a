"""One whole sheet in the picture, or not: each doubt said."""

import cv2
import numpy as np
import pytest

from calibrate.errors import InputError
from calibrate.restore import restore
from calibrate.straighten import straighten
from tests.calibrate import drawn
from tests.calibrate.test_straighten import page_of

BED = 30


def warnings_of(picture):
    page = page_of(picture)
    return straighten(page, restore(page)).warnings


def on_bed(sheet, margin=60):
    return np.pad(sheet, margin, constant_values=BED)


@pytest.mark.parametrize("skew_deg", [-3.0, 0.0, 1.2])
def test_a_whole_sheet_raises_no_doubt(skew_deg):
    assert warnings_of(drawn.sheet(skew_deg)) == ()


def test_a_sheet_cut_at_its_border_raises_no_doubt():
    (left, top), _, (right, bottom), _ = drawn.BORDER
    assert not any("run off" in w for w in warnings_of(drawn.sheet()[top - 6 : bottom + 6, left - 6 : right + 6]))


@pytest.mark.parametrize(
    ("part", "side"),
    [(np.s_[:, :700], "right"), (np.s_[:, 600:], "left"), (np.s_[:640], "bottom"), (np.s_[300:], "top")],
)
def test_a_sheet_that_lies_half_outside_is_told(part, side):
    picture = np.ascontiguousarray(drawn.sheet(0.4)[part])
    assert any(f"run off the {side} edge" in warning for warning in warnings_of(picture))


def test_two_sheets_side_by_side_are_told():
    both = np.hstack([drawn.sheet(0.3), drawn.sheet(-0.6)])
    assert any("2 frames" in warning for warning in warnings_of(both))


@pytest.mark.parametrize("axis", [0, 1])
def test_two_sheets_on_a_dark_bed_are_refused(axis):
    both = np.concatenate([on_bed(drawn.sheet(0.3)), on_bed(drawn.sheet(-0.6))], axis=axis)
    with pytest.raises(InputError, match="two sheets"):
        warnings_of(both)


def test_one_sheet_on_a_dark_bed_is_taken():
    assert not any("sheets" in warning for warning in warnings_of(on_bed(drawn.sheet(0.3))))


def test_no_straight_line_is_told():
    picture = np.full((900, 1200), 245, np.uint8)
    for k in range(6):
        cv2.circle(picture, (250 + 130 * k, 300 + 60 * k), 60 + 30 * k, 30, 3, cv2.LINE_AA)
    page = page_of(picture)
    sheet = straighten(page, restore(page))
    assert any("No long straight lines" in warning for warning in sheet.warnings)
    assert sheet.skew_std_deg >= 0.1
