"""How many lengths a scale needs: the more freely the fit can bend to them, the more."""

from itertools import pairwise

from calibrate.scaling.nominal import Length
from calibrate.scaling.scale import fit_scale
from calibrate.scaling.stretching import Stretch
from digitize.dimensions.scales.scaled import AMPLE_STRENGTH, FULL_BOUND, STRICT_BOUND, WELL_TOLD, Scaled

TOLD, VAGUE = Stretch(0.0, WELL_TOLD / 2, told=True), Stretch(0.0, 2 * WELL_TOLD, told=True)


def sheet_of(sizes_mm: tuple[float, ...], stretch: Stretch) -> Scaled:
    """Lengths drawn exactly at full size."""
    lengths = tuple(Length(0, size, 0.002, size, 1.0, 0.999) for size in sizes_mm)
    fit = fit_scale(lengths, 1, (0.0,), stretch)
    return Scaled(lengths, {}, {None: 0}, (0.0,), fit, stretch=stretch)


def test_where_circles_tell_the_stretch_one_length_fewer_makes_a_scale() -> None:
    four, three = (20.0, 31.0, 44.0, 58.0), (20.0, 31.0, 44.0)
    assert sheet_of(four, TOLD).strength(0) > sheet_of(four, Stretch()).strength(0)
    assert sheet_of(four, Stretch()).error_bound(0) > 0
    assert sheet_of(three, TOLD).error_bound(0) > 0
    assert sheet_of(three, Stretch()).error_bound(0) == 0.0


def test_few_lengths_make_a_scale_that_asks_more_of_a_figure() -> None:
    few, ample = (sheet_of(sizes, TOLD) for sizes in ((20.0, 31.0, 44.0), (20.0, 31.0, 44.0, 58.0, 70.0)))
    assert few.strength(0) < AMPLE_STRENGTH < ample.strength(0)
    assert few.error_bound(0) == STRICT_BOUND < ample.error_bound(0) == FULL_BOUND


def test_circles_that_tell_little_free_nothing() -> None:
    sizes = (20.0, 31.0, 44.0, 58.0, 70.0)
    told, vague, unknown = (sheet_of(sizes, stretch) for stretch in (TOLD, VAGUE, Stretch()))
    assert vague.strength(0) == unknown.strength(0) < told.strength(0)


def test_two_lengths_make_no_scale_however_well_they_agree() -> None:
    for sizes in pairwise((20.0, 31.0, 44.0, 58.0)):
        assert sheet_of(sizes, TOLD).error_bound(0) == 0.0
