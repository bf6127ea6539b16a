"""The finder on sheets with known lettering. Heights: ISO 3098 and others, see digitize/lettering/heights.csv."""

import csv
import math
from importlib.resources import files

import cv2
import numpy as np
import pytest

from calibrate.restoring.connected import runs_of
from calibrate.sheet import LevelSheet
from digitize.lettering.find import find_lettering
from digitize.lettering.finding.linework import line_ink
from digitize.lettering.text import Layout, Lettering, TextBlock
from tests.digitize.lettering.sheets import PX_PER_MM, Board, lettered


def block_at(found: Lettering, centre: tuple[float, float], reach: float = 25.0) -> TextBlock:
    """The one block whose middle lies there."""
    near = [block for block in found.blocks if math.dist(block.centre, centre) < reach]
    assert len(near) == 1, [block.centre for block in found.blocks]
    return near[0]


def is_turned_by(block: TextBlock, angle: float) -> bool:
    """Whether a block reads along a direction, half turns not told apart."""
    return abs((block.angle_deg - angle + 90.0) % 180.0 - 90.0) < 4.0


def length(block: TextBlock) -> float:
    return math.dist(block.quad[0], block.quad[1])


def framed(board: Board) -> LevelSheet:
    """The board with a frame, so that it has long lines as every sheet has."""
    for start, end in (
        ((20, 20), (1380, 20)),
        ((1380, 20), (1380, 980)),
        ((1380, 980), (20, 980)),
        ((20, 980), (20, 20)),
    ):
        board.line(start, end)
    return board.sheet()


def _heights() -> list[float]:
    text = files("digitize.lettering").joinpath("heights.csv").read_text(encoding="utf-8")
    return sorted({float(row["height_mm"]) for row in csv.DictReader(text.splitlines())})


@pytest.mark.parametrize("mm", _heights())
def test_lettering_of_every_standard_height_is_found(mm: float) -> None:
    board = Board()
    for row in range(3):
        board.write("2.625", (400, 200 + 250 * row), mm)
        board.write("DRILL 38", (950, 200 + 250 * row), mm)
    found = find_lettering(framed(board))
    assert len(found.blocks) == 6
    for row in range(3):
        block = block_at(found, (400, 200 + 250 * row))
        assert block.height_px == pytest.approx(mm * PX_PER_MM, rel=0.2)
        assert block.layout is Layout.ROW


@pytest.mark.parametrize("angle", [0.0, 90.0, 40.0, -50.0])
def test_rows_are_found_at_their_angle(angle: float) -> None:
    board = Board()
    board.write("53.725", (400, 400), 3.5, angle)
    board.write("2.840", (950, 600), 3.5, angle)
    found = find_lettering(framed(board))
    assert is_turned_by(block_at(found, (400, 400)), angle)
    assert is_turned_by(block_at(found, (950, 600)), angle)


@pytest.mark.parametrize("angle", [0.0, 90.0])
@pytest.mark.parametrize("parts", [("", "3", "8"), ("2", "5", "16"), ("1", "11", "32"), ("", "1", "2")])
def test_a_stacked_fraction_is_one_block(parts: tuple[str, str, str], angle: float) -> None:
    board = Board()
    board.fraction(*parts, (500, 400), angle)
    board.write("4.625", (1000, 700))
    found = find_lettering(framed(board))
    assert len(found.blocks) == 2
    block = block_at(found, (500, 400))
    assert block.layout is Layout.STACK
    assert is_turned_by(block, angle)


@pytest.mark.parametrize("parts", [("2", "3", "8"), ("", "1", "2"), ("", "11", "16")])
def test_the_bar_of_a_fraction_in_a_dimension_line_is_no_dash(parts: tuple[str, str, str]) -> None:
    board = Board()
    board.fraction(*parts, (700, 300))
    board.dimension_line(300, 1100, 300, (630, 770))
    board.write("4.625", (1000, 700))
    sheet = framed(board)
    found = find_lettering(sheet)
    assert block_at(found, (700, 300)).layout is Layout.STACK
    figure = (slice(230, 370), slice(640, 760))
    assert found.mask[figure][sheet.ink[figure]].mean() > 0.98
    assert not found.mask[:, 300:620].any()


def test_limits_are_one_stack() -> None:
    board = Board()
    board.write("1.250\n1.248", (500, 400))
    board.write("4.625", (1000, 700))
    found = find_lettering(framed(board))
    assert len(found.blocks) == 2
    assert block_at(found, (500, 400)).layout is Layout.STACK


