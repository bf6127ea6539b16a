"""Tabular dimensioning: letters on the drawing, sizes in a table (ASME Y14.5M-1982, 1.5.3; from memory)."""

from digitize.dimensions.linking.entries import collect, parse_or_none
from digitize.dimensions.linking.tabulated import refer_to_table, table_head
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import State
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading, Text
from tests.digitize.dimensions.drawn import Drawn, block_at, draw, level_sheet, sure

PARSE = parse_or_none(parse)
STEP, ROW = 240.0, 110.0


def at(words: str, x: float, y: float, readings: tuple[Reading, ...] = ()) -> Text:
    return Text(block_at((x, y), words), readings or sure(words))


def tabulated(x: float = 500.0, y: float = 2000.0, letters: str = "ABC", turned: bool = False) -> list[Text]:
    """A table with a column, or a row, for each letter."""
    rows = [list(letters), ["1 1/2", "2 1/2", "1 3/4"][: len(letters)], ["2", "3", "2 1/4"][: len(letters)]]
    places = [(i, j, text) for i, row in enumerate(rows) for j, text in enumerate(row)]
    if turned:
        return [at(text, x + i * STEP, y + j * ROW) for i, j, text in places]
    return [at(text, x + j * STEP, y + i * ROW) for i, j, text in places]


def test_the_head_of_a_table_is_known_by_the_figures_under_it_or_behind_it() -> None:
    for turned in (False, True):
        head = table_head(tabulated(turned=turned), PARSE)
        assert (head.texts, head.letters) == (frozenset({0, 1, 2}), frozenset("ABC"))


def test_letters_of_cutting_planes_make_no_table() -> None:
    planes = [at(letter, 500.0 + 900.0 * i, 300.0) for i, letter in enumerate("AABB")]
    assert not table_head([*planes, at("2 1/2", 500.0, 360.0), at("3", 1400.0, 360.0)], PARSE).letters
    apart = [at(letter, 500.0 + 300.0 * i, 300.0) for i, letter in enumerate("ABC")]
    assert not table_head([*apart, *(at("2", 500.0 + 300.0 * i, 900.0) for i in range(3))], PARSE).letters


def told(text: Text) -> tuple[str, bool]:
    """Why a text of a sheet with a table gives no size, and whether it has a value all the same."""
    texts = [*tabulated(), text]
    (last,) = refer_to_table(collect(texts, PARSE, str), texts, PARSE)[-1:]
    return last.why_not, last.value is not None


def test_a_letter_stands_for_a_size_of_the_table_alone_or_before_a_word() -> None:
    said = "the letter B stands for a size: the table of the sizes gives it"
    assert told(at("B", 900.0, 300.0)) == (said, False)
    assert told(at("B DIA", 900.0, 300.0)) == (said, False)


def test_a_figure_that_may_be_the_letter_is_none() -> None:
    doubtful = (Reading("8", 0.85), Reading("B", 0.1))
    assert told(at("8", 900.0, 300.0, doubtful)) == (
        "the letter B stands for a size: the table of the sizes gives it", False,
    )  # fmt: skip
    assert told(at("8", 900.0, 300.0)) == ("", True)
    assert told(at("18", 900.0, 300.0, (Reading("18", 0.9), Reading("B", 0.05)))) == ("", True)


def test_a_letter_at_a_dimension_line_is_told_and_no_line_is_called_bare() -> None:
    strokes, texts = draw([Drawn((300.0, 300.0), (1500.0, 300.0), sure("B"))])
    found = reconcile(level_sheet(), strokes, (*texts, *tabulated()), parse)
    (letter,) = (row for row in found.dimensions if row.text == "B")
    assert (letter.state, letter.value) == (State.UNREAD, None)
    assert not found.bare
    assert {row.text for row in found.dimensions} == {"B", "1 1/2", "2 1/2", "1 3/4", "2", "3", "2 1/4"}
