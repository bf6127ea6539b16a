"""Bores and keyseats against the published depths, and as polygons."""

from fractions import Fraction
from math import pi

import pytest
import shapely

from calibrate.errors import InputError
from digitize.gears.bore import (
    HUB_CLEARANCE_IN,
    Keyseat,
    chordal_height_mm,
    depth_at_centre_mm,
    keyseat_by_centre,
    keyseat_by_over,
    keyseat_of_standard,
    over_keyseat_mm,
    standard_keyseat,
)
from digitize.gears.teeth.arcs import bore_in_arcs, flattened
from digitize.standards import INCH_MM, inch_key_depths


@pytest.mark.parametrize("row", inch_key_depths(), ids=lambda row: f"shaft {float(row.shaft_in):g}")
def test_over_the_keyseat_against_published_t(row):
    # MHPC-B17 (seen): T for square keys, to three places; the table itself is off by 0.001 in places.
    bore = float(row.shaft_in * INCH_MM)
    seat = standard_keyseat(row.shaft_in * INCH_MM, "ANSI B17.1")
    over_in = over_keyseat_mm(bore, seat) / 25.4 + float(HUB_CLEARANCE_IN)
    assert over_in == pytest.approx(float(row.t_square_in), abs=0.0011)


def test_din_hub_depth_is_on_the_centre_line():
    # DIN 6885-1 (seen): 25 mm bore, 8 wide, t2 = 3.3, so 28.3 over the keyseat.
    seat = standard_keyseat(Fraction(25), "DIN 6885-1")
    assert over_keyseat_mm(25.0, seat) == pytest.approx(28.3, abs=1e-12)
    assert standard_keyseat(Fraction(900), "DIN 6885-1") is None


def test_three_ways_of_giving_one_depth():
    seat = Keyseat(8.0, 4.0)
    centre = depth_at_centre_mm(25.0, seat)
    assert centre == pytest.approx(4.0 - chordal_height_mm(25.0, 8.0))
    assert keyseat_by_centre(25.0, 8.0, centre) == seat
    assert keyseat_by_over(25.0, 8.0, over_keyseat_mm(25.0, seat)).depth_at_side_mm == pytest.approx(4.0)


@pytest.mark.parametrize("seat", [None, Keyseat(6.35, 3.175), Keyseat(20.0, 9.0)])
def test_outline_is_valid_with_the_analytic_area(seat):
    curve = bore_in_arcs(25.4, seat)
    polygon = shapely.Polygon(flattened(curve, 1e-5))
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    assert polygon.area == pytest.approx(curve.area_mm2, abs=1e-5 * polygon.length)
    plain = pi * 12.7**2
    assert curve.area_mm2 > plain if seat else curve.area_mm2 == plain


def test_keyseat_stands_on_the_y_axis():
    x, y = bore_in_arcs(25.4, Keyseat(6.0, 3.0)).points.T
    assert max(y) == pytest.approx(over_keyseat_mm(25.4, Keyseat(6.0, 3.0)) - 12.7)
    assert sorted(x[y == max(y)]) == pytest.approx([-3.0, 3.0])


@pytest.mark.parametrize(
    ("bore", "seat"),
    [(0.0, None), (-1.0, None), (10.0, Keyseat(10.0, 2.0)), (10.0, Keyseat(8.0, 0.5)), (10.0, Keyseat(0.0, 1.0))],
)
def test_impossible_bores_are_refused(bore, seat):
    with pytest.raises(InputError):
        bore_in_arcs(bore, seat)


@pytest.mark.parametrize(
    ("bore", "width", "depth", "over"),
    [
        # ANSI B17.1 (SHOPREF-B17, seen): 1 in bore, 1/4 square key, half of it in the hub, at the side.
        (25.4, 6.35, 3.175, 25.4 + 3.175 - 0.4032),
        # DIN 6885-1 (seen): 35 mm bore, 10 wide, t2 = 3.3 on the centre line.
        (35.0, 10.0, 3.3, 38.3),
    ],
)
def test_a_standard_says_how_its_depth_is_measured(bore, width, depth, over):
    seat = keyseat_of_standard(bore, width, depth)
    assert over_keyseat_mm(bore, seat) == pytest.approx(over, abs=1e-3)
    assert keyseat_of_standard(bore, width, depth + 0.1) is None
    assert keyseat_of_standard(bore, width + 0.1, depth) is None
    assert keyseat_of_standard(900.0, width, depth) is None