def test_staggered_figures_of_neighbouring_lines_are_no_limits() -> None:
    """The second word of one and the first of the other look like limits, until their other words are seen."""
    board = Board()
    pitch = lettered("2.875", 3.5).shape[1] + 30
    for text, column, y in (("2.875", 0, 400), ("1.002", 1, 400), ("3.625", 1, 456), ("1.003", 2, 456)):
        board.write(text, (400 + column * pitch, y))
    found = find_lettering(framed(board))
    assert [block.layout for block in found.blocks] == [Layout.ROW] * 2


def test_a_word_over_a_fraction_with_a_slanting_stroke_is_no_limit() -> None:
    board = Board()
    board.write("DIA", (478, 398))
    board.write("3", (432, 462))
    board.write("3", (470, 449), 2.2)
    board.line((466, 492), (510, 430))
    board.write("4", (512, 474), 2.2)
    found = find_lettering(framed(board))
    word, fraction = block_at(found, (478, 398)), block_at(found, (476, 461))
    assert word.layout is Layout.ROW
    assert word.quad[2][1] < fraction.centre[1]


@pytest.mark.parametrize("top", ["7", "21"])
def test_a_fraction_with_a_steep_stroke_is_one_block(top: str) -> None:
    board = Board()
    board.write("1", (418, 460), 4.5)
    board.write(top, (464 - 11 * len(top), 444), 2.6)
    board.line((458, 496), (482, 424))
    board.write("32", (512, 478), 2.6)
    board.write("DIA.", (640, 460), 4.5)
    found = find_lettering(framed(board))
    (block,) = found.blocks
    assert block.quad[0][0] < 420 < 500 < block.quad[1][0]


def test_rows_of_a_note_are_rows_of_one_group() -> None:
    board = Board()
    for row, text in enumerate(("BREAK SHARP EDGES", "REMOVE ALL BURRS", "STAMP PART NUMBER")):
        picture_centre = (200 + len(text) * 14.0, 300 + 75 * row)
        board.write(text, picture_centre)
    found = find_lettering(framed(board))
    assert [block.layout for block in found.blocks] == [Layout.ROW] * 3
    lefts = [block.quad[0][0] for block in found.blocks]
    assert np.ptp(lefts) < 60
    assert len({block.group for block in found.blocks}) == 1
    assert [block.row for block in found.blocks] == [0, 1, 2]


def test_a_ruled_table_gives_rows_and_columns_and_no_fractions() -> None:
    board = Board()
    rows = (("NUMBER OF TEETH", "42"), ("DIAMETRAL PITCH", "8"), ("OUTSIDE DIAMETER", "5.500"))
    for row, (label, value) in enumerate(rows):
        y = 200 + 90 * row
        board.write(label, (350, y), 3.0)
        board.write(value, (750, y), 3.0)
    for y in (155, 245, 335, 425):
        board.line((120, y), (900, y))
    for x in (120, 600, 900):
        board.line((x, 155), (x, 425))
    found = find_lettering(framed(board))
    assert {block.layout for block in found.blocks} == {Layout.ROW}
    assert len({block.group for block in found.blocks}) == 1
    assert sorted((block.row, block.column) for block in found.blocks) == [(r, c) for r in range(3) for c in range(2)]


@pytest.mark.parametrize(("rules", "cells"), [((155, 245), 2), ((245,), 0)])
def test_a_short_label_keeps_its_value_across_a_wide_row_ruled_on_both_sides(
    rules: tuple[int, ...], cells: int
) -> None:
    """A label and its figure 19 letter heights apart: the next figure beyond a single line may be a dimension."""
    board = Board()
    board.write("MODULE", (220, 200), 3.0)
    board.write("24", (1080, 200), 3.0)
    for y in rules:
        board.line((120, y), (1150, y))
    found = find_lettering(framed(board))
    assert len(found.blocks) == 2
    assert sum(block.group is not None for block in found.blocks) == cells


def test_pen_work_is_left_to_the_strokes() -> None:
    board = Board()
    board.write("2.625", (1150, 850))
    board.line((100, 500), (800, 500), dash=(120, 18))
    board.line((100, 540), (800, 540), dash=(36, 14))
    board.line((100, 200), (700, 900), dash=(36, 14))
    board.line((450, 100), (450, 900), dash=(60, 18))
    for x in range(900, 1200, 28):
        board.line((x, 300), (x + 90, 210))
    board.line((890, 300), (1300, 300))
    board.line((890, 210), (1300, 210))
    board.circle((300, 300), 40)
    board.circle((300, 700), 20)
    board.arrowhead((600, 640), 0.0)
    board.arrowhead((600, 700), 37.0)
    found = find_lettering(framed(board))
    assert [tuple(round(v, -2) for v in block.centre) for block in found.blocks] == [(1200.0, 800.0)]
    rest = found.mask.copy()
    rest[800:900, 1050:1250] = False
    assert not rest.any()


