"""What a row of the table lists beside its reading."""

import pytest

from digitize.dimensions.reconcile import reconcile
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading, Text
from tests.digitize.dimensions.drawn import Drawn, block_at, draw, level_sheet


def test_idle_spaces_make_no_other_reading() -> None:
    """A space between two figures parts a whole number from its fraction; any other tells nothing (common practice)."""
    readings = ("1 1/2 DIA", "1 1/2DIA", "11/2 DIA", "1 7/2 DIA", "1 7/2DIA")
    shares = (0.9, 0.04, 0.03, 0.02, 0.005)
    figure = Drawn((500.0, 500.0), (900.0, 500.0), tuple(map(Reading, readings, shares)))
    strokes, texts = draw([figure])
    (row,) = reconcile(level_sheet(), strokes, texts, parse).dimensions
    assert row.text == "1 1/2 DIA"
    assert row.alternatives[:2] == ("11/2 DIA", "1 7/2 DIA")
    assert not {"1 1/2 DIA", "1 1/2DIA", "1 7/2DIA"} & set(row.alternatives)


@pytest.mark.parametrize(
    ("read", "rows"),
    [
        ((("A", 0.4), ("H", 0.01)), 0),
        ((("A", 0.4), ("4", 0.02)), 2),  # it may be a figure
        ((("A2", 0.9),), 2),
    ],
)
def test_the_letters_of_a_cutting_plane_are_no_sizes(read: tuple[tuple[str, float], ...], rows: int) -> None:
    """Both ends of a cutting plane bear its letter: ISO 128 (from memory)."""
    ends = (500.0, 500.0), (2500.0, 500.0)
    readings = tuple(Reading(*each) for each in read)
    texts = [Text(block_at(end, "A"), readings, "own") for end in ends]
    strokes, _ = draw([])
    assert len(reconcile(level_sheet(), strokes, texts, parse).dimensions) == rows
    assert len(reconcile(level_sheet(), strokes, texts[:1], parse).dimensions) == 1
