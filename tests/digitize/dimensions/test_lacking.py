"""What a maker would miss on a sheet, and closed chains.

ISO 129-1: a dimension is given once, auxiliary ones stand in brackets (from memory).
"""

import math
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from digitize.dimensions.reconcile import reconcile
from digitize.dimensions.table import Reconciled
from digitize.lettering.grammar import parse
from digitize.strokes.primitives import Arc, Line, Role, View
from tests.digitize.dimensions.drawn import Drawn, draw, level_sheet, sure
from tests.digitize.dimensions.test_reconcile import PX_PER_INCH, WIDTHS_IN, drawn

BOX = (0.0, 0.0, 3400.0, 3400.0)


def part(*features: Line | Arc, figures: tuple[Drawn, ...] = ()) -> Reconciled:
    """A sheet whose scale is known, with one view that shows some features."""
    strokes, texts = draw([*(drawn(value, i) for i, value in enumerate(WIDTHS_IN)), *figures])
    lines = tuple(replace(each, view="A") for each in features if isinstance(each, Line))
    arcs = tuple(replace(each, view="A") for each in features if isinstance(each, Arc))
    return reconcile(
        level_sheet(),
        replace(
            strokes,
            lines=(*(replace(line, view="A") for line in strokes.lines), *lines),
            arcs=arcs,
            views=(View("A", "view", BOX),),
        ),
        texts,
        parse,
    )


def hole(diameter_in: float, x: float) -> Arc:
    return Arc((x, 2900.0), diameter_in / 2 * PX_PER_INCH, 0.0, 360.0, 3.0)


def test_a_hole_that_no_figure_gives_is_scaled_from_the_print_with_its_uncertainty() -> None:
    (found,) = (each for each in part(hole(0.9, 900.0)).lacking if each.what == "diameter")
    assert found.size == pytest.approx(0.9, abs=4 * found.std)
    assert 0 < found.std < 0.05
    assert "scaled from the print" in found.words


def test_equal_holes_are_told_once() -> None:
    (found,) = (each for each in part(hole(0.9, 900.0), hole(0.9, 1500.0)).lacking if "diameter" in each.what)
    assert found.what == "diameter of 2 equal circles"


def test_a_hole_of_a_given_size_lacks_nothing() -> None:
    given = float(WIDTHS_IN[0])
    assert not [each for each in part(hole(given, 900.0)).lacking if "diameter" in each.what]


def square(side_in: float) -> tuple[Line, ...]:
    size = side_in * PX_PER_INCH
    corners = [(300.0, 3300.0), (300.0 + size, 3300.0), (300.0 + size, 3300.0 - size), (300.0, 3300.0 - size)]
    return tuple(Line(a, b, 3.0, role=Role.VISIBLE) for a, b in pairwise([*corners, corners[0]]))


def corner(radius_in: float, width_px: float, bulge_deg: float = 90.0) -> tuple[Line | Arc, ...]:
    """Two edges and the bow between them, which ends on both."""
    r, (x, y) = radius_in * PX_PER_INCH, (900.0, 2900.0)
    arc = Arc((x, y), r, 0.0, bulge_deg, width_px, radius_std_px=0.02)
    last = math.radians(bulge_deg)
    meets = x + r * math.cos(last), y - r * math.sin(last)
    side = meets[0] - 300 * math.sin(last), meets[1] - 300 * math.cos(last)
    return (
        Line((x + r, y), (x + r, y + 300), width_px, role=Role.VISIBLE),
        Line(meets, side, width_px, role=Role.VISIBLE),
        arc,
    )


@pytest.mark.parametrize(("width_px", "told"), [(6.0, True), (20.0, False)])
def test_a_corner_that_the_pen_fills_is_no_rounding(width_px: float, told: bool) -> None:
    """Drawn so heavily, a chamfer looks the same."""
    found = part(*corner(35 / PX_PER_INCH, width_px)).lacking
    assert any(each.what == "radius" for each in found) is told


def test_the_flatter_a_bow_the_less_its_radius_is_known() -> None:
    """An error across a bow of 90 or 45 degrees enters its radius 1 / (1 - cos 45) or 1 / (1 - cos 22.5) times."""
    stds = []
    for bulge_deg in (90.0, 45.0):
        (found,) = (each for each in part(*corner(0.7, 6.0, bulge_deg)).lacking if each.what == "radius")
        stds.append(found.std)
    assert stds[1] / stds[0] == pytest.approx((1 - math.cos(math.pi / 4)) / (1 - math.cos(math.pi / 8)), rel=0.02)


