"""What the finder keeps apart: a cutting plane's corner and its letter, rows over each other, figures side by side.

The corner of a cutting plane is drawn twice as heavy as a thin line (ISO 128); the places are ours.
"""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibrate.restoring.specks import without_specks
from digitize.lettering.find import find_lettering
from digitize.lettering.finding.cutting_marks import _has_two_arms, heavy_corners
from digitize.lettering.finding.parts import find_parts
from tests.digitize.lettering.sheets import PEN_PX, Board
from tests.digitize.lettering.test_find import block_at, framed

HEAVY_PX = 10


def heavy_corner(board: Board, corner: tuple[int, int], along: int, up: int) -> None:
    """Two heavy arms, 70 px long, one to a side and one up or down."""
    x, y = corner
    cv2.line(board.grey, corner, (x + 70 * along, y), 0, HEAVY_PX)
    cv2.line(board.grey, corner, (x, y - 70 * up), 0, HEAVY_PX)


@pytest.mark.parametrize(("along", "up"), [(1, 1), (1, -1), (-1, 1), (-1, -1)])
def test_the_corner_of_a_cutting_plane_is_no_lettering_and_its_letter_is(along: int, up: int) -> None:
    board = Board()
    board.write("2.625", (900, 700))
    board.write("A", (500, 400))
    heavy_corner(board, (500 + along * 45, 400), along, up)
    found = find_lettering(framed(board))
    letter = block_at(found, (500, 400))
    assert max(x for x, _ in letter.quad) - min(x for x, _ in letter.quad) < 60
    assert len(found.blocks) == 2
    assert not found.mask[400, 500 + along * 80]


def test_a_corner_may_end_in_a_filled_arrowhead_three_times_as_broad_as_its_arm() -> None:
    """An upright arm of 90 px, a level one of 120 with a head of 50 px, as ISO 128-40 shows it (from memory)."""
    pen, half = 9, 14
    y, x = np.mgrid[0:104, 0:120]
    level = (abs(y - half) <= pen // 2) & (x < 95)
    upright = (x < pen) & (y >= half - pen // 2)
    head = (x >= 70) & (50 * abs(y - half) < half * (120 - x))
    corner = (level | upright | head)[1:]
    assert _has_two_arms(corner)
    assert not _has_two_arms(corner | np.roll(upright, 60, axis=1)[1:])


def test_an_l_among_letters_of_its_own_pen_is_a_letter() -> None:
    board = Board()
    for x, shape in ((400, "L"), (480, "I"), (540, "L")):
        cv2.line(board.grey, (x, 400), (x, 470), 0, HEAVY_PX)
        if shape == "L":
            cv2.line(board.grey, (x, 470), (x + 50, 470), 0, HEAVY_PX)
    sheet = framed(board)
    assert sheet.pen_px == PEN_PX
    parts, labels = find_parts(sheet, np.asarray(sheet.ink[:, :]))
    letters = [part for part in parts if 380 < part.box[0] < 600]
    assert not heavy_corners(sheet, letters, labels)
    alone = [part for part in letters if part.box[0] < 420]
    assert heavy_corners(sheet, alone, labels) == {alone[0].label}


def test_a_letter_over_a_figure_with_a_fraction_is_a_row_of_its_own() -> None:
    board = Board()
    board.fraction("3", "5", "8", (500, 400))
    board.write("A", (470, 345))
    found = find_lettering(framed(board))
    assert block_at(found, (470, 345), 12.0)
    assert len(found.blocks) == 2


def test_figures_of_two_dimension_lines_are_parted_where_each_stands_in_the_middle_of_its_own() -> None:
    """Short lines behind the heads, and less paper between the figures than between letters of one."""
    board = Board()
    board.write("332", (500, 400))
    board.write("552", (610, 400))
    for x in (500, 610):
        for sense in (-1, 1):
            board.line((x, 400 + sense * 40), (x, 400 + sense * 80))
    found = find_lettering(framed(board))
    assert block_at(found, (500, 400), 10.0) is not block_at(found, (610, 400), 10.0)


def test_a_lone_figure_in_the_gap_of_its_dimension_line_is_no_crossing() -> None:
    board = Board()
    board.write("2.625", (900, 700))
    board.write("8", (500, 400))
    board.line((500, 130), (500, 360), (40, 14))
    board.line((500, 440), (500, 670), (40, 14))
    assert block_at(find_lettering(framed(board)), (500, 400))


def test_noise_along_the_edge_of_the_paper_is_no_lettering() -> None:
    board = Board()
    board.write("2.625", (700, 600))
    sheet = board.sheet()
    noise = np.random.default_rng(5).random((14, 1200)) < np.linspace(0.5, 0.05, 14)[:, None]
    ink = sheet.ink.copy()
    ink[100:114, 100:1300] |= noise
    (block,) = find_lettering(replace(sheet, ink=without_specks(ink, PEN_PX))).blocks
    assert np.allclose(np.mean(block.quad, axis=0), (700, 600), atol=10)


def test_the_arrow_of_a_cutting_plane_is_no_figure_over_a_one() -> None:
    board = Board()
    for row in range(3):
        board.write("2.625", (250, 600 + 120 * row))
    cv2.polylines(board.grey, [np.array([(688, 282), (700, 240), (712, 282)])], False, 0, PEN_PX)
    board.line((700, 290), (700, 334))
    assert len(find_lettering(board.sheet()).blocks) == 3


def test_a_lone_figure_of_a_table_is_no_piece_of_the_letter_over_it() -> None:
    board = Board()
    for row in range(3):
        board.write("2.625", (250, 600 + 120 * row))
    for y in (226, 300, 374):
        board.line((500, y), (1000, y))
    open_4 = [(700, 242), (692, 266), (712, 266)], [(708, 250), (708, 282)]
    for moved in ((-8, 0), (0, 74)):
        for stroke in open_4:
            cv2.polylines(board.grey, [np.array(stroke) + moved], False, 0, PEN_PX)
    places = [tuple(np.mean(block.quad, axis=0).round(-1)) for block in find_lettering(board.sheet()).blocks]
    assert (700.0, 340.0) in places
