"""Gear data beside a drawn wheel: outside diameter (N + 2)/P (ASA B6.1-1932, from memory; gear_systems.toml)."""

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from digitize.dimensions.linking.cells import join_cells
from digitize.dimensions.linking.entries import Entry, collect, parse_or_none
from digitize.dimensions.linking.gear_columns import by_column
from digitize.dimensions.linking.schedules import join_schedules
from digitize.dimensions.linking.split_callouts import whole_texts
from digitize.dimensions.linking.tied import attach
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


def table(data: dict[str, str], kind: str) -> dict[str, State]:
    """States of the rows of a data block of a kind of gear."""
    rows = [row for n, (label, figure) in enumerate(data.items()) for row in judged(f"{label} {figure}", n)]
    settled = settle_gear_data(rows, Unit.INCH, True, Strokes(), kind)
    return {label: row.state for label, row in zip(data, settled, strict=True)}


def other_kinds() -> list[tuple[str, dict[str, str]]]:
    """Sizes of gears that are no plain spur gears, by naive_pitch_traps.csv (derived there)."""
    found = []
    path = Path(__file__).parents[1] / "gears" / "naive_pitch_traps.csv"
    for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
        teeth = row["N"]
        if row["kind"] == "bevel" and "45 deg" in row["description"]:
            data = {"NO. OF TEETH": teeth, "DIAMETRAL PITCH": row["true_P"], "PITCH ANGLE": "45°"}
            found.append(("bevel", {**data, "OUTSIDE DIAMETER": row["OD_in"]}))
        if row["kind"] == "helical":
            helix = row["description"].split("helix ")[1].removesuffix(" deg")
            data = {"NO. OF TEETH": teeth, "NORMAL D.P.": row["true_P"], "HELIX ANGLE": f"{helix}°"}
            found.append(("helical", {**data, "OUTSIDE DIAMETER": row["OD_in"]}))
        if row["kind"] == "worm_wheel" and "throat dia" in row["description"]:
            pitch = row["description"].split("pitch ")[1].split(" in")[0]
            data = {"NO. OF TEETH": teeth, "CIRCULAR PITCH": pitch}
            found.append(("worm", {**data, "THROAT DIAMETER": row["OD_in"]}))
    return found


@pytest.mark.parametrize(("kind", "data"), other_kinds())
def test_other_gears_have_formulas_of_their_own(kind: str, data: dict[str, str]) -> None:
    assert State.DISPUTED not in table(data, kind).values()
    assert State.AGREED in table(data, kind).values()
    size = list(data)[-1]
    changed = {**data, size: f"{float(data[size]) + 0.01:.4f}"}
    assert State.AGREED not in table(changed, kind).values()


def test_a_bevel_gear_read_as_a_spur_gear_would_be_disputed() -> None:
    data = {"NO. OF TEETH": "24", "DIAMETRAL PITCH": "8", "OUTSIDE DIAMETER": "3.177"}
    assert table(data, "spur")["OUTSIDE DIAMETER"] is State.DISPUTED
    assert table(data, "bevel")["OUTSIDE DIAMETER"] is State.UNPROVEN


def test_chain_wheels_and_internal_gears() -> None:
    # D = p/sin(180/N): 1/2 in pitch, 20 teeth, 3.1962 in (from memory); internal: inside diameter (N - 2)/P
    chain = {"NO. OF TEETH": "20", "CHAIN PITCH": "1/2", "PITCH DIAMETER": "3.196"}
    assert table(chain, "sprocket")["PITCH DIAMETER"] is State.AGREED
    assert table({**chain, "PITCH DIAMETER": "3.183"}, "sprocket")["PITCH DIAMETER"] is State.DISPUTED
    ring = {"NO. OF TEETH": "60", "DIAMETRAL PITCH": "12", "INSIDE DIAMETER": "4.833"}
    assert State.DISPUTED not in table(ring, "internal").values()
    assert table({**ring, "INSIDE DIAMETER": "5.167"}, "internal")["INSIDE DIAMETER"] is State.DISPUTED


@pytest.mark.parametrize(("std_in", "state"), [(0.001, State.AGREED), (0.03, State.DISPUTED)])
def test_an_outside_diameter_drawn_as_written_is_no_slip_though_no_standard_one(std_in: float, state: State) -> None:
    """A pinion of 12 teeth, 10 P, enlarged by a shift of .3: outside (N + 2 + 2 x)/P = 1.46 in (gear notes)."""
    rows = judged("NO. OF TEETH 12", 0) + judged("DIAMETRAL PITCH 10", 1) + judged("OUTSIDE DIAMETER 1.460", 2)
    rows[2] = replace(rows[2], state=State.AGREED, measured=1.4599, measured_std=std_in)
    settled = settle_gear_data(rows, Unit.INCH, True, Strokes())
    assert settled[2].state is state
    assert settled[0].state is State.DISPUTED