def test_figures_side_by_side_in_the_gaps_of_two_lines_are_two_blocks() -> None:
    board = Board()
    for x, text in ((500, "38"), (600, "52")):
        board.write(text, (x, 400))
        board.line((x, 100), (x, 365))
        board.line((x, 435), (x, 700))
    found = find_lettering(framed(board))
    assert len(found.blocks) == 2
    block_at(found, (500, 400))
    block_at(found, (600, 400))


def test_an_empty_sheet_has_no_lettering() -> None:
    found = find_lettering(Board().sheet())
    assert found.blocks == ()
    assert not found.mask.any()


def test_the_mask_holds_the_ink_of_the_figures() -> None:
    board = Board()
    board.write("2.625", (500, 400))
    board.write("38", (900, 400))
    bare = board.sheet().ink
    sheet = framed(board)
    found = find_lettering(sheet)
    assert (found.mask & ~sheet.ink).sum() == 0
    assert found.mask[bare].mean() > 0.99


def test_a_lone_one_is_found_where_a_line_is_broken_for_it() -> None:
    board = Board()
    board.write("2.625", (400, 800))
    board.line((300, 300), (660, 300))
    board.line((740, 300), (1100, 300))
    board.line((700, 280), (700, 320))
    board.line((1000, 600), (1000, 640))
    found = find_lettering(framed(board))
    block_at(found, (700, 300))
    assert len(found.blocks) == 2


@pytest.mark.parametrize("angle", [0.0, 90.0])
def test_inch_marks_stay_with_their_fraction(angle: float) -> None:
    board = Board()
    board.fraction("2", "5", "16", (500, 400), angle)
    x, y = (564, 372) if angle == 0.0 else (472, 336)
    along, aside = (np.array([1, 0]), np.array([0, 1])) if angle == 0.0 else (np.array([0, -1]), np.array([1, 0]))
    for step in (-8, 8):
        middle = np.array([x, y]) + step * along
        ends = [tuple((middle + half * aside).tolist()) for half in (-5, 5)]
        cv2.line(board.grey, ends[0], ends[1], 0, 8)
    board.write("4.625", (1000, 700))
    found = find_lettering(framed(board))
    assert len(found.blocks) == 2
    block = block_at(found, (510, 400) if angle == 0.0 else (500, 390))
    inside = np.array(block.quad)
    assert inside[:, 0].min() - 6 < x < inside[:, 0].max() + 6
    assert inside[:, 1].min() - 6 < y < inside[:, 1].max() + 6


def test_marks_that_stand_nearer_to_a_neighbour_stay_with_their_figure() -> None:
    board = Board()
    board.write("38", (500, 400), 3.5, 90.0)
    board.write('"', (488, 352), 3.5, 90.0)
    board.write("52", (445, 317))
    found = find_lettering(framed(board))
    upright = next(block for block in found.blocks if is_turned_by(block, 90.0))
    assert min(y for _, y in upright.quad) < 352


def test_a_degree_ring_on_an_extension_line_stays_with_its_figure() -> None:
    board = Board()
    board.write("45", (500, 400))
    cv2.circle(board.grey, (545, 386), 8, 0, 4, cv2.LINE_AA)
    board.line((545, 100), (545, 800))
    found = find_lettering(framed(board))
    assert max(x for x, _ in found.blocks[0].quad) > 545


def test_a_line_through_a_sign_does_not_part_it_from_its_figure() -> None:
    board = Board()
    board.write("O1.875", (500, 400))
    board.line((434, 100), (434, 800))
    for start, end in ((100, 350), (450, 800)):
        board.line((540, start), (540, end))
    found = find_lettering(framed(board))
    assert [round(length(block), -1) for block in found.blocks] == [round(length(block_at(found, (500, 400))), -1)]
    assert min(x for x, _ in found.blocks[0].quad) < 434


def test_an_equals_sign_is_kept_between_its_words() -> None:
    board = Board()
    board.write("SCALE 9", (400, 400))
    board.line((530, 394), (562, 394))
    board.line((530, 408), (562, 408))
    board.write("12", (620, 400))
    found = find_lettering(framed(board))
    assert len(found.blocks) == 1


