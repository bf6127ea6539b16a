"""Circles that were traced in arcs: what is missing of them is put back where it can be nothing else."""

import math
from fractions import Fraction
from pathlib import Path

import pytest

from digitize.lettering.text import Kind
from digitize.redraw.report import OutlineKind
from digitize.strokes.primitives import Role
from tests.digitize.redraw.hand_drawn import Print
from tests.digitize.redraw.test_loose_ends import outer_areas
from tests.digitize.redraw.test_part import written

CENTRE, RADIUS = (100.0, 100.0), 30.0
DISC = math.pi * RADIUS**2


def disc(*arcs: tuple[float, float]) -> Print:
    """A disc of which arcs were traced, each by the degree at which it begins and those that it goes on for."""
    print_ = Print()
    for start_deg, sweep_deg in arcs:
        print_.arc(CENTRE, RADIUS, start_deg, sweep_deg)
    return print_


@pytest.mark.parametrize("arcs", [((93.0, 357.5),), ((94.0, 84.0), (180.0, 273.7))])
def test_a_circle_that_misses_little_is_whole(arcs: tuple[tuple[float, float], ...], tmp_path: Path) -> None:
    """A gap of 2.5 degrees is 1.3 mm."""
    assert outer_areas(disc(*arcs), tmp_path) == pytest.approx([DISC], rel=1e-6)


@pytest.mark.parametrize("arcs", [((93.0, 354.0),), ((0.0, 176.0), (178.0, 178.0))])
def test_a_circle_that_misses_what_is_traced_by_itself_stays_open(
    arcs: tuple[tuple[float, float], ...], tmp_path: Path
) -> None:
    """Six degrees in one gap or in two are 3.1 and 2.1 mm."""
    assert outer_areas(disc(*arcs), tmp_path) == []


def test_a_circle_with_edges_at_its_gap_stays_open(tmp_path: Path) -> None:
    """A slot of 1.6 mm in the rim, of which one wall was traced."""
    print_ = disc((1.5, 357.0))
    along, up = RADIUS * math.cos(math.radians(1.5)), RADIUS * math.sin(math.radians(1.5))
    print_.line((CENTRE[0] + along, CENTRE[1] + up), (CENTRE[0] + along - 6.0, CENTRE[1] + up))
    assert outer_areas(print_, tmp_path) == []


def test_a_figure_tied_to_the_shorter_arc_gives_the_circle_its_size(tmp_path: Path) -> None:
    print_ = disc((180.0, 273.7))
    short = print_.arc(CENTRE, RADIUS, 94.0, 84.0)
    print_.row("Ø60.5", Fraction("60.5"), Kind.DIAMETER, (40.0, 150.0), (70.0, 100.0), (130.0, 100.0), arcs=(short,))
    drawing, report = written(print_, tmp_path)
    (circle,) = drawing.modelspace().query("CIRCLE")
    assert circle.dxf.radius == pytest.approx(30.25, rel=1e-9)
    assert report.contradicting == ()
    assert [each.determined for each in report.outlines] == [True]


def test_a_centre_line_through_the_gap_is_no_edge(tmp_path: Path) -> None:
    print_ = disc((93.0, 357.5))
    print_.line((100.0, 60.0), (100.0, 140.0), Role.CENTRE)
    assert outer_areas(print_, tmp_path) == pytest.approx([DISC], rel=1e-6)