TWO_GEARS = {"NO. OF TEETH": ("18", "54"), "DIAMETRAL PITCH": ("8", "8"), "PITCH DIAMETER": ("2.250", "6.750")}
TWO_GEARS |= {"OUTSIDE DIAMETER": ("2.500", "7.000")}


def cells() -> list[Text]:
    """A table of pinion and wheel."""
    texts = []
    for row, (label, figures) in enumerate(TWO_GEARS.items()):
        for column, text in enumerate((label, *figures)):
            block = replace(block_at((300.0 * column, 60.0 * row), text), group="group-1", row=row, column=column)
            texts.append(Text(block, sure(text)))
    return texts


@pytest.mark.parametrize(
    ("outside_px", "pitch_px", "drawn"), [(750.0, 675.0, 1), (2100.0, 2025.0, 2), (900, 700, None)]
)
def test_each_gear_of_a_table_has_its_column_and_one_of_them_is_drawn(
    outside_px: float, pitch_px: float, drawn: int | None
) -> None:
    parsed = parse_or_none(parse)
    texts = join_cells(cells(), parsed)
    face = Strokes(arcs=(circle(outside_px), circle(pitch_px, Role.CENTRE)))
    entries, _ = attach(collect(texts, parsed, lambda _: ""), texts, face, 25.4 / 300)
    assert sorted((e.item, str(e.value.nominal)) for e in entries if e.value and e.value.name == "teeth") == [
        (1, "18"),
        (2, "54"),
    ]
    assert {entry.item for entry in entries if entry.measured is not None} == ({drawn} if drawn else set())
    rows = [Judged(e, e.options[0], State.UNPROVEN, 0.9, None, None, (), ()) for e in entries]
    settled = settle_gear_data(rows, Unit.INCH, True, face)
    assert {row.state for row in settled} == {State.AGREED}


def test_one_gear_whose_data_stand_in_two_pairs_of_columns_is_one() -> None:
    texts = [
        Text(replace(block_at((300.0 * n, 0.0), text), group="group-1", row=0, column=n), sure(text))
        for n, text in enumerate(("NO. OF TEETH", "18", "DIAMETRAL PITCH", "8"))
    ]
    parsed = parse_or_none(parse)
    joined = join_cells(texts, parsed)
    assert [text.readings[0].text for text in joined] == ["NO. OF TEETH 18", "DIAMETRAL PITCH 8"]
    assert {e.item for e in by_column(collect(joined, parsed, lambda _: ""), joined)} == {None}


def schedule(*rows: tuple[str, ...]) -> list[Text]:
    """Rows under each other, the first of which is the head."""
    return [
        Text(
            replace(
                block_at((400.0 * column, 90.0 * row), text),
                group="group-1" if row == 0 else f"group-{row + 1}",
                row=0,
                column=column,
            ),
            sure(text),
        )
        for row, cells in enumerate(rows)
        for column, text in enumerate(cells)
    ]


HEAD = ("NO. OF TEETH", "D.P.", "PITCH DIA.", "OUTSIDE DIA.")


def test_a_schedule_lists_its_gears_under_a_head_of_labels() -> None:
    parsed = parse_or_none(parse)
    texts = whole_texts(schedule(HEAD, ("34", "8", "4.250", "4.500"), ("68", "8", "8.500", "8.750")), parsed)
    assert len(texts) == 8
    face = Strokes(arcs=(circle(2625.0), circle(2550.0, Role.CENTRE)))
    entries, _ = attach(collect(texts, parsed, lambda _: ""), texts, face, 25.4 / 300)
    told = {(e.item, e.value.name): str(e.value.nominal) for e in entries if e.value is not None}
    assert (told[1, "teeth"], told[2, "teeth"]) == ("34", "68")
    assert (told[1, "outside_diameter"], told[2, "outside_diameter"]) == ("9/2", "35/4")
    assert {e.item for e in entries if e.measured is not None} == {2}


@pytest.mark.parametrize(
    "rows",
    [
        (HEAD, ("A", "B", "C", "D")),
        (("ITEM", "MATERIAL", "D.P."), ("1", "C.I.", "8")),  # no number of teeth is named
        (HEAD,),
    ],
)
def test_a_head_without_gears_under_it_joins_nothing(rows: tuple[tuple[str, ...], ...]) -> None:
    texts = schedule(*rows)
    assert join_schedules(texts, parse_or_none(parse)) == tuple(texts)


def test_gears_of_two_tables_are_not_mixed_though_they_stand_in_like_columns() -> None:
    parsed = parse_or_none(parse)
    others = [replace(each, block=replace(each.block, group="group-2")) for each in cells()]
    texts = join_cells([*cells(), *others], parsed)
    entries = by_column(collect(texts, parsed, lambda _: ""), texts)
    teeth = [e.item for e in entries if e.value is not None and e.value.name == "teeth"]
    assert sorted(item for item in teeth if item is not None) == [1, 2, 3, 4]
