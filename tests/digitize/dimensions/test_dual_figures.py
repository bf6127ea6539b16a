"""Inches and millimetres of one length on one dimension line (ASME Y14.5M-1982; from memory)."""

from dataclasses import replace

import pytest

from digitize.dimensions.linking.dual_figures import join_duals
from digitize.dimensions.linking.entries import parse_or_none
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Dimension, State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Layout, Reading, Text, Unit
from tests.digitize.dimensions.drawn import HEIGHT_PX, Drawn, block_at, draw, level_sheet, sure

PARSE = parse_or_none(parse)
PX_PER_MM = 300 / 25.4


def at(words: str, x: float, y: float = 0.0, angle_deg: float = 0.0) -> Text:
    return Text(block_at((x, y), words, angle_deg), sure(words))


def joined(*texts: Text) -> list[str]:
    return [text.readings[0].text for text in join_duals(texts, PARSE)]


def test_what_the_finder_parted_is_one_again() -> None:
    assert joined(at("44.45", 0.0), at("(1.750)", 200.0)) == ["44.45 (1.750)"]


def test_one_over_the_other_across_a_dimension_line_is_one_stack() -> None:
    (both,) = join_duals((at("1.750", 0.0), at("44.45", 0.0, 1.6 * HEIGHT_PX)), PARSE)
    assert both.readings[0].text == "1.750\n44.45"
    assert both.block.layout is Layout.STACK
    assert both.block.quad[2][1] - both.block.quad[0][1] == pytest.approx(2.6 * HEIGHT_PX)


@pytest.mark.parametrize(
    "other",
    [
        at("1.760", 200.0),  # another length
        at("(1.750)", 400.0),  # too far
        at("(1.750)", 200.0, 30.0),  # on another line
        at("1.750", 0.0, 4 * HEIGHT_PX),
        at("1.750", 100.0, 0.0, 90.0),
        replace(at("(1.750)", 200.0), block=replace(at("(1.750)", 200.0).block, group="note")),
    ],
)
def test_what_is_no_second_size_of_one_length_is_left_alone(other: Text) -> None:
    assert joined(at("44.45", 0.0), other) == ["44.45", other.readings[0].text]


LENGTHS_MM = 38.1, 63.5, 44.45, 57.15, 76.2, 31.75, 50.8
FIGURES = (
    "38.10 (1.500)", "63.50 (2.500)", "44.45 (1.750)", "57.15 (2.250)", "76.20 (3.000)", "31.75 (1.250)",
    "50.80 (2.000)",
)  # fmt: skip


def table(figures: tuple[tuple[Reading, ...], ...]) -> tuple[Unit, tuple[Dimension, ...]]:
    """Lengths under each other, at full size."""
    rows = [
        Drawn((300.0, 200.0 + 350.0 * i), (300.0 + mm * PX_PER_MM, 200.0 + 350.0 * i), readings)
        for i, (mm, readings) in enumerate(zip(LENGTHS_MM, figures, strict=True))
    ]
    strokes, texts = draw(rows)
    found = reconcile(level_sheet(), strokes, texts, parse)
    return found.unit, tuple(sorted(found.dimensions, key=lambda row: row.quad_px[0][1]))


def test_a_dual_dimension_is_one_row_in_its_own_unit() -> None:
    unit, rows = table(tuple(sure(figure) for figure in FIGURES))
    assert unit is Unit.MM
    assert [float(row.value or 0) for row in rows] == list(LENGTHS_MM)
    assert {row.state for row in rows} == {State.AGREED}
    assert "1.500 in beside it is the same length" in rows[0].evidence


def test_two_sizes_that_are_not_one_length_are_disputed() -> None:
    _, rows = table(tuple(sure(f) for f in (*FIGURES[:3], "57.15 (2.350)", *FIGURES[4:])))
    assert rows[3].state is State.DISPUTED
    said = "2.350 in stands beside it for the same length, which would be 2.25 in: one of the two is wrong"
    assert said in rows[3].evidence


def test_where_the_reader_is_not_sure_of_both_they_dispute_nothing() -> None:
    doubtful = (Reading("57.15 (2.350)", 0.6), Reading("57.15 (2.250)", 0.35))
    _, rows = table((*(sure(f) for f in FIGURES[:3]), doubtful, *(sure(f) for f in FIGURES[4:])))
    assert rows[3].state in (State.UNPROVEN, State.UNREAD)