@pytest.mark.parametrize("longer_first", [True, False])
def test_a_rounding_that_was_traced_in_two_arcs_is_one(longer_first: bool, tmp_path: Path) -> None:
    """The shorter of the two was fitted .3 too wide; it lies on the longer one's circle to within .03 mm."""
    print_ = Print()
    print_.path((105, 120), (40, 120), (40, 60), (120, 60), (120, 105))
    cut_deg = 65.0 if longer_first else 25.0
    away = 0.3 * math.cos(math.radians(cut_deg)), 0.3 * math.sin(math.radians(cut_deg))
    parts = [((105.0, 105.0), 15.0), ((105.0 - away[0], 105.0 - away[1]), 15.3)]
    (first, radius), (last, last_radius) = parts if longer_first else parts[::-1]
    arcs = print_.arc(first, radius, 0.0, cut_deg), print_.arc(last, last_radius, cut_deg, 90.0 - cut_deg)
    long = arcs[0] if longer_first else arcs[1]
    print_.row("R15", Fraction(15), Kind.RADIUS, (130.0, 130.0), (105, 105), (115.6, 115.6), arcs=(long,))
    print_.row("80", Fraction(80), Kind.LINEAR, (80, 40), (40, 40), (120, 40))
    print_.row("60", Fraction(60), Kind.LINEAR, (20, 90), (20, 60), (20, 120))
    drawing, report = written(print_, tmp_path)
    (outer,) = report.outlines
    assert outer.area_mm2 == pytest.approx(80 * 60 - (1 - math.pi / 4) * 15**2, rel=1e-9)
    assert outer.determined
    assert len(drawing.modelspace().query("ARC")) == 0


def test_a_slot_s_round_end_that_was_traced_in_two_arcs_closes(tmp_path: Path) -> None:
    """By hand the two turn by a few degrees more than half a turn together."""
    print_ = Print()
    print_.path((40.0, 60.0), (160.0, 60.0), (160.0, 140.0), (40.0, 140.0), closed=True)
    for y in (90.0, 110.0):
        print_.line((80.0, y), (120.0, y))
    print_.arc((120.0, 100.0), 10.0, 270.0, 180.0)
    print_.arc((80.0, 100.0), 10.0, 87.5, 92.5)
    print_.arc((80.0, 100.1), 10.1, 180.0, 92.5)
    _drawing, report = written(print_, tmp_path)
    slot = [each.area_mm2 for each in report.outlines if each.kind is OutlineKind.INNER]
    assert slot == pytest.approx([40 * 20 + math.pi * 10**2], rel=0.01)


@pytest.mark.parametrize("strays", [0.15, 1.2])
def test_the_rim_beside_a_keyseat_is_one_arc_however_the_pen_strayed(strays: float, tmp_path: Path) -> None:
    """Three arcs follow one another from one wall to the other; the middle one, an eighth of a turn, bulges by .15 mm.
    Were it an arc of its own that touches both others, these would leave it no room. By 1.2 it is another edge."""
    print_ = Print()
    (x, y), half, floor = CENTRE, 5.0, 24.0
    open_deg = math.degrees(math.asin(half / RADIUS))
    side = math.sqrt(RADIUS**2 - half**2)
    print_.path((x - half, y + side), (x - half, y + floor), (x + half, y + floor), (x + half, y + side))
    print_.arc(CENTRE, RADIUS, 90.0 + open_deg, 150.0 - open_deg)
    print_.arc(CENTRE, RADIUS, 285.0, 165.0 - open_deg)
    chord, rise = 2 * RADIUS * math.sin(math.radians(22.5)), RADIUS * (1 - math.cos(math.radians(22.5))) + strays
    bulging = (chord**2 / 4 + rise**2) / (2 * rise)
    away = RADIUS * math.cos(math.radians(22.5)) + rise - bulging
    middle_deg = 262.5
    centre = x + away * math.cos(math.radians(middle_deg)), y + away * math.sin(math.radians(middle_deg))
    turn_deg = 2 * math.degrees(math.asin(chord / 2 / bulging))
    print_.arc(centre, bulging, middle_deg - turn_deg / 2, turn_deg)
    drawing, _report = written(print_, tmp_path)
    (outline,) = [each for each in drawing.modelspace().query("LWPOLYLINE") if each.closed]
    round_corners = sum(bulge != 0 for *_, bulge in outline.get_points("xyb"))
    assert round_corners == (2 if strays < 1 else 3)  # an arc of more than half a turn is written in two
