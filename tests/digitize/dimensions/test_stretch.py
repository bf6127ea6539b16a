"""A scanner that stretched one axis is told; the shrinkage of paper is not made a fuss of."""

from dataclasses import replace
from fractions import Fraction

import pytest

from calibrate.scale import Stretch
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.stretch import stretch_warning
from digitize.lettering.grammar import parse
from digitize.strokes.primitives import Strokes
from tests.digitize.dimensions.drawn import Drawn, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn, figure


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


@pytest.mark.parametrize(("stretch", "told"), [(1.0, False), (1.012, False), (1.035, True), (1 / 1.035, True)])
def test_without_circles_the_dimensions_may_raise_a_suspicion(stretch: float, told: bool) -> None:
    """Half of the lengths lie across, half up the sheet; the latter are stretched."""
    across = [drawn(value, i) for i, value in enumerate(WIDTHS_IN)]
    up = [
        Drawn((300.0 * i, 2900.0), (300.0 * i, 2900.0 - float(v) * PX_PER_INCH * stretch), sure(figure(v)))
        for i, v in enumerate(WIDTHS_IN)
    ]
    strokes, texts = draw([*across, *up])
    said = [w for w in reconcile(level_sheet(), strokes, texts, parse).warnings if "stretched about" in w]
    assert bool(said) is told
    assert all(("up and down" if stretch > 1 else "across") in warning for warning in said)


def test_what_is_not_sure_is_not_told() -> None:
    assert stretch_warning(None, Stretch(0.03, 0.02)) == ()
