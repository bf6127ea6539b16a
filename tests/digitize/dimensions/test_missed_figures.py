"""Figures that the finder left to the strokes, looked for at dimension lines that have none."""

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.ink_left import Frame, ink_left
from digitize.dimensions.linking.missed_figures import TRUST, believed, figures_at_spans, missed_figures
from digitize.dimensions.linking.spans import find_spans
from digitize.lettering.text import Layout, Reading, Text, TextBlock
from digitize.strokes.primitives import Line, Role, Strokes
from tests.digitize.dimensions.drawn import Drawn, block_at, draw, level_sheet, sure

LEVEL, UPRIGHT = Drawn((500.0, 500.0), (1100.0, 500.0), sure("1")), Drawn((1800.0, 1500.0), (1800.0, 2300.0), sure("1"))
OTHERS = tuple(block_at((300.0 + 400 * k, 2800.0), "2 1/2") for k in range(3))
"""Figures elsewhere on the sheet: they are 40 px high."""


def sheet_of(strokes: Strokes, *written: tuple[str, tuple[int, int]]) -> LevelSheet:
    """A sheet on which the strokes are drawn, and figures with their lower left corners at points."""
    ink = np.zeros(level_sheet().ink.shape, np.uint8)
    for line in strokes.lines:
        (x0, y0), (x1, y1) = line.start, line.end
        cv2.line(ink, (round(x0), round(y0)), (round(x1), round(y1)), 1, 3)
    for text, at in written:
        cv2.putText(ink, text, at, cv2.FONT_HERSHEY_SIMPLEX, 1.8, 1, 3)
    return replace(level_sheet(), ink=ink.astype(np.bool_))


def missed(sheet: LevelSheet, strokes: Strokes, blocks: Sequence[TextBlock]) -> tuple[TextBlock, ...]:
    return missed_figures(sheet, strokes, find_spans(strokes, sheet.paper_mm_per_px), blocks)


def at_spans(sheet: LevelSheet, strokes: Strokes, blocks: Sequence[TextBlock]) -> tuple[TextBlock, ...]:
    return figures_at_spans(sheet, strokes, find_spans(strokes, sheet.paper_mm_per_px), blocks)


@pytest.mark.parametrize(("text", "width"), [("1", 20), ("33", 66)])
def test_a_figure_over_a_bare_line_is_found(text: str, width: int) -> None:
    strokes, _ = draw([LEVEL])
    (block,) = missed(sheet_of(strokes, (text, (780, 480))), strokes, OTHERS)
    assert block.layout is Layout.ROW
    assert block.height_px == pytest.approx(40, abs=4)
    assert block.centre == pytest.approx((780 + width / 2, 460), abs=12)


@pytest.mark.parametrize(("x", "found"), [(845, 0), (940, 1)], ids=["a word's space off", "far"])
def test_a_figure_that_a_word_may_follow_is_not_taken_without_it(x: int, found: int) -> None:
    """`1 D` is a diameter, and its 1 alone would be a length."""
    strokes, _ = draw([LEVEL])
    assert len(missed(sheet_of(strokes, ("1", (780, 480)), ("D", (x, 480))), strokes, OTHERS)) == found


def test_a_fraction_whose_bar_is_the_dimension_line_is_a_stack() -> None:
    strokes, _ = draw([LEVEL])
    (block,) = missed(sheet_of(strokes, ("7", (780, 490)), ("8", (780, 548))), strokes, OTHERS)
    assert block.layout is Layout.STACK
    assert block.centre[1] == pytest.approx(500, abs=12)


def test_a_bare_stroke_of_a_1_that_its_dimension_line_runs_through_is_found_whole() -> None:
    strokes, _ = draw([LEVEL])
    one = Line((800.0, 482.0), (800.0, 518.0), 3.0)
    sheet = sheet_of(replace(strokes, lines=(*strokes.lines, one)))
    (block,) = missed(sheet, strokes, OTHERS)
    assert block.height_px == pytest.approx(40, abs=4)
    assert block.centre == pytest.approx((800, 500), abs=4)


