"""A drawn scale bar is found where all of it is there, and is one more witness of the scale."""

from dataclasses import replace

import pytest

from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.scales.scale_bar import find_scale_bar
from digitize.dimensions.table import Reconciled
from digitize.lettering.grammar import parse
from digitize.lettering.text import Text
from digitize.strokes.primitives import Line, Role, Strokes
from tests.digitize.dimensions.drawn import MM_PER_PX, block_at, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn

LEFT, TOP, TALL = 500.0, 2700.0, 30.0
INCH = PX_PER_INCH


def bar(
    figures: dict[int, str], pitch_px: float = INCH, words: str = "SCALE OF INCHES", off_px: float = 0.0
) -> tuple[tuple[Line, ...], tuple[Text, ...]]:
    """Five divisions of an inch of the part; ``off_px`` moves one cross line off its place."""
    right = LEFT + 5 * pitch_px
    rules = [Line((LEFT, y), (right, y), 3.0, 0.05, view="B") for y in (TOP, TOP + TALL)]
    places = [LEFT + k * pitch_px + (off_px if k == 2 else 0.0) for k in range(6)]
    cross = [Line((x, TOP - 12), (x, TOP + TALL), 3.0, 0.05, role=Role.EXTENSION, view="B") for x in places]
    texts = [Text(block_at((places[k], TOP - 45.0), figure), sure(figure), "drawn") for k, figure in figures.items()]
    texts.append(Text(block_at(((LEFT + right) / 2, TOP + 70.0), words), sure(words), "drawn"))
    return (*rules, *cross), tuple(texts)


def found_in(lines: tuple[Line, ...], texts: tuple[Text, ...]) -> float | None:
    found = find_scale_bar(Strokes(lines), texts, MM_PER_PX)
    return None if found is None else found.length.value_mm


ALL = {k: str(k) for k in range(6)}


@pytest.mark.parametrize("figures", [ALL, {2: "2", 3: "3"}, {1: "2", 3: "6", 5: "10"}, {1: "1", 2: "7", 3: "3"}])
def test_a_bar_is_found_by_what_is_read_of_its_figures(figures: dict[int, str]) -> None:
    """The third counts by twos; in the last one figure is misread."""
    step = 2 if figures.get(5) == "10" else 1
    assert found_in(*bar(figures)) == pytest.approx(5 * step * 25.4)


@pytest.mark.parametrize(("hidden", "found"), [((2, 3), True), ((1, 2), True), ((1, 2, 3, 4), False)])
def test_cross_lines_taken_for_part_of_their_figures_are_filled_in(hidden: tuple[int, ...], found: bool) -> None:
    """A 1 over a cross line reads as one stroke with it; where only the ends are left, nothing tells the divisions."""
    lines, texts = bar(ALL)
    left = tuple(line for i, line in enumerate(lines) if i - 2 not in hidden)
    assert found_in(left, texts) == (pytest.approx(5 * 25.4) if found else None)


def test_unsure_figures_count_beside_a_sure_one_only() -> None:
    lines, texts = bar({1: "1", 2: "2"})
    unsure = [replace(each, readings=(replace(each.readings[0], probability=0.7),)) for each in texts[:2]]
    assert found_in(lines, (texts[0], unsure[1], texts[2])) == pytest.approx(5 * 25.4)
    assert found_in(lines, (*unsure, texts[2])) is None


@pytest.mark.parametrize(
    ("words", "unit_mm"), [("SCALE OF FEET", 304.8), ("SCALE OF MILLIMETRES", 1.0), ("CENTIMETERS", 10.0)]
)
def test_words_name_the_unit(words: str, unit_mm: float) -> None:
    assert found_in(*bar(ALL, words=words)) == pytest.approx(5 * unit_mm)


@pytest.mark.parametrize(
    ("figures", "words", "off_px"),
    [
        ({2: "2"}, "SCALE OF INCHES", 0.0),  # one figure proves nothing
        ({1: "4", 2: "5", 3: "9"}, "SCALE OF INCHES", 0.0),  # the figures do not count
        (ALL, "FINISH ALL OVER", 0.0),  # inches or feet?
        (ALL, "SCALE OF INCHES AND MILLIMETRES", 0.0),
        (ALL, "SCALE OF INCHES", 25.0),  # the divisions are not even
    ],
)
def test_what_lacks_anything_of_a_bar_is_none(figures: dict[int, str], words: str, off_px: float) -> None:
    assert found_in(*bar(figures, words=words, off_px=off_px)) is None


def sheet_with_bar(pitch_px: float) -> Reconciled:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(WIDTHS_IN)])
    lines, bar_texts = bar(ALL, pitch_px)
    return reconcile(level_sheet(), replace(strokes, lines=strokes.lines + lines), (*texts, *bar_texts), parse)


def test_it_is_a_witness_and_its_figures_are_no_dimensions() -> None:
    found = sheet_with_bar(INCH)
    (witness,) = (each for each in found.witnesses if each.source == "scale bar")
    assert witness.agrees is True
    assert witness.mm_per_px[0] == pytest.approx(25.4 / PX_PER_INCH)
    assert found.scales[0].known == "8 dimensions and 1 scale bar"
    assert len(found.dimensions) == len(WIDTHS_IN)


def test_one_that_contradicts_the_dimensions_is_said() -> None:
    found = sheet_with_bar(INCH * 1.1)
    assert found.scales[0].known == "8 dimensions"
    assert [warning for warning in found.warnings if warning.startswith("The scale bar ")]
