"""From where blocks that read poorly are read as well."""

import pytest

from digitize.lettering.reading.other_directions import other_directions
from digitize.lettering.reading.row_by_row import letter_and_size
from digitize.lettering.text import Reading, Text, TextBlock


def text(read: str, probability: float = 0.99, angle_deg: float = 0.0, width: float = 30.0) -> Text:
    quad = ((0.0, 0.0), (width, 0.0), (width, 40.0), (0.0, 40.0))
    return Text(TextBlock(quad, angle_deg, 40.0), (Reading(read, probability),))


@pytest.mark.parametrize("read", ["B", "D", "E."])
def test_a_sure_letter_is_not_stood_on_its_head(read: str) -> None:
    assert [round(block.angle_deg) % 360 for block in other_directions(text(read))] == [90, 270]


@pytest.mark.parametrize(
    "unsure", [text("E", 0.6), text("E", angle_deg=90.0), text("e"), text("EE"), text("3"), text("")]
)
def test_others_are_read_on_their_heads_too(unsure: Text) -> None:
    turns = [round(block.angle_deg - unsure.block.angle_deg) % 360 for block in other_directions(unsure)]
    assert turns == [180, 90, 270]


def test_long_rows_lie_no_quarter_turn_off() -> None:
    assert len(other_directions(text("1.2", width=100.0))) == 1


def test_a_letter_over_a_size_is_parted_from_it() -> None:
    letter, size = text("A"), text("53")
    assert letter_and_size(letter, size) == letter_and_size(size, letter) == (letter, size)


@pytest.mark.parametrize(("upper", "lower"), [("A", "DIA"), ("AB", "53"), ("4", "53"), ("53", "54")])
def test_other_rows_are_not(upper: str, lower: str) -> None:
    assert letter_and_size(text(upper), text(lower)) is None


def test_neither_may_be_doubtful() -> None:
    assert letter_and_size(text("A", 0.8), text("53")) is None
    assert letter_and_size(text("A"), text("53", 0.8)) is None
