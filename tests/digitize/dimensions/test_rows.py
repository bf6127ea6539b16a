"""What a row of the table lists beside its reading."""

from digitize.dimensions.reconcile import reconcile
from digitize.lettering.grammar import parse
from digitize.lettering.text import Reading
from tests.digitize.dimensions.drawn import Drawn, draw, level_sheet


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
