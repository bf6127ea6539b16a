"""Dimension lines whose figure was lost are told, with what they measure."""

import pytest

from digitize.dimensions.linking.span import Span
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.states.bare_lines import bare_lines
from digitize.dimensions.table import Lacking
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from tests.digitize.dimensions.drawn import MM_PER_PX, block_at, draw, level_sheet
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn

LOST = 3
SHAPE_PX = (3000, 3000)


def told(texts: tuple[Text, ...], drop: int | None) -> list[Lacking]:
    """What a sheet of lengths is said to lack at its dimension lines, with one figure gone."""
    strokes, _ = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    kept = tuple(text for i, text in enumerate(texts) if i != drop)
    found = reconcile(level_sheet(), strokes, kept, parse).lacking
    return [each for each in found if "dimension line" in each.what]


def test_a_dimension_line_without_its_figure_is_told_with_its_place_and_length() -> None:
    _, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    (lost,) = told(texts, LOST)
    assert lost.size == pytest.approx(float(WIDTHS_IN[LOST]), abs=4 * lost.std)
    assert "dimension line in C2" in lost.words
    assert not told(texts, None)


def test_what_is_written_beside_the_line_and_cannot_be_read_is_marked_by_itself() -> None:
    _, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    smudge = Text(block_at(texts[LOST].block.centre, "8"), (), "")
    assert not told((*texts[:LOST], smudge, *texts[LOST + 1 :]), None)


def test_a_line_shorter_than_lines_of_one_row_may_be_apart_is_taken_by_its_own_figure() -> None:
    short = Span((900.0, 900.0), (900.0 + 2.0 / MM_PER_PX, 900.0), 0.1, True, ((780.0, 900.0), (1020.0, 900.0)))
    assert len(bare_lines([short, short], (), (), SHAPE_PX, MM_PER_PX)) == 1


def test_a_dimension_line_without_its_figure_is_told_where_no_scale_is_known() -> None:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN[:2])])
    found = reconcile(level_sheet(), strokes, texts[:1], parse)
    assert len(found.bare) == 1
    assert any(found.bare[0].zone in said and "No figure was read" in said for said in found.warnings)


def outside(size_mm: float) -> Span:
    """Two heads that look at each other."""
    size = size_mm / MM_PER_PX
    return Span((900.0, 900.0), (900.0 + size, 900.0), 0.1, True, ((780.0, 900.0), (1020.0 + size, 900.0)))


@pytest.mark.parametrize(("size_mm", "count"), [(8.0, 1), (60.0, 0)])
def test_heads_that_look_at_each_other_over_half_a_sheet_bound_nothing(size_mm: float, count: int) -> None:
    """ISO 129-1 (from memory): arrows point inwards from outside where no room is between them."""
    assert len(bare_lines([outside(size_mm)], (), (), SHAPE_PX, MM_PER_PX)) == count


def test_a_line_read_in_two_ways_is_no_second_line() -> None:
    """The figure of an overall length may be tied to a part of its line."""
    whole = Span((300.0, 900.0), (900.0, 900.0), 0.1, False, ((300.0, 900.0), (900.0, 900.0)))
    part = Span((500.0, 900.0), (900.0, 900.0), 0.1, False, ((500.0, 900.0), (900.0, 900.0)))
    assert len(bare_lines([whole, part], (), (), SHAPE_PX, MM_PER_PX)) == 1
