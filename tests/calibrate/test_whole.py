"""One whole sheet in the picture, or not: each doubt said."""

import re

import cv2
import numpy as np
import pytest

from calibrate.errors import InputError
from calibrate.restoring.restore import restore
from calibrate.straightening.straighten import straighten
from tests.calibrate import drawn
from tests.calibrate.test_straighten import page_of

BED = 30
TWO_PLACES = "; ".join([r"x (\d+) to (\d+), y (\d+) to (\d+)"] * 2)


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
    told = [warning for warning in warnings_of(picture) if "run off" in warning]
    assert len(told) == 1
    assert re.fullmatch(
        rf"\d+ lines run off the {side} edge of the picture as scanned: part of the sheet may lie outside it; check\.",
        told[0],
    )


def test_two_framed_sheets_side_by_side_are_told():
    both = np.hstack([drawn.sheet(0.3), drawn.sheet(-0.6)])
    (told,) = (warning for warning in warnings_of(both) if "frames" in warning)
    found = re.fullmatch(
        rf"The picture holds 2 frames side by side, at {TWO_PLACES} in pixels, perhaps 2 sheets in one scan; the skew"
        r" may be that of one of them alone, and one scale is given for all: cut it into one picture a sheet\.",
        told,
    )
    (left, top), _, (right, bottom), _ = drawn.BORDER
    width = drawn.sheet().shape[1]
    expected = (left, right, top, bottom, left + width, right + width, top, bottom)
    assert [int(each) for each in found.groups()] == pytest.approx(expected, abs=12)  # the frames are a little askew


@pytest.mark.parametrize(("axis", "sides"), [(0, "above and below"), (1, "left and right")])
@pytest.mark.parametrize("turns_deg", [(0.3, -0.2), (0.4, -0.9), (1.6, -2.1)])
def test_two_borderless_sheets_are_told_by_their_turns(axis, sides, turns_deg):
    both = np.concatenate([drawn.sheet(turn, border=False) for turn in turns_deg], axis=axis)
    told = [warning for warning in warnings_of(both) if "sheets in one scan" in warning]
    assert len(told) == 1
    found = re.fullmatch(
        rf"The lines {sides} of a blank strip lie at turns of their own \(([-+.\d]+) and ([-+.\d]+) deg\), perhaps two"
        r" sheets in one scan; the skew may be that of one of them alone, and one scale is given for all: cut it into"
        r" one picture a sheet\.",
        told[0],
    )
    assert [float(turn) for turn in found.groups()] == pytest.approx(turns_deg, abs=0.06)


@pytest.mark.parametrize("axis", [0, 1])
def test_two_views_of_one_sheet_raise_no_doubt(axis):
    both = np.concatenate([drawn.sheet(0.0, border=False)] * 2, axis=axis)
    turned = cv2.warpAffine(both, cv2.getRotationMatrix2D((700, 700), 1.3, 1), both.shape[::-1], borderValue=245)
    assert not any("sheets in one scan" in warning for warning in warnings_of(turned))


@pytest.mark.parametrize("axis", [0, 1])
def test_two_sheets_on_a_dark_bed_are_refused(axis):
    both = np.concatenate([on_bed(drawn.sheet(0.3)), on_bed(drawn.sheet(-0.6))], axis=axis)
    pattern = rf"sheet.png: The picture shows 2 sheets, at {TWO_PLACES} in pixels; cut it into one picture a sheet\."
    with pytest.raises(InputError, match=pattern) as told:
        warnings_of(both)
    height, width = drawn.sheet().shape
    along = (width, height)[1 - axis] + 120
    first = (60, 60 + width, 60, 60 + height)
    second = [edge + along * ((n < 2) == bool(axis)) for n, edge in enumerate(first)]
    found = [int(each) for each in re.search(pattern, str(told.value)).groups()]
    assert found == pytest.approx([*first, *second], abs=25)


def test_one_sheet_on_a_dark_bed_is_taken():
    assert not any("sheets" in warning for warning in warnings_of(on_bed(drawn.sheet(0.3))))


def test_no_straight_line_is_told():
    picture = np.full((900, 1200), 245, np.uint8)
    for k in range(6):
        cv2.circle(picture, (250 + 130 * k, 300 + 60 * k), 60 + 30 * k, 30, 3, cv2.LINE_AA)
    page = page_of(picture)
    sheet = straighten(page, restore(page))
    assert (
        "No long straight lines were found: how far the sheet lies askew can't be told; it is left so."
    ) in sheet.warnings
    assert sheet.skew_deg == 0
    assert sheet.skew_std_deg >= 4
