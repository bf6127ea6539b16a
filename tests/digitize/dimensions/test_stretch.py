"""A scanner that stretched one axis is told; the shrinkage of paper is not made a fuss of."""

from dataclasses import replace
from fractions import Fraction

import pytest

from calibrate.scale import Stretch
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.stretch import stretch_warning
from digitize.lettering.grammar import parse
from digitize.strokes.primitives import Strokes
from tests.digitize.dimensions.drawn import draw, level_sheet
from tests.digitize.dimensions.test_reconcile import WIDTHS_IN, drawn


def warnings_with(squeeze: float, squeeze_std: float, widths: tuple[Fraction, ...] = WIDTHS_IN) -> tuple[str, ...]:
    strokes, texts = draw([drawn(value, i) for i, value in enumerate(widths)])
    squeezed: Strokes = replace(strokes, squeeze=squeeze, squeeze_std=squeeze_std)
    return tuple(w for w in reconcile(level_sheet(), squeezed, texts, parse).warnings if "stretched" in w)


# Circles of a sheet stretched by 3 % across are 3 % wider than high: height over width less 1 is 1/1.03 - 1.
@pytest.mark.parametrize(("squeeze", "along"), [(1 / 1.03 - 1, "3.0 % across"), (0.03, "% up and down")])
@pytest.mark.parametrize("widths", [WIDTHS_IN, ()])
def test_three_percent_is_told(squeeze: float, along: str, widths: tuple[Fraction, ...]) -> None:
    (said,) = warnings_with(squeeze, 0.0003, widths)
    assert along in said


@pytest.mark.parametrize("squeeze", [0.0, 0.012, -0.012])
def test_what_paper_does_is_not_told(squeeze: float) -> None:
    assert warnings_with(squeeze, 0.0003) == ()


def test_no_circle_says_nothing() -> None:
    assert warnings_with(0.0, float("inf")) == ()


def test_what_is_not_sure_is_not_told() -> None:
    assert stretch_warning(None, Stretch(0.03, 0.02)) == ()
