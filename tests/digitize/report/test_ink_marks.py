"""Marks in another ink stand boxed on the check print, one box for what hangs together."""

import numpy as np

from calibrate.sheet import OtherInk
from digitize.report.ink_marks import MEANING, MOST_BOXES, ink_marks
from digitize.report.place_marks import counted_meanings

MM_PER_PX = 0.1


def letter(x: float, y: float, colour: str = "red") -> OtherInk:
    return OtherInk(colour, (x, y), (x + 20.0, y + 30.0))


def test_letters_of_a_word_share_a_box_that_holds_them_all() -> None:
    word = [letter(100.0 + 30 * i, 200.0 + i) for i in range(4)]
    apart = letter(100.0, 900.0, "blue")
    boxes = ink_marks([*word, apart], MM_PER_PX)
    assert counted_meanings(boxes) == [(MEANING, 2)]
    assert [box.words for box in boxes] == ["in red", "in blue"]
    points = np.concatenate(boxes[0].paths)
    assert points.min(axis=0).tolist() == [92.0, 192.0]
    assert points.max(axis=0).tolist() == [218.0, 241.0]


def test_no_marks_make_no_boxes_and_very_many_make_the_largest() -> None:
    assert ink_marks([], MM_PER_PX) == []
    many = [letter(200.0 * (i % 40), 200.0 * (i // 40)) for i in range(200)]
    assert len(ink_marks(many, MM_PER_PX)) == MOST_BOXES