@pytest.mark.parametrize("text", ["1", "2", "7", "8"])
def test_the_ink_of_a_figure_stays_in_one_piece_where_a_dimension_line_runs_through_it(text: str) -> None:
    strokes, _ = draw([LEVEL])
    left = ink_left(sheet_of(strokes, (text, (780, 520))), strokes, (), Frame((800.0, 500.0), (1.0, 0.0), (60.0, 60.0)))
    _, _, stats, _ = cv2.connectedComponentsWithStats(left, connectivity=8)
    assert [height for *_, height, _ in stats[1:].tolist()] == pytest.approx([40], abs=4)


def test_a_figure_reads_along_an_upright_line_only_where_others_do() -> None:
    strokes, _ = draw([UPRIGHT])
    sheet = sheet_of(strokes, ("3", (1740, 1920)))
    assert [block.angle_deg for block in missed(sheet, strokes, OTHERS)] == [0.0]
    turned = (*OTHERS, block_at((2500.0, 300.0), "5", 90.0))
    assert [block.angle_deg for block in missed(sheet, strokes, turned)] == pytest.approx([90.0])


def test_the_end_of_a_section_line_beside_a_figure_is_no_part_of_it() -> None:
    """Two section lines of three were traced; the third stops at the figure."""
    strokes, _ = draw([LEVEL])
    hatch = [Line((x, 600.0), (x + 200.0, 400.0), 3.0, role=Role.HATCH) for x in (560.0, 900.0)]
    traced = replace(strokes, lines=(*strokes.lines, *hatch))
    scrap = Line((825.0, 470.0), (860.0, 435.0), 3.0)
    sheet = sheet_of(replace(traced, lines=(*traced.lines, scrap)), ("1", (780, 480)))
    (block,) = missed(sheet, traced, OTHERS)
    assert max(x for x, _ in block.quad) < 820
    (joined,) = missed(sheet, strokes, OTHERS)
    assert max(x for x, _ in joined.quad) > 850


def test_a_figure_is_found_without_the_dashes_that_were_taken_for_a_part_of_it() -> None:
    strokes, _ = draw([LEVEL])
    sheet = sheet_of(strokes, ("33", (780, 520)))
    dashed = replace(sheet, ink=sheet.ink.copy())
    dashed.ink[508:512, 860:880] = True
    taken_in = replace(block_at((820.0, 500.0), "33-"), height_px=40.0)
    assert missed(dashed, strokes, (*OTHERS, taken_in)) == ()
    (block, *_) = at_spans(dashed, strokes, (*OTHERS, taken_in))
    assert max(x for x, _ in block.quad) < 860


@pytest.mark.parametrize("written", [(), (("1", (780, 200)),), (("1", (430, 480)),)], ids=["none", "far", "beside"])
def test_where_no_figure_stands_none_is_found(written: tuple[tuple[str, tuple[int, int]], ...]) -> None:
    strokes, _ = draw([LEVEL])
    assert missed(sheet_of(strokes, *written), strokes, OTHERS) == ()


def test_a_line_that_has_its_figure_and_a_sheet_that_shows_no_usual_one_are_left_alone() -> None:
    strokes, (known,) = draw([LEVEL])
    sheet = sheet_of(strokes, ("1", (700, 480)))
    assert missed(sheet, strokes, (*OTHERS, known.block)) == ()
    assert missed(sheet, strokes, OTHERS[:2]) == ()


def text_of(block: TextBlock, *readings: tuple[str, float]) -> Text:
    return Text(block, tuple(Reading(*reading) for reading in readings))


def test_a_second_look_counts_only_as_a_size_and_is_less_sure() -> None:
    first, second, third = OTHERS
    looks = (second, third)
    texts = (text_of(first, ("SEE NOTE", 0.4)), text_of(second, ("1", 0.99)), text_of(third, ("1", 0.7)))
    kept = believed(texts, looks)
    assert [text.readings[0].text for text in kept] == ["SEE NOTE", "1"]
    assert [text.readings[0].probability for text in kept] == pytest.approx([0.4, 0.99 * TRUST])
    assert believed((text_of(third, ("FILLET", 0.99)), text_of(second)), looks) == ()


def test_a_rival_that_stood_in_for_a_second_look_is_one() -> None:
    found, looked = OTHERS[0], OTHERS[1]
    x, y = looked.centre
    larger = block_at((x + 5.0, y), "12 1/2")
    kept = believed((text_of(found, ("1", 0.99)), text_of(larger, ("12", 0.99))), (looked,))
    assert [text.readings[0].probability for text in kept] == pytest.approx([0.99, 0.99 * TRUST])
