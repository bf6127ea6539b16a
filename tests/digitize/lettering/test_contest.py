"""Figures chosen among rivals: what explains more ink wins, what says otherwise leaves a doubt."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from calibrate.sheet import LevelSheet
from digitize.lettering.find import find_lettering
from digitize.lettering.reading.candidates import without_parts_said
from digitize.lettering.reading.contest import contested
from digitize.lettering.reading.let_in import takes_in, without_parts
from digitize.lettering.text import Reading, Text, TextBlock
from tests.digitize.lettering.sheets import Board

WIDTH = 40.0


def _sheet() -> LevelSheet:
    """Five figures' worth of ink, 40 px each, from x = 100 on."""
    board = Board(600, 300)
    board.grey[100:140, 100:300] = 0
    return board.sheet()


def _block(first: float, past: float) -> TextBlock:
    """From one figure's place to before another's."""
    left, right = 100 + WIDTH * first, 100 + WIDTH * past - 1
    return TextBlock(((left, 100.0), (right, 100.0), (right, 139.0), (left, 139.0)), 0.0, 40.0)


def _text(block: TextBlock, said: str, probability: float) -> Text:
    return Text(block, (Reading(said, probability),), "test")


def _contest(poor: Text, rivals: Sequence[Text]) -> list[Text]:
    said = {text.block: text for text in rivals}
    won, others, _ = contested(
        _sheet(),
        [poor],
        list(said),
        lambda blocks: [said[block] for block in blocks],
        lambda text: text.readings[0].probability,
    )
    return won + others


def test_a_rival_that_reads_well_stands_in_for_a_poor_block() -> None:
    (text,) = _contest(_text(_block(0, 5), "41 3/8", 0.2), [_text(_block(1, 5), '1 3/8"', 0.95)])
    assert text.readings[0].text == '1 3/8"'
    assert text.block == _block(1, 5)


def test_the_whole_figure_wins_over_a_sure_part_of_it() -> None:
    (text,) = _contest(
        _text(_block(0, 5), "41 3/8", 0.001),
        [_text(_block(1, 5), '1 3/8"', 0.9), _text(_block(2, 5), '3/8"', 0.99)],
    )
    assert text.readings[0].text == '1 3/8"'
    assert text.readings[0].probability == pytest.approx(0.9, abs=0.01)  # its part does not speak against it


def test_a_leading_figure_with_little_ink_is_not_left_out() -> None:
    """A 1 has a tenth of its fraction's ink: what is read surely without it would win by ink."""
    (text,) = _contest(
        _text(_block(0, 5), "14 3/8", 0.001),
        [_text(_block(0, 5), '1 3/8"', 0.92), _text(_block(0.25, 5), '3/8"', 1.0)],
    )
    assert text.readings[0].text == '1 3/8"'
    assert text.readings[0].probability == pytest.approx(0.92, abs=0.01)


def test_a_leader_read_as_a_figure_before_another_does_not_win_by_its_ink() -> None:
    leader, alone = _text(_block(0, 5), '41"', 0.6), _text(_block(3, 5), '1"', 0.97)
    (text,) = _contest(_text(_block(0, 5), "4", 0.1), [leader, alone])
    assert text.readings[0].text == '1"'
    assert text.readings[0].probability == pytest.approx(0.97 * 0.97 / (0.97 + 0.6))  # the leader leaves a doubt


def test_what_is_cut_from_two_figures_speaks_against_neither() -> None:
    texts = _contest(
        _text(_block(0, 5), "11 3/4 3/4", 0.1),
        [
            _text(_block(0, 2.4), '1 1/4"', 0.93),
            _text(_block(2.6, 5), '3/8"', 0.95),
            _text(_block(1.6, 3.4), '4/3"', 0.9),
        ],
    )
    chances = {text.readings[0].text: text.readings[0].probability for text in texts}
    assert chances == {'1 1/4"': 0.93, '3/8"': 0.95}


def test_a_rival_that_says_otherwise_leaves_a_doubt() -> None:
    (text,) = _contest(
        _text(_block(0, 5), "41 3/8", 0.2),
        [_text(_block(1, 5), '1 3/8"', 0.9), _text(_block(0, 4), '7 5/8"', 0.8)],
    )
    chances = {reading.text: reading.probability for reading in text.readings}
    assert chances['1 3/8"'] < 0.6
    assert chances['7 5/8"'] > 0.3


def test_of_those_that_say_the_same_the_one_without_a_foreign_stroke_is_taken() -> None:
    """A dash in the block takes from the reading's probability, and adds to its ink."""
    (text,) = _contest(_text(_block(0, 5), '3/4"', 0.6), [_text(_block(1, 4), '3/4"', 0.99)])
    assert text.block == _block(1, 4)
    assert text.readings[0].probability == pytest.approx(0.99)


