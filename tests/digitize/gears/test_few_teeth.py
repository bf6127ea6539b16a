"""A few drawn teeth as evidence of how many there are."""

import math
from dataclasses import replace

import numpy as np
import pytest

from digitize.dimensions.linking.gear_circles import gear_circles
from digitize.dimensions.table import Reconciled, State, ViewScale
from digitize.gears.identifying.evidence import Evidence, Known, Quantity
from digitize.gears.identifying.few_teeth import few_teeth
from digitize.gears.identifying.from_sheet import gear_of_sheet
from digitize.gears.identifying.identify import identify
from digitize.lettering.text import Unit
from digitize.strokes.primitives import Arc, Dash, Line, Point, Role, Strokes, ToothRing

CENTRE, RADIUS_PX, WIDTH_PX = (800.0, 800.0), 500.0, 4.0


def polar(radius: float, angle: float) -> Point:
    return CENTRE[0] + radius * math.cos(angle), CENTRE[1] - radius * math.sin(angle)


def face(teeth: int, drawn: int, seed: int = 0, pen_px: float = 0.0, cut: bool = False) -> Strokes:
    """Circles of a gear, and some of its teeth at the top as straight-sided ones; ``cut`` at the pitch circle."""
    rng, pitch = np.random.default_rng(seed), 2 * math.pi / teeth
    addendum = 2 * RADIUS_PX / teeth
    tip, root, lines = RADIUS_PX + addendum, RADIUS_PX - 1.157 * addendum, []
    for n in range(drawn):
        for side in (-1, 1):
            middle = math.pi / 2 + n * pitch + side * pitch / 4 + rng.normal(0, pen_px) / RADIUS_PX
            ends = [polar(root, middle + side * 0.1 * pitch), polar(tip, middle - side * 0.1 * pitch)]
            halves = [(ends[0], polar(RADIUS_PX * 0.999, middle)), (polar(RADIUS_PX * 1.001, middle), ends[1])]
            lines += halves if cut else [tuple(ends)]
    start = 90 + math.degrees((drawn - 0.5) * pitch)
    sweep = 360 - math.degrees(drawn * pitch)
    return Strokes(
        lines=tuple(Line(p, q, WIDTH_PX, role=Role.VISIBLE, view="A") for p, q in lines),
        arcs=(
            Arc(CENTRE, tip, start, sweep, WIDTH_PX, role=Role.VISIBLE, view="A"),
            Arc(CENTRE, RADIUS_PX, 0, 360, 2.0, dash=Dash.CHAIN, role=Role.CENTRE, view="A"),
            Arc(CENTRE, 100, 0, 360, WIDTH_PX, role=Role.VISIBLE, view="A"),
        ),
    )


@pytest.mark.parametrize("teeth", [14, 24, 42, 90])
@pytest.mark.parametrize("cut", [False, True])
def test_the_angle_is_that_of_the_teeth(teeth, cut):
    found = few_teeth(face(teeth, 4, cut=cut))
    assert found.drawn == 4
    assert found.angle_deg == pytest.approx(360 / teeth, abs=1e-3)


def test_the_stated_error_is_the_true_one():
    """Of 200 gears drawn by a pen that slips by a pixel, two thirds lie within one standard error, nearly all in 3."""
    off = []
    for seed in range(200):
        found = few_teeth(face(36, 5, seed, pen_px=1.0))
        off.append(abs(found.angle_deg - 10) / found.std_deg)
    assert np.mean(np.array(off) < 1) > 0.6
    assert np.mean(np.array(off) < 3) > 0.97


def flange(holes: int, hole_px: float, rim_px: float) -> Strokes:
    """Holes on a bolt circle, each traced as four quarters, and the rim."""
    quarters = (
        Arc(polar(RADIUS_PX, n * 2 * math.pi / holes), hole_px, 90 * k, 90, WIDTH_PX, role=Role.VISIBLE, view="A")
        for n in range(holes)
        for k in range(4)
    )
    rim = Arc(CENTRE, rim_px, 0, 360, WIDTH_PX, role=Role.VISIBLE, view="A")
    return Strokes(arcs=(*quarters, *face(36, 0).arcs[1:], rim))


@pytest.mark.parametrize(
    "strokes",
    [
        Strokes(),
        flange(20, 39.0, 600.0),
        flange(16, 20.0, 800.0),
        face(36, 0),
        face(36, 2),
        # Six ribs far apart.
        Strokes(
            tuple(Line(polar(450, a), polar(550, a), 4, role=Role.VISIBLE, view="A") for a in np.arange(6) * 1.047),
            face(36, 0).arcs,
        ),
        # Marks of a dial: evenly spaced, but no tooth and space in turn.
        Strokes(
            tuple(
                Line(polar(450, a + b), polar(550, a + b), 4, role=Role.VISIBLE, view="A")
                for a in np.arange(5) * 0.2
                for b in (0, 0.04)
            ),
            face(36, 0).arcs,
        ),
    ],
)  # fmt: skip
def test_what_is_no_run_of_teeth_gives_none(strokes):
    assert few_teeth(strokes) is None


def test_the_outside_circle_goes_on_from_the_teeth():
    strokes = face(36, 5)
    tip = RADIUS_PX * (1 + 2 / 36)
    assert gear_circles(strokes)["outside_diameter"].radius_px == pytest.approx(tip)
    # A ring whose flanks were cut at the pitch circle says less of the tips than the circle does.
    ring = ToothRing(CENTRE, 36, RADIUS_PX, 450.0, "A")
    with_ring = Strokes(strokes.lines, strokes.arcs, tooth_rings=(ring,))
    assert gear_circles(with_ring)["outside_diameter"].radius_px == pytest.approx(tip)


def size(value_mm: float) -> Quantity:
    return Quantity(value_mm, place=0.01)


BLOCK = Evidence(
    pitch_diameter=size(72), module=Quantity(3, place=1), pressure_angle=Quantity(20, place=1), whole_depth=size(6.75),
    unit="mm",
)  # fmt: skip


def angle(teeth: float, std_teeth: float) -> Quantity:
    return Quantity(360 / teeth, Known.SCALED, std=360 / teeth**2 * std_teeth)


def test_the_angle_is_a_witness_of_the_number_where_it_tells_it():
    assert identify(BLOCK).state is State.UNPROVEN
    told = identify(replace(BLOCK, tooth_angle=angle(24.02, 0.05)))
    assert (told.teeth, told.state) == (24, State.AGREED)
    vague = identify(replace(BLOCK, tooth_angle=angle(24.1, 0.4)))
    assert (vague.teeth, vague.state) == (24, State.UNPROVEN)
    # It speaks up against a number that is written wrongly.
    wrong = replace(BLOCK, teeth=36, pitch_diameter=size(108), tooth_angle=angle(24.02, 0.05))
    assert identify(wrong).state is State.DISPUTED
    assert "spaced as those of a wheel of 24.0" in identify(wrong).evidence[0]
    alone = Evidence(teeth=36, outside_diameter=size(114), tooth_angle=angle(24.02, 0.05))
    assert identify(alone).state is State.DISPUTED


def test_drawn_teeth_and_a_scale_name_the_pitch_without_any_block():
    scale = ViewScale("A", 0.072, 0.072, 1e-5, 1e-5, 5, 0.05, known="five dimensions agree")
    found = gear_of_sheet(Reconciled((), (scale,), Unit.MM, {}), face(24, 5), ())
    assert (found.teeth, found.state) == (24, State.UNPROVEN)
    assert found.candidates[0].module_mm == 3.0
    assert gear_of_sheet(Reconciled((), (scale,), Unit.MM, {}), face(24, 2), ()) is None
