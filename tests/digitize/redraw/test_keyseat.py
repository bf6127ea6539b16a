"""A keyseat that the key tables bear out and that no leader ties to the bore's outline.

DIN 6885-1 (from memory): a bore of 30 has a key 8 wide, 3.3 deep in the hub, on the middle line. ANSI B17.1: a bore of
1 in has one 1/4 wide, 1/8 deep at the side.
"""

import math
from fractions import Fraction
from pathlib import Path

import pytest
from ezdxf.entities.lwpolyline import LWPolyline

from digitize.lettering.text import Kind, Unit
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_part import written


def hub(unit: Unit, sizes: tuple[str, str, str], drawn: tuple[float, float, float], turned: bool = False) -> Print:
    """A disc of 76.2 with a bore and a keyseat, drawn in mm by width and by height over the bore; all sizes agreed."""
    print_, (x, y) = Print(unit=unit), (120.0, 110.0)
    bore, half, floor = drawn[0] / 2, drawn[1] / 2, drawn[0] / 2 + drawn[2]
    side, open_deg, turn_deg = math.sqrt(bore**2 - half**2), math.degrees(math.asin(half / bore)), 90.0 * turned
    rim = print_.arc((x, y), 38.1)
    arc = print_.arc((x, y), bore, 90 + turn_deg + open_deg, 360 - 2 * open_deg)
    corners = [(-half, side), (-half, floor), (half, floor), (half, side)]
    print_.path(*((x - b, y + a) if turned else (x + a, y + b) for a, b in corners))
    ends = (x - bore, y), (x + bore, y)
    print_.row(sizes[0], Fraction(sizes[0]), Kind.DIAMETER, (200.0, 110.0), *ends, arcs=(arc,))
    size = Fraction(3) if unit is Unit.INCH else Fraction("76.2")
    print_.row(str(float(size)), size, Kind.DIAMETER, (40.0, 110.0), (x - 38.1, y), (x + 38.1, y), arcs=(rim,))
    for size, name in zip(sizes[1:], ("key_width", "key_depth"), strict=True):
        print_.row(f"{sizes[1]} × {sizes[2]} KEYSEAT", Fraction(size), Kind.LINEAR, (200.0, 170.0), name=name)
    return print_


@pytest.mark.parametrize("turned", [False, True])
def test_a_metric_keyseat_is_drawn_as_tabled(turned: bool, tmp_path: Path) -> None:
    """Drawn 7.8 wide and 3.5 deep; a gauge over the middle has 30 + 3.3."""
    drawing, report = written(hub(Unit.MM, ("30", "8", "3.3"), (30.0, 7.8, 3.5), turned), tmp_path)
    (seat,) = (each for each in drawing.modelspace() if isinstance(each, LWPolyline))
    (centre,) = {(each.dxf.center.x, each.dxf.center.y) for each in drawing.modelspace().query("CIRCLE")}
    corners = [(x - centre[0], y - centre[1]) for x, y in seat.get_points("xy")]
    upright = [(y, -x) for x, y in corners] if turned else corners
    floor = max(y for _, y in upright)
    walls = [x for x, y in upright if y > floor - 1e-6]
    assert floor == pytest.approx(15.0 + 3.3, rel=1e-9)
    assert max(walls) - min(walls) == pytest.approx(8.0, rel=1e-9)
    assert {"C4.3", "C4.4"} <= set(report.used)
    shown = [each for each in drawing.modelspace().query("DIMENSION") if "KEYSEAT" in each.dxf.text]
    assert [each.dxf.layer for each in shown] == ["DIMENSION"]


def test_an_inch_keyseat_keeps_the_depth_that_it_is_drawn_with(tmp_path: Path) -> None:
    """Its table has the depth at the side; which of the two the print shows is open."""
    _, report = written(hub(Unit.INCH, ("1", "1/4", "1/8"), (25.4, 6.2, 3.0)), tmp_path)
    assert "C4.3" in report.used
    assert "C4.4" not in report.used
    assert report.freedom != (("V1", 0),)


def test_a_keyseat_that_no_table_has_stays_as_drawn(tmp_path: Path) -> None:
    _, report = written(hub(Unit.MM, ("30", "9", "3.3"), (30.0, 8.9, 3.4)), tmp_path)
    assert dict(report.left_out)["C4.3"] == "it is not tied to anything drawn"