@pytest.mark.parametrize("slope", [-1.4, 1.4])
def test_a_slanting_stroke_is_not_parted_by_a_line(slope: float) -> None:
    ink = np.zeros((120, 400), np.uint8)
    cv2.line(ink, (0, 60), (399, 60), 1, 4)
    cv2.line(ink, (round(200 - 40 * slope), 20), (round(200 + 40 * slope), 100), 1, 5)
    inked = ink.view(np.bool_)
    left = inked & ~line_ink(inked, runs_of(inked), 150, 10, axis=1)
    _count, labels = cv2.connectedComponents(left[:, 140:260].astype(np.uint8))
    assert labels[22:98].max() == labels[25].max() == labels[95].max()
    assert not left[:, :100].any()
    assert not left[:, 300:].any()


def test_a_taller_one_with_its_flag_stands_alone_in_a_broken_line() -> None:
    board = Board()
    for row in range(3):
        board.write("2.625", (400, 600 + 120 * row), 2.5)
    cv2.polylines(board.grey, [np.array([(692, 292), (702, 282), (702, 318)])], False, 0, 5)
    board.line((300, 300), (660, 300))
    board.line((740, 300), (1100, 300))
    found = find_lettering(framed(board))
    assert block_at(found, (698, 300)).height_px > 25


@pytest.mark.parametrize("angle", [0.0, 90.0])
def test_a_fraction_whose_bar_runs_into_its_figure_is_one_stack(angle: float) -> None:
    picture = np.full((87, 40), 255, np.uint8)
    for row, figure in enumerate(("3", "8")):
        drawn = lettered(figure, 3.0)
        top, left = row * (picture.shape[0] - drawn.shape[0]), (picture.shape[1] - drawn.shape[1]) // 2
        picture[top : top + drawn.shape[0], left : left + drawn.shape[1]] = drawn
    picture[38:46] = 0
    board = Board()
    board.paste(picture, (500, 400), angle)
    board.write("4.625", (1000, 700))
    found = find_lettering(framed(board))
    assert len(found.blocks) == 2
    block = block_at(found, (500, 400))
    assert block.layout is Layout.STACK
    assert is_turned_by(block, angle)


@pytest.mark.parametrize("angle", [0.0, 90.0])
def test_limits_with_a_word_beside_the_lower_are_one_stack_under_a_note(angle: float) -> None:
    board = Board()
    centres = [(500, 400), (500, 455), (520, 510)] if angle == 0.0 else [(400, 500), (455, 500), (510, 480)]
    for text, centre in zip(("2.875 DIA", "1.499", "1.498 DIA"), centres, strict=True):
        left = {"2.875 DIA": -190, "1.499": 5, "1.498 DIA": 30}[text]
        x, y = centre
        board.write(text, (x + left, y) if angle == 0.0 else (x, y - left), 3.5, angle)
    found = find_lettering(framed(board))
    assert [block.layout for block in found.blocks].count(Layout.STACK) == 1
    assert len(found.blocks) == 2


def test_an_inch_mark_drawn_as_a_drop_stays_with_its_figure() -> None:
    board = Board()
    board.write("4.267", (500, 400))
    for x in (592, 609):
        corners = np.array([(x - 5, 383), (x + 5, 383), (x + 1, 399), (x - 1, 399)])
        cv2.fillPoly(board.grey, [corners], 0)
    found = find_lettering(framed(board))
    assert max(x for x, _ in found.blocks[0].quad) > 609


@pytest.mark.parametrize("along", [50, 60])
def test_two_staggered_rows_of_sloping_letters_are_two_level_rows(along: int) -> None:
    board = Board()
    for step, text in enumerate(("33 DIA", "75 DIA")):
        upright = lettered(text, 2.2)
        height, width = upright.shape
        slope = np.array([[1.0, -0.27, 0.27 * height], [0.0, 1.0, 0.0]])
        sloping = cv2.warpAffine(upright, slope, (width + height // 3, height), borderValue=255)
        board.paste(sloping, (700 + along * step, 300 + 41 * step), 0.0)
    cv2.line(board.grey, (700, 200), (700, 270), 0, 5)
    board.write("4.625", (400, 800))
    board.write("2.125", (1000, 800))
    found = find_lettering(framed(board))
    assert len(found.blocks) == 4
    assert all(is_turned_by(block, 0.0) for block in found.blocks)


@pytest.mark.parametrize(("walls", "cells"), [((120, 700, 1150), 2), ((), 0)])
def test_two_short_cells_with_a_wall_between_them_are_a_row(walls: tuple[int, ...], cells: int) -> None:
    """D.P. and 10 in a ruled row; without a wall they may be two dimensions in a slender part."""
    board = Board()
    board.write("D.P.", (180, 200), 3.0)
    board.write("10", (780, 200), 3.0)
    for y in (155, 245):
        board.line((120, y), (1150, y))
    for x in walls:
        board.line((x, 155), (x, 245))
    found = find_lettering(framed(board))
    assert sum(block.group is not None for block in found.blocks) == cells
