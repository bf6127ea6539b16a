"""Gear data beside a drawn wheel: outside diameter (N + 2)/P (ASA B6.1-1932, from memory; gear_systems.toml)."""

from dataclasses import replace

import pytest

from digitize.dimensions.linking.entries import Entry, collect, parse_or_none
from digitize.dimensions.reasons import Reason
from digitize.dimensions.states.gear_rows import settle_gear_data
from digitize.dimensions.states.held_back import held_back
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.table import Measured, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Kind, Text, Unit
from digitize.strokes.primitives import Arc, Dash, Role, Strokes
from tests.digitize.dimensions.drawn import block_at, sure


def circle(diameter_px: float, role: Role = Role.VISIBLE) -> Arc:
    dash = Dash.CHAIN if role is Role.CENTRE else Dash.SOLID
    return Arc((800.0, 800.0), diameter_px / 2, 0.0, 360.0, 4.0, dash=dash, role=role, view="A")


# A wheel of 47 teeth and 16 P: outside 3 1/16 in, pitch circle 2 15/16, hub 1 1/4, bore 3/4; 300 px to the inch.
FACE = Strokes(
    arcs=tuple(
        circle(300 * d, r)
        for d, r in ((49 / 16, Role.VISIBLE), (47 / 16, Role.CENTRE), (1.25, Role.VISIBLE), (0.75, Role.VISIBLE))
    )
)


def judged(text: str, number: int, px: float | None = None) -> list[Judged]:
    entries = collect([Text(block_at((0.0, 0.0), text), sure(text))], parse_or_none(parse), lambda _: "")

    def placed(entry: Entry) -> Entry:
        line = None if px is None else Measured(Kind.LINEAR, (0, 0), (0, px), px, 1.0, (0, 0))
        return replace(entry, text=number, view=None if px is None else "B", measured=line)

    return [Judged(placed(e), e.options[0], State.UNPROVEN, 0.9, None, None, (), ()) for e in entries]


def told(callout: str, outside: str, section_px_per_in: float, hub: str = "1 1/4 DIA") -> list[State]:
    """States of teeth, pitch and pressure angle beside a section with two figures, drawn at a size of its own."""
    rows = judged(callout, 0)
    rows += judged(outside, 1, section_px_per_in * 49 / 16) + judged(hub, 2, section_px_per_in * 1.25)
    return [row.state for row in settle_gear_data(rows, Unit.INCH, True, FACE)[:3]]


@pytest.mark.parametrize("section_px_per_in", [300.0, 360.0])
def test_the_figure_of_the_outside_circle_vouches_for_teeth_and_pitch(section_px_per_in: float) -> None:
    states = told("47 TEETH 16 D.P. 20° P.A.", "3.062 DIA", section_px_per_in)
    assert states == [State.AGREED, State.AGREED, State.UNPROVEN]


@pytest.mark.parametrize("callout", ["41 TEETH 16 D.P. 20° P.A.", "47 TEETH 18 D.P. 20° P.A."])
def test_a_count_or_pitch_that_this_figure_fails_is_not_agreed_and_not_disputed(callout: str) -> None:
    assert told(callout, "3.062 DIA", 360.0)[:2] == [State.UNPROVEN] * 2


def test_a_figure_elsewhere_whose_neighbour_is_no_circle_of_the_face_vouches_for_nothing() -> None:
    rows = (
        judged("47 TEETH 16 D.P. 20° P.A.", 0) + judged("3.062 DIA", 1, 360 * 49 / 16) + judged("1 1/2 DIA", 2, 540.0)
    )
    assert {row.state for row in settle_gear_data(rows, Unit.INCH, True, FACE)} == {State.UNPROVEN}


def test_gear_data_that_may_have_been_changed_is_not_agreed_whatever_its_formula_says() -> None:
    rows = judged("47 TEETH 16 D.P. 20° P.A.", 0) + judged("3.062 DIA", 1, 360 * 49 / 16)
    changed = [replace(row, entry=replace(row.entry, part_for=Reason.OTHER_INK)) for row in rows]
    settled = settle_gear_data(changed + judged("1 1/4 DIA", 2, 360 * 1.25), Unit.INCH, True, FACE)
    assert settled[0].state is State.AGREED
    held = held_back(settled)
    assert held[0].state is State.UNPROVEN
    assert Reason.OTHER_INK.say() in held[0].reasons
