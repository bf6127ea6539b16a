"""Values of one piece of lettering: what is drawn gives the lie to one of them, and the others are not believed."""

from dataclasses import replace

import pytest

from digitize.dimensions.linking.entries import collect, parse_or_none
from digitize.dimensions.reasons import Reason
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.states.one_reading import of_one_reading
from digitize.dimensions.table import State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading, Text
from tests.digitize.dimensions.drawn import block_at, sure

CUT = "6 × 3/32"
"""Of 3/16 × 3/32 KEYSEAT the width was read by half; the depth is right, and no machinist writes such a seat."""


def seat(width: State) -> list[Judged]:
    entries = collect([Text(block_at((0.0, 0.0), CUT), sure(CUT))], parse_or_none(parse), lambda _: "")
    states = (width, State.AGREED)
    return [
        Judged(entry, entry.options[0], state, 0.9, 4.8, 0.1, (), ())
        for entry, state in zip(entries, states, strict=True)
    ]


@pytest.mark.parametrize("width", State)
def test_what_stands_beside_a_misread_value_is_not_agreed(width: State) -> None:
    told = of_one_reading(seat(width))[1]
    assert (told.state is State.UNPROVEN) is (width is State.UNREAD)
    assert (Reason.OF_ONE_READING.say(text=CUT) in told.reasons) is (width is State.UNREAD)


def test_what_stands_beside_a_value_that_the_drawing_alone_prefers_is_not_agreed() -> None:
    width, depth = seat(State.UNPROVEN)
    second = replace(width.entry.options[0], text="16 × 3/32")
    first = replace(width.entry, options=(*width.entry.options, second))
    told = of_one_reading([replace(width, entry=first, chosen=second), depth])[1]
    assert told.state is State.UNPROVEN


def test_other_lettering_is_not_upset() -> None:
    width, depth = seat(State.UNREAD)
    other = replace(depth, entry=replace(depth.entry, text=1))
    assert of_one_reading([width, other])[1] is other


def test_a_reading_of_another_shape_takes_its_share_of_the_belief() -> None:
    """Two values or one: if it is one, neither of the two stands there. A spelling of the same is no such doubt."""
    vague = (Reading(CUT, 0.61), Reading("3/16", 0.38))
    spelt = (Reading(CUT, 0.61), Reading("6 x3/32", 0.38))
    parsed = parse_or_none(parse)
    doubts = [
        collect([Text(block_at((0.0, 0.0), CUT), readings)], parsed, lambda _: "")[1].unlisted
        for readings in (vague, spelt)
    ]
    assert doubts == pytest.approx([0.39, 0.01])
