"""A scanner that stretched one axis is told; the shrinkage of paper is not made a fuss of."""

from dataclasses import replace
from fractions import Fraction

import pytest

from calibrate.scaling.stretching import Stretch
from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.scales.stretch import stretch_warning
from digitize.dimensions.table import Reconciled, State
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


def up_and_across(stretch: float, across: int, up: int) -> Reconciled:
    """Lengths across and up the sheet, no circles; those up the sheet are stretched."""
    level = [drawn(value, i) for i, value in enumerate(WIDTHS_IN[:across])]
    upright = [
        Drawn((300.0 * i, 2900.0), (300.0 * i, 2900.0 - float(v) * PX_PER_INCH * stretch), sure(figure(v)))
        for i, v in enumerate(WIDTHS_IN[:up])
    ]
    strokes, texts = draw([*level, *upright])
    return reconcile(level_sheet(), strokes, texts, parse)


def about_stretch(found: Reconciled) -> list[str]:
    return [w for w in found.warnings if "stretched" in w]


@pytest.mark.parametrize(("stretch", "along"), [(1.035, "3.5 % up and down"), (1 / 1.035, "3.5 % across")])
def test_without_circles_the_dimensions_tell_an_unusual_stretch(stretch: float, along: str) -> None:
    (said,) = about_stretch(up_and_across(stretch, len(WIDTHS_IN), len(WIDTHS_IN)))
    assert said.startswith(f"The sheet is stretched {along}")


@pytest.mark.parametrize("stretch", [1.0, 1.012, 1 / 1.012])
def test_without_circles_what_paper_does_is_not_told(stretch: float) -> None:
    assert about_stretch(up_and_across(stretch, len(WIDTHS_IN), len(WIDTHS_IN))) == []


def test_what_the_dimensions_cannot_decide_is_said_and_nothing_is_agreed_on_it() -> None:
    """One length up the sheet that is 3.5 % too long may be a wrong figure as well as a stretched sheet."""
    found = up_and_across(1.035, len(WIDTHS_IN), 1)
    (said,) = about_stretch(found)
    assert "can't decide" in said
    assert "nothing is agreed" in said
    assert all(row.state is not State.AGREED for row in found.dimensions)


def test_what_is_not_sure_is_not_told() -> None:
    assert stretch_warning(None, Stretch(0.03, 0.02), False) == ()


@pytest.mark.parametrize(("photographed", "cause"), [(False, "scanner's feed"), (True, "perspective")])
def test_what_may_have_stretched_a_picture_is_what_can(photographed: bool, cause: str) -> None:
    (said,) = stretch_warning(None, Stretch(0.03, 0.001), photographed)
    assert [each for each in ("scanner's feed", "perspective") if each in said] == [cause]
