"""Bevels of what is turned are alike on both sides of its axis; areas by hand."""

import math
from fractions import Fraction
from pathlib import Path

import pytest

from digitize.lettering.text import Kind
from digitize.strokes.primitives import Dash, Role
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written

AXIS, LEG = 80.0, 1.5
Point = tuple[float, float]


def pin(*lower: tuple[Point, ...], kind: Kind = Kind.DIAMETER) -> Print:
    """A pin 100 by 60, its right end bevelled by 1.5 above the axis; ``lower`` is what was traced below."""
    print_ = Print()
    print_.path((50, AXIS), (50, 110), (150 - LEG, 110), (150, 110 - LEG), (150, AXIS))
    for path in lower:
        print_.path(*path)
    print_.line((42, AXIS), (158, AXIS), Role.CENTRE, Dash.CHAIN)
    print_.row("100", Fraction(100), Kind.LINEAR, (100, 30), (50, 30), (150, 30))
    print_.row("60", Fraction(60), kind, (40, AXIS + 5), (40, 50), (40, 110))
    return print_


SHARP = ((50.0, AXIS), (50.0, 50.0), (150.0, 50.0), (150.0, AXIS))
SHORT = ((50.0, AXIS), (50.0, 50.0), (149.3, 50.0)), ((150.0, 50.7), (150.0, AXIS))


@pytest.mark.parametrize("lower", [(SHARP,), SHORT], ids=["filled", "open"])
def test_the_bevel_of_one_side_cuts_the_others_corner(lower: tuple[tuple[Point, ...], ...], tmp_path: Path) -> None:
    _, report = written(pin(*lower), tmp_path)
    (outer,) = report.outlines
    assert outer.area_mm2 == pytest.approx(6000 - LEG**2, rel=2e-5)
    assert not any("is open" in note for note in report.notes)


def test_a_corner_that_a_third_edge_comes_to_is_not_cut(tmp_path: Path) -> None:
    """A crumb at one end of a bore's edge is no bevel of the other, where the end face goes on."""
    below = ((50.0, AXIS), (50.0, 50.0), (150.0, 50.0)), ((150.0, 50.0), (150.0, 40.0), (160.0, 40.0), (160.0, AXIS))
    print_ = pin(*below, ((150.0, 50.0), (150.0, AXIS)))
    drawing, _ = written(print_, tmp_path)
    outlines = drawing.modelspace().query("LWPOLYLINE")
    corners = [(x, y) for each in outlines for x, y, *_ in each.get_points()]
    assert any(math.dist(corner, (150.0, 50.0)) < 0.2 for corner in corners)


def test_what_no_figure_calls_round_keeps_its_corner(tmp_path: Path) -> None:
    _, report = written(pin(SHARP, kind=Kind.LINEAR), tmp_path)
    assert report.outlines[0].area_mm2 == pytest.approx(6000 - LEG**2 / 2, rel=2e-5)


@pytest.mark.parametrize("off", [0.0, 0.35])
def test_corners_that_the_pen_blunts_mirror_each_other(off: float, tmp_path: Path) -> None:
    """One bevel was traced a third of a millimetre longer down the end than the other."""
    lower = ((50.0, AXIS), (50.0, 50.0), (150 - LEG, 50.0), (150.0, 50 + LEG + off), (150.0, AXIS))
    drawing, _ = written(pin(lower), tmp_path)
    (outline,) = drawing.modelspace().query("LWPOLYLINE[layer=='SCALED_FROM_PRINT']")
    heights = sorted(y for x, y, *_ in outline.get_points() if x > 149.9)
    assert len(heights) == 2
    assert sum(heights) / 2 == pytest.approx(min(y for _, y, *_ in outline.get_points()) + 30, abs=1e-9)


HEEL, TOE, NECK = (147.4, 50.0), (150.0, 52.3), (149.3, 50.8)
TANGLES: dict[str, tuple[list[tuple[Point, Point]], list[tuple[Point, Point, float]]]] = {
    "ink that ran": ([], [(HEEL, NECK, 1.8), (NECK, TOE, 1.2)]),
    "a slant and an arc": ([(HEEL, (149.2, 50.4))], [((149.2, 50.4), TOE, 1.4)]),
    "a leader's head on the bevel": (
        [((150 - LEG, 50.0), (150.0, 50 + LEG))],
        [((150.0, 51.4), (148.3, 49.9), 1.2)],
    ),
}


def bow(start: Point, end: Point, radius: float) -> tuple[Point, float, float, float]:
    """Centre, radius, start and sweep of the arc that runs counter-clockwise from one point to another."""
    chord = complex(*end) - complex(*start)
    half_deg = math.degrees(math.asin(abs(chord) / 2 / radius))
    centre = complex(*start) + chord / 2 + 1j * chord / abs(chord) * radius * math.cos(math.radians(half_deg))
    away = complex(*start) - centre
    return (centre.real, centre.imag), radius, math.degrees(math.atan2(away.imag, away.real)), 2 * half_deg


@pytest.mark.parametrize(("slants", "bows"), list(TANGLES.values()), ids=list(TANGLES))
@pytest.mark.parametrize("kind", [Kind.DIAMETER, Kind.LINEAR])
def test_small_strokes_where_a_bevel_has_its_image_are_that_bevel(
    slants: list[tuple[Point, Point]], bows: list[tuple[Point, Point, float]], kind: Kind, tmp_path: Path
) -> None:
    lower = ((50.0, AXIS), (50.0, 50.0), HEEL), (TOE, (150.0, AXIS))
    print_ = pin(*lower, *slants, kind=kind)
    for each in bows:
        print_.arc(*bow(*each))
    drawing, report = written(print_, tmp_path)
    (outer,) = report.outlines
    assert outer.area_mm2 == pytest.approx(6000 - LEG**2, rel=2e-5)
    assert report.open_ends == ()
    assert not any(bulge for each in drawing.modelspace().query("LWPOLYLINE") for *_, bulge in each.get_points())


def test_one_arc_where_a_bevel_has_its_image_is_a_rounding(tmp_path: Path) -> None:
    print_ = pin(((50.0, AXIS), (50.0, 50.0), (150 - LEG, 50.0)), ((150.0, 50 + LEG), (150.0, AXIS)), kind=Kind.LINEAR)
    print_.arc((150 - LEG, 50 + LEG), LEG, 270.0, 90.0)
    _, report = written(print_, tmp_path)
    assert report.outlines[0].area_mm2 == pytest.approx(6000 - LEG**2 / 2 - LEG**2 * (1 - math.pi / 4), rel=2e-5)