@pytest.mark.parametrize(("sure_to_px", "told"), [(1.0, True), (6.0, False)])
def test_a_rounding_of_hardly_known_size_is_not_asked_for(sure_to_px: float, told: bool) -> None:
    *edges, arc = corner(35 / PX_PER_INCH, 6.0)
    assert isinstance(arc, Arc)
    found = part(*edges, replace(arc, radius_std_px=sure_to_px)).lacking
    assert any(each.what == "radius" for each in found) is told


@pytest.mark.parametrize(("radius_in", "told"), [(float(WIDTHS_IN[0]) / 2, False), (0.7, True)])
def test_the_round_end_of_a_slot_is_given_by_its_width(radius_in: float, told: bool) -> None:
    found = part(*corner(radius_in, 6.0, 180.0)).lacking
    assert any(each.what == "radius" for each in found) is told


def test_a_bore_that_a_keyseat_breaks_is_asked_for_by_its_diameter() -> None:
    (found,) = (each for each in part(*corner(0.7, 6.0, 330.0)).lacking if each.what != "overall width")
    assert found.what == "diameter"
    assert found.size == pytest.approx(1.4, abs=4 * found.std)
    assert not [each for each in part(*corner(float(WIDTHS_IN[0]) / 2, 6.0, 330.0)).lacking if "diam" in each.what]


def test_a_shaft_that_a_keyseat_cuts_into_is_as_high_as_it_is_round() -> None:
    r, (x, y) = float(WIDTHS_IN[2]) / 2 * PX_PER_INCH, (900.0, 2900.0)
    half, rise = r * math.sin(math.radians(25.0)), r * math.cos(math.radians(25.0))
    floor = y - rise + 5.0
    corners = [(x - half, y - rise), (x - half, floor), (x + half, floor), (x + half, y - rise)]
    keyseat = (Line(a, b, 3.0, role=Role.VISIBLE) for a, b in pairwise(corners))
    assert not part(Arc((x, y), r, 115.0, 310.0, 3.0), *keyseat).lacking


def test_an_overall_size_that_no_figure_gives_is_told() -> None:
    told = {each.what: each.size for each in part(*square(3.3)).lacking}
    assert told["overall width"] == pytest.approx(3.3, abs=0.02)


def end_to_end(y: float, x0: float, values: tuple[Fraction, ...], texts: tuple[str, ...]) -> tuple[Drawn, ...]:
    """Figures on one line, each from where the last one ends."""
    at = [x0 + float(sum(values[:k], Fraction(0))) * PX_PER_INCH for k in range(len(values) + 1)]
    return tuple(Drawn((a, y), (b, y), sure(text)) for (a, b), text in zip(pairwise(at), texts, strict=True))


def test_an_overall_size_that_a_row_of_figures_gives_lacks_nothing() -> None:
    row = end_to_end(3350.0, 300.0, (Fraction(3, 2), Fraction(9, 5)), ('1 1/2"', '1.8"'))
    assert "overall width" not in {each.what for each in part(*square(3.3), figures=row).lacking}


def chain(total: str) -> tuple[Drawn, ...]:
    links = end_to_end(2700.0, 200.0, (Fraction(5, 2), Fraction(11, 8)), ('2 1/2"', '1 3/8"'))
    end = 200.0 + float(Fraction(31, 8)) * PX_PER_INCH
    return (*links, Drawn((200.0, 3000.0), (end, 3000.0), sure(total)))


def test_a_closed_chain_is_over_dimensioned() -> None:
    (told,) = part(figures=chain('3 7/8"')).excess
    assert "2 1/2 + 1 3/8 = 3 7/8" in told


def test_a_chain_that_does_not_add_up_is_not_said_to() -> None:
    assert part(figures=chain('3 3/8"')).excess == ()


def test_a_total_in_brackets_closes_nothing() -> None:
    assert part(figures=chain('(3 7/8")')).excess == ()


def test_without_a_scale_nothing_is_scaled() -> None:
    strokes, texts = draw([drawn(WIDTHS_IN[0], 0)])
    strokes = replace(strokes, arcs=(replace(hole(0.9, 900.0), view="A"),), views=(View("A", "view", BOX),))
    assert reconcile(level_sheet(), strokes, texts, parse).lacking == ()
