"""Figures that stand alone among lines: section lines, dashes, heads and specks are no part of them."""

import cv2
import numpy as np
import pytest

from digitize.lettering.find import find_lettering
from digitize.lettering.finding.linework import without_lines
from digitize.lettering.finding.parts import find_parts
from digitize.lettering.finding.placing import fractions_of, place
from digitize.lettering.finding.rows import split_rows
from digitize.lettering.finding.section_lines import section_lines
from digitize.lettering.text import Layout
from tests.digitize.lettering.sheets import Board, lettered
from tests.digitize.lettering.test_find import block_at, framed, is_turned_by, length


def usual(board: Board) -> None:
    """Figures enough that the sheet's usual height is known."""
    for row in range(3):
        board.write("2.625", (250, 600 + 120 * row))


def test_section_lines_that_stop_at_a_figure_are_told_from_letters() -> None:
    board = Board()
    for x in (460, 500, 540, 700, 740, 780):
        board.line((x - 40, 340), (x + 40, 260))
    board.line((560, 340), (590, 310))
    board.write("19", (620, 290))
    sheet = framed(board)
    parts, _ = find_parts(sheet, without_lines(sheet))
    drawn = section_lines(sheet, parts, 42.0)
    assert len(drawn) == 7
    assert all(part.label not in drawn for part in parts if 590 < part.centre[0] < 650)


@pytest.mark.parametrize("at", [(-40, 24), (32, -24), (40, -24)])
def test_a_lone_figure_is_not_turned_by_a_line_that_stops_near_it(at: tuple[int, int]) -> None:
    board = Board()
    board.write("8", (700, 300), 3.9)
    x, y = 700 + at[0], 300 + at[1]
    board.line((x - 13, y + 13), (x + 13, y - 13))
    sheet = framed(board)
    parts, _ = find_parts(sheet, sheet.ink)
    (row,) = split_rows([part for part in parts if abs(part.centre[0] - 700) < 70], 40.0)
    assert len(row.parts) == 1
    assert row.angle_deg == 0.0


def test_a_slanting_bar_of_a_fraction_is_no_section_line() -> None:
    board = Board()
    for x in (400, 520, 640):
        board.line((x, 420), (x + 40, 380))
        board.write("3", (x - 10, 385), 2.0)
        board.write("4", (x + 50, 415), 2.0)
    sheet = framed(board)
    parts, _ = find_parts(sheet, sheet.ink)
    assert section_lines(sheet, parts, 30.0) == set()


def test_a_one_with_its_mark_between_dashes_and_edges_is_found() -> None:
    board = Board()
    usual(board)
    cv2.line(board.grey, (696, 318), (704, 282), 0, 4)
    for start, end in (((717, 280), (713, 294)), ((727, 280), (723, 294)), ((714, 290), (725, 285))):
        board.line(start, end)  # an inch mark run together
    for x, dash in ((645, (655, 683)), (785, (747, 775))):
        board.line((dash[0], 300), (dash[1], 300))
        board.line((x, 280), (x, 322))
    block = block_at(find_lettering(framed(board)), (710, 300))
    assert length(block) < 60


def test_a_leaning_one_whose_inch_marks_ran_together_is_found() -> None:
    board = Board()
    usual(board)
    cv2.line(board.grey, (690, 318), (708, 282), 0, 4)
    for x in (713, 718):
        cv2.line(board.grey, (x + 4, 281), (x, 293), 0, 5)
    for near, far in ((660, 560), (750, 850)):
        board.line((near, 300), (far, 300))
    block = block_at(find_lettering(framed(board)), (705, 300))
    assert length(block) < 50


def test_a_one_with_a_flag_is_found_right_before_the_heads_of_its_line() -> None:
    board = Board()
    usual(board)
    cv2.polylines(board.grey, [np.array([(692, 292), (702, 280), (702, 320)])], False, 0, 5)
    for near, way in ((669, -1), (731, 1)):
        board.line((near, 300), (near + 90 * way, 300))
        for aside in (-18, 18):
            board.line((near + 20 * way, 300 + aside), (near + 80 * way, 300))
        board.line((near + 82 * way, 200), (near + 82 * way, 400))
    block = block_at(find_lettering(framed(board)), (698, 300))
    assert length(block) < 40
    assert abs(block.angle_deg) < 5


def test_a_one_in_the_gap_of_an_upright_line_is_no_part_of_that_line() -> None:
    board = Board()
    board.write("38", (478, 400))
    cv2.line(board.grey, (522, 380), (522, 420), 0, 4)
    board.write("52", (574, 400))
    for x in (522, 574):
        board.line((x, 100), (x, 355))
        board.line((x, 445), (x, 700))
    found = find_lettering(framed(board))
    assert len(found.blocks) == 2