def test_of_those_that_say_the_same_as_surely_the_one_with_the_most_ink_is_taken() -> None:
    """Which of two sure ones is the surer by a thousandth is chance; the smaller one leaves out a mark."""
    rivals = [_text(_block(1, 5), '7 1/2"', 0.996), _text(_block(1, 4), '7 1/2"', 0.997)]
    (text,) = _contest(_text(_block(0, 5), '47 1/2"', 0.2), rivals)
    assert text.block == _block(1, 5)


def test_a_part_with_its_mark_moved_does_not_speak_against_the_whole() -> None:
    (text,) = _contest(
        _text(_block(0, 5), "4", 0.1), [_text(_block(0, 4), '3/4"', 0.9), _text(_block(0, 3), '3"', 0.9)]
    )
    assert (text.readings[0].text, len(text.readings)) == ('3/4"', 1)


def test_a_rival_that_takes_in_an_arrowhead_is_seen() -> None:
    sheet = _sheet()
    grey = sheet.grey.copy()
    grey[100:140, 100:140] = 255
    bare = replace(sheet, grey=grey)
    assert takes_in(sheet, bare, _block(0, 3))
    assert not takes_in(sheet, bare, _block(1, 3))
    assert not takes_in(sheet, sheet, _block(0, 3))


def test_no_part_is_a_rival_of_a_block_that_may_be_a_part_itself() -> None:
    part, larger, beyond = _block(1, 4), _block(0, 5), _block(3, 5)
    assert without_parts([part, larger, beyond], [_block(0, 4)]) == [larger, beyond]
    assert without_parts([part], []) == [part]


def test_what_says_a_part_of_a_doubted_whole_is_no_rival_though_its_box_reaches_beyond_it() -> None:
    """`2 1/4 DIA.` was doubted for an arrowhead before it, and lost to a surer `1/4 DIA.` with a dash behind."""
    whole = _text(_block(0, 4), '2 1/4" DIA.', 0.999)
    part, other, elsewhere = (
        _text(_block(1, 6), '1/4" DIA.', 0.998),
        _text(_block(0, 5), '12 1/4" DIA.', 0.5),
        _text(_block(5, 7), "1/4", 0.9),
    )
    assert without_parts_said([part, other, elsewhere, whole], [whole]) == [other, elsewhere, whole]
    assert without_parts_said([part], []) == [part]


def test_two_whole_figures_in_one_block_come_apart() -> None:
    texts = _contest(
        _text(_block(0, 5), '3/8" 9/16"', 0.5),
        [_text(_block(0, 2), '3/8"', 0.95), _text(_block(3, 5), '9/16"', 0.95)],
    )
    assert {text.readings[0].text for text in texts} == {'3/8"', '9/16"'}


def test_bare_digits_do_not_stand_in_for_a_larger_figure() -> None:
    (text,) = _contest(_text(_block(0, 5), '11 5/8"', 0.24), [_text(_block(0, 1), "1", 0.99)])
    assert text.readings[0].text == '11 5/8"'


def test_what_reads_well_is_not_contested() -> None:
    sure = _text(_block(0, 3), '3/8"', 0.95)
    assert _contest(sure, [_text(_block(0, 5), '3/8" 1', 0.99)]) == [sure]


def test_a_word_is_no_place_to_look_for_figures() -> None:
    word = _text(_block(0, 5), "Furnace", 0.4)
    assert _contest(word, []) == [word]
    assert word in _contest(word, [_text(_block(0, 1), '1"', 0.99)])


def test_bare_digits_where_no_block_was_found_are_no_figure() -> None:
    poor = _text(_block(0, 1), "?", 0.1)
    alone = _block(2, 5)
    assert {text.readings[0].text for text in _contest(poor, [_text(alone, "17", 0.99)])} == {"?"}
    assert {text.readings[0].text for text in _contest(poor, [_text(alone, '1 7/8"', 0.99)])} == {"?", '1 7/8"'}


def test_a_table_cell_keeps_its_place() -> None:
    cell = replace(_block(0, 5), group="group-1", row=2, column=1)
    (text,) = _contest(_text(cell, "?", 0.2), [_text(_block(0, 4), "42", 0.95)])
    assert (text.block.group, text.block.row, text.block.column) == ("group-1", 2, 1)


def test_a_figure_whose_bar_is_lost_in_its_dashed_dimension_line_has_a_rival_that_holds_it() -> None:
    board = Board(700, 900)
    board.line((350, 100), (350, 800), dash=(30, 14))
    board.grey[405:495, 290:410] = 255
    board.line((350, 412), (350, 488), dash=(76, 1))  # the bar, in line with the dashes and as thin
    board.write("3", (322, 450), mm=3.0, angle=90.0)
    board.write("8", (378, 450), mm=3.0, angle=90.0)
    rivals = find_lettering(board.sheet()).rivals
    quads = [np.array(block.quad) for block in rivals if block.angle_deg == 90.0]
    assert any((quad.min(axis=0) < (308, 442)).all() and (quad.max(axis=0) > (392, 458)).all() for quad in quads)
