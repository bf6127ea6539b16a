"""Decimal commas (ISO 129-1: the decimal sign of a drawing is a comma, from memory) before three figures."""

from fractions import Fraction

import pytest

from digitize.dimensions.linking.candidates import losses
from digitize.dimensions.linking.decimal_commas import with_decimal_commas
from digitize.lettering.grammar import makes_sense, parse
from digitize.lettering.reading.worth import figure_worth
from digitize.lettering.text import Callout, Text
from tests.digitize.dimensions.drawn import block_at, sure


def texts(*said: str) -> list[Text]:
    return [Text(block_at((0.0, 100.0 * i), text), sure(text)) for i, text in enumerate(said)]


@pytest.mark.parametrize(
    ("others", "told"),
    [(("62,25", "37,5"), True), (("62", "37"), False), (("62,25", "1.5"), False), (("1,250", "2,500"), False)],
)
def test_a_comma_before_three_figures_is_decimal_where_the_sheets_others_are(
    others: tuple[str, ...], told: bool
) -> None:
    meaning = with_decimal_commas(texts("28,125", *others), parse)("28,125")
    assert bool(meaning) is told
    if told:
        assert isinstance(meaning, Callout)
        assert (meaning.text, meaning.values[0].nominal) == ("28,125", Fraction(225, 8))


def test_a_figure_with_three_places_behind_its_comma_makes_sense_to_the_reader() -> None:
    """It was thrown away for a part of itself, 28,12, that makes sense on every sheet."""
    assert makes_sense("28,125")
    (figure, cut) = texts("28,125", "28,12")
    assert figure_worth(figure) == pytest.approx(figure_worth(cut))


def test_a_comma_may_be_lost_as_a_point_may() -> None:
    assert "2812" in set(losses("28,12"))