@pytest.mark.parametrize("dash", [None, (40, 14)])
def test_a_fraction_run_into_its_bar_is_a_stack_by_itself(dash: tuple[float, float] | None) -> None:
    upper, lower = lettered("5", 3.0), lettered("8", 3.0)
    height, width = upper.shape
    picture = np.full((2 * height - 1, width + 14), 255, np.uint8)
    picture[:height, 7:-7] = upper
    picture[height - 1 :, 7:-7] = np.minimum(picture[height - 1 :, 7:-7], lower)
    picture[height - 3 : height + 2] = 0
    board = Board()
    usual(board)
    board.paste(picture, (700, 300), 0.0)
    for start, end in ((664, 400), (736, 1000)):
        board.line((start, 300), (end, 300), dash)
    block = block_at(find_lettering(framed(board)), (700, 300))
    assert block.layout is Layout.STACK
    assert is_turned_by(block, 0.0)


def test_a_speck_beside_a_lone_letter_does_not_turn_it_from_its_words() -> None:
    board = Board()
    usual(board)
    board.write("8", (640, 300))
    board.write("THDS", (760, 300))
    cv2.circle(board.grey, (640, 248), 3, 0, -1)
    found = find_lettering(framed(board))
    assert len(found.blocks) == 4
    assert length(block_at(found, (725, 300), 60)) > 170


def test_the_bar_of_a_fraction_among_the_dashes_of_its_line_is_none_of_them() -> None:
    board = Board()
    usual(board)
    board.paste(lettered("3", 3.0), (700, 277), 0.0)
    board.paste(lettered("4", 3.0), (700, 323), 0.0)
    cv2.line(board.grey, (684, 300), (716, 300), 0, 5)
    for x in (480, 530, 580, 630, 740, 790, 840, 890):
        board.line((x, 300), (x + 36, 300))
    block = block_at(find_lettering(framed(board)), (700, 300))
    assert block.layout is Layout.STACK


@pytest.mark.parametrize(("foot", "is_fraction"), [(332, True), (355, False)])
def test_a_torn_figure_is_no_fraction_with_the_row_under_it(foot: int, is_fraction: bool) -> None:
    """The foot of a torn 3 lies level, but near its own row only."""
    board = Board()
    usual(board)
    board.write("5", (700, 291))
    board.line((682, 318), (718, 318))
    board.write("4", (700, foot + 14))
    sheet = framed(board)
    parts, _ = find_parts(sheet, without_lines(sheet))
    near = [part for part in parts if abs(part.centre[0] - 700) < 30 and part.centre[1] < 420]
    assert len(near) == 3
    assert bool(fractions_of(place(near, 0.0), 42.0)) == is_fraction


def test_parts_that_lost_no_ink_keep_their_look() -> None:
    board = Board()
    board.write("38", (300, 300))
    board.line((500, 300), (560, 300))
    sheet = framed(board)
    before = find_parts(sheet, sheet.ink)
    left = sheet.ink.copy()
    left[:, 530:535] = False
    again, anew = find_parts(sheet, left, before), find_parts(sheet, left)
    assert len(again[0]) == len(before[0]) + 1
    assert [part.hull.tolist() for part in again[0]] == [part.hull.tolist() for part in anew[0]]
    assert [(part.label, part.look, part.free) for part in again[0]] == [
        (part.label, part.look, part.free) for part in anew[0]
    ]


def test_a_numerator_1_over_a_figure_that_ran_into_its_bar_is_of_a_fraction() -> None:
    """The bar touches the 1 of 16, so that the three seemed to stand in line, lying on their sides."""
    board = Board()
    usual(board)
    six = lettered("6", 2.6)
    for start, end in (((705, 262), (705, 292)), ((690, 300), (718, 300)), ((696, 300), (696, 334))):
        cv2.line(board.grey, start, end, 0, 4)
    board.grey[308 : 308 + six.shape[0], 704 : 704 + six.shape[1]] &= six
    found = block_at(find_lettering(framed(board)), (705, 300))
    assert found.layout is Layout.STACK
    assert is_turned_by(found, 0.0)


def test_a_dash_before_figures_on_their_sides_is_no_numerator() -> None:
    board = Board()
    usual(board)
    board.write("75", (720, 300))
    cv2.line(board.grey, (640, 300), (672, 300), 0, 4)
    assert is_turned_by(block_at(find_lettering(framed(board)), (720, 300)), 0.0)
