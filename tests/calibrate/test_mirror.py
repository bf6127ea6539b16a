"""A sheet that was scanned from its back, or photographed off a negative laid the wrong way."""

from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibrate.files.load import load_page
from calibrate.level import calibrate_sheet
from calibrate.restoring.restore import restore
from calibrate.sheet import LevelSheet, apply_homography
from calibrate.straightening.letters import find_letters
from calibrate.straightening.mirror import BACK_SHOWS, TURNED_OVER, has_mirrored_row, reads_in_mirror
from calibrate.straightening.straighten import straighten
from calibrate.transforms import mirroring
from tests.calibrate import drawn
from tests.calibrate.test_straighten import page_of

SHEETS = Path(__file__).parents[2] / "samples" / "sheets"
SAME_PX = 0.01


def level(pixels: np.ndarray, **known: Any) -> LevelSheet:
    page = page_of(np.ascontiguousarray(pixels))
    return straighten(page, restore(page), **known)


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
@pytest.mark.parametrize("skew_deg", [-1.1, 2.3])
def test_a_sheet_scanned_from_its_back_is_turned_over(quarters: int, skew_deg: float) -> None:
    """Each point must come where it comes on the sheet scanned from its front, whatever the turn."""
    front = np.ascontiguousarray(np.rot90(drawn.sheet(skew_deg), quarters))
    right, over = level(front), level(front[:, ::-1])
    assert (right.turned_over, over.turned_over) == (False, True)
    assert TURNED_OVER in over.warnings
    assert TURNED_OVER not in right.warnings
    height, width = front.shape
    places = np.array([[0.2 * width, 0.3 * height], [0.8 * width, 0.4 * height], [0.5 * width, 0.9 * height]])
    mirrored = apply_homography(mirroring(width), places)
    assert over.flat_points(mirrored) == pytest.approx(right.flat_points(places), abs=SAME_PX)
    assert over.source_points(over.flat_points(mirrored)) == pytest.approx(mirrored)
    assert np.mean(over.ink != right.ink) < 1e-3


@pytest.mark.parametrize("sheet", ["hm-01-back-gear.png", "hm-02-layshaft.png", "hm-08-drive-shaft-trap.png"])
def test_a_drawn_sheet_and_its_mirror_image_come_out_alike(tmp_path: Path, sheet: str) -> None:
    front = calibrate_sheet(SHEETS / sheet)
    pixels = load_page(SHEETS / sheet, 1).pixels
    path = tmp_path / "from-its-back.png"
    cv2.imwrite(str(path), pixels[:, ::-1])
    back = calibrate_sheet(path)
    assert (front.turned_over, back.turned_over) == (False, True)
    assert back.skew_deg == pytest.approx(front.skew_deg, abs=1e-3)
    assert back.orientation_deg == front.orientation_deg


def test_what_is_known_is_believed_and_without_letters_nothing_is_told() -> None:
    sheet = drawn.sheet(0.5)
    assert level(sheet, over=True).turned_over
    assert not level(sheet[:, ::-1], over=False).turned_over
    assert not level(drawn.sheet(0.5, words=False)[:, ::-1]).turned_over


def test_letters_of_the_back_are_told_and_turn_nothing() -> None:
    front = drawn.sheet(0.5)
    both = level(np.minimum(front, front[:, ::-1]))
    assert BACK_SHOWS in both.warnings
    assert not both.turned_over
    assert BACK_SHOWS not in level(front).warnings


def test_section_lines_are_no_letters_in_a_mirror() -> None:
    """All lean one way, as the stroke of a 7 does in a mirror."""
    ink = np.zeros((200, 900), np.uint8)
    for x in range(40, 840, 24):
        cv2.line(ink, (x, 90), (x + 22, 112), 1, 3)
    letters = find_letters(ink.view(np.bool_), 3.0)
    assert len(letters.rasters) > 20
    assert not has_mirrored_row(letters)
    assert not reads_in_mirror(letters)


@given(st.integers(1, 9), st.integers(1, 9))
def test_mirroring_is_numpys(height: int, width: int) -> None:
    image = np.arange(height * width).reshape(height, width)
    y, x = np.mgrid[0:height, 0:width]
    moved = apply_homography(mirroring(width), np.column_stack([x.ravel(), y.ravel()]))
    columns, rows = np.round(moved).astype(int).T
    assert np.array_equal(image[:, ::-1][rows, columns], image.ravel())
