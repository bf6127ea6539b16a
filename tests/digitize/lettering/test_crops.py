"""Crops: a block at any angle comes out level, at its own size, white outside the sheet."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibrate.sheet import apply_homography
from digitize.lettering.crops import crop_frame, cut, cut_grey, montage, turned
from digitize.lettering.text import TextBlock
from tests.digitize.lettering.sheets import Board, lettered
from tests.digitize.lettering.test_read import _block, _likeness, _tight


@given(st.floats(-179, 179), st.floats(20, 300), st.floats(10, 60), st.floats(0, 1))
def test_corners_go_to_the_corners_of_the_crop(angle: float, width: float, height: float, margin: float) -> None:
    block = _block((500, 400), angle, (width, height))
    frame, columns, rows = crop_frame(block, margin)
    edge = margin * block.height_px
    corners = apply_homography(frame, np.array(block.quad))
    wanted = [(edge, edge), (edge + width, edge), (edge + width, edge + height), (edge, edge + height)]
    assert corners == pytest.approx(np.array(wanted), abs=1e-6)
    assert columns >= 2 * edge + width
    assert rows >= 2 * edge + height


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, -60.0, 180.0])
def test_a_crop_reads_from_left_to_right(angle: float) -> None:
    board = Board()
    board.write("2.625", (500, 400), angle=angle)
    crop = cut(board.sheet(), _block((500, 400), angle, (155, 42)))
    assert _likeness(_tight(crop), lettered("2.625", 3.5)) > 0.85


@given(st.integers(-8, 8))
def test_turning_is_a_group(turns: int) -> None:
    block = _block((500, 400), 20.0, (100, 40))
    there_and_back = turned(turned(block, turns), -turns)
    assert there_and_back.quad == block.quad
    assert there_and_back.angle_deg == pytest.approx(block.angle_deg)


def test_outside_the_sheet_is_white() -> None:
    grey = np.zeros((50, 50), np.uint8)
    block = TextBlock(((-20.0, -20.0), (20.0, -20.0), (20.0, 20.0), (-20.0, 20.0)), 0.0, 10.0)
    crop = cut_grey(grey, block, margin=0.0)
    assert crop[:19, :].min() == 255
    assert crop[25:39, 25:39].max() == 0


def test_a_montage_keeps_every_crop() -> None:
    crops = [np.full((h, w), 10 * i, np.uint8) for i, (h, w) in enumerate(((5, 9), (7, 3), (2, 4)))]
    picture, tops = montage(crops, gap_px=6)
    for crop, top in zip(crops, tops, strict=True):
        assert (picture[top : top + crop.shape[0], 6 : 6 + crop.shape[1]] == crop).all()
    assert (picture == 255).sum() == picture.size - sum(crop.size for crop in crops)
