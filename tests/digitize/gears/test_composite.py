"""Composite teeth: their definition, their smallest pinion, a rolled rack, and a pair in mesh."""

from fractions import Fraction
from itertools import pairwise
from math import ceil, cos, pi, radians, sin, tan

import numpy as np
import pytest
import shapely
from polygons import outline
from shapely import affinity

from calibrate.errors import InputError
from digitize.gears.cuts import cuts_at
from digitize.gears.pitch import make_pitch
from digitize.gears.systems import system
from digitize.gears.teeth.arcs import ARC_ERROR_MM, teeth_in_arcs
from digitize.gears.teeth.composite import rack_side
from digitize.gears.teeth.inspection import inspection_sizes, span
from digitize.gears.teeth.mesh import mesh
from digitize.gears.teeth.tooth import GearSpec, is_undercut, space_side


def composite(teeth: int, pitch: int = 8, **more) -> GearSpec:
    spec = GearSpec.from_cut(cuts_at(system("asa_145_composite"), make_pitch("DP", Fraction(pitch)))[0], teeth)
    return GearSpec(**{**vars(spec), **more})


@pytest.mark.parametrize("teeth", [12, 17, 42, 120])
def test_outline_is_valid_closed_and_within_a_micron(teeth):
    gear = composite(teeth)
    curve, side = outline(gear), space_side(gear)
    polygon = shapely.Polygon(curve.points)
    assert polygon.is_valid
    assert polygon.area == pytest.approx(curve.area_mm2, abs=curve.chord_error_mm * polygon.length)
    radii = np.hypot(*curve.points.T)
    assert radii.max() == pytest.approx(gear.tip_radius_mm, abs=1e-9)
    assert radii.min() == pytest.approx(gear.root_radius_mm, abs=1e-9)
    ring, turn = shapely.LinearRing(outline(gear, 2e-4).points), np.exp(1j * pi / teeth)
    for piece in (side.below, side.above):
        true = np.array([piece.curve(t) * turn for t in np.linspace(piece.start, piece.stop, 300)])
        assert shapely.distance(ring, shapely.points(true.real, true.imag)).max() < 2e-4
    assert len(teeth_in_arcs(gear, ARC_ERROR_MM).points) < 30 * teeth


def test_pieces_meet_and_run_on_smoothly():
    side = space_side(composite(30))
    pieces = [
        (side.root_curve, 0.0, side.root_end),
        (side.below.curve, side.below.start, side.below.stop),
        (side.flank, side.flank_start, side.flank_end),
        (side.above.curve, side.above.start, side.above.stop),
    ]
    for (before, _, stop), (after, start, _) in pairwise(pieces):
        assert abs(before(stop) - after(start)) < 1e-9
        leaving, arriving = before(stop) - before(stop - 1e-6), after(start + 1e-6) - after(start)
        assert abs(np.angle(arriving / leaving)) < 1e-3


def test_twelve_teeth_have_radial_flanks():
    """A rolling circle of half the pitch circle draws a straight line through the centre: the cardan circles."""
    below = space_side(composite(12)).below
    angles = [np.angle(below.curve(t)) for t in np.linspace(below.start, below.stop, 20)]
    assert np.ptp(angles) < 1e-12
    with pytest.raises(InputError, match="go down to 12 teeth"):
        space_side(composite(11))


def test_the_middle_third_is_involute():
    """ASA B6.1-1932, from memory: the middle third of the working depth, 2/P; it is so within an eighth."""
    gear = composite(40)
    straight = 2 * rack_side(gear, gear.pressure_angle_rad, 1)[1]
    assert straight / (2 * gear.module_mm) == pytest.approx(1 / 3, rel=0.13)
    side = space_side(gear)
    assert side.form_radius_mm < gear.pitch_radius_mm < side.involute_stop_mm < gear.tip_radius_mm


def test_tips_are_eased_against_a_full_involute():
    full = GearSpec(40, 3.175, 14.5, 1.0, 1.157, 0.209)
    plain, eased = space_side(full), space_side(composite(40))
    assert 0.005 * 3.175 < (plain.tip_half_angle_rad - eased.tip_half_angle_rad) * full.tip_radius_mm < 0.1 * 3.175
    assert not is_undercut(composite(12))
    assert is_undercut(GearSpec(12, 3.175, 14.5, 1.0, 1.157, 0.209))


def rack(gear: GearSpec) -> shapely.Polygon:
    """The cutter's tooth, its cycloids drawn by a point of a rolling circle, its tip rounded by the fillet circle."""
    m, angle, rolling = gear.module_mm, radians(14.5), 3.0 * gear.module_mm
    start = 2 * angle
    roll = np.linspace(start, 1.15, 400)
    run = rolling * ((roll - np.sin(roll)) - (start - sin(start)))
    rise = rolling * (1 - np.cos(roll))
    edge = rolling * (1 - cos(start))
    upper = np.column_stack([pi * m / 4 + edge * tan(angle) + run, rise])
    lower = np.column_stack([pi * m / 4 - edge * tan(angle) - run, -rise])[::-1]
    right = np.vstack([lower, upper])
    body = shapely.Polygon(np.vstack([right, right[::-1] * [-1, 1]])).buffer(0)
    floor = shapely.box(-5 * m, -1.157 * m, 5 * m, 5 * m)
    radius = 0.209 * m
    # Rounding from within: what is left when a circle of the fillet's radius is rolled along the inside.
    return (
        body.intersection(floor)
        .buffer(-radius, quad_segs=200)
        .buffer(radius, quad_segs=200)
        .union(body.intersection(shapely.box(-5 * m, -0.9 * m, 5 * m, 5 * m)))
    )


@pytest.mark.parametrize("teeth", [12, 20, 45])
def test_outline_is_what_a_rolling_rack_leaves(teeth):
    gear = composite(teeth)
    r, cutter = gear.pitch_radius_mm, rack(gear)
    places = []
    for phi in np.linspace(-14 * gear.module_mm / r, 14 * gear.module_mm / r, 1500):
        moved = affinity.translate(cutter, -r * phi, r)
        places.append(affinity.rotate(moved, -phi, origin=(0, 0), use_radians=True))
    half = pi / teeth
    far = 2 * gear.tip_radius_mm
    wedge = shapely.Polygon([(0, 0), (far * sin(half), far * cos(half)), (-far * sin(half), far * cos(half))])
    sector = shapely.Point(0, 0).buffer(gear.tip_radius_mm, quad_segs=4000).intersection(wedge)
    cut = sector.difference(shapely.unary_union(places))
    body = affinity.rotate(shapely.Polygon(outline(gear).points), half, origin=(0, 0), use_radians=True)
    off = cut.symmetric_difference(sector.intersection(body))
    assert off.buffer(-0.0015).is_empty
    assert off.area < 4e-3 * gear.module_mm**2


@pytest.mark.parametrize(("first", "second"), [(12, 60), (20, 33)])
def test_a_pair_runs_together_at_its_own_centres(first, second):
    one, other = composite(first), composite(second)
    centres = one.pitch_radius_mm + other.pitch_radius_mm
    a0, b0 = (shapely.Polygon(outline(gear, 1e-4).points) for gear in (one, other))
    for turn in np.linspace(0, 2 * pi / first, 5):
        a = affinity.rotate(a0, turn, origin=(0, 0), use_radians=True)
        back = pi + pi / second - turn * first / second
        b = affinity.translate(affinity.rotate(b0, back, origin=(0, 0), use_radians=True), 0, centres)
        assert a.intersection(b).area < 1e-3 * one.module_mm**2
        pushed = affinity.rotate(b, 0.01 * one.module_mm / other.pitch_radius_mm, origin=(0, centres), use_radians=True)
        assert a.intersection(pushed).area > 1e-3 * one.module_mm**2


def test_jaws_must_touch_the_involute():
    gear = composite(42)
    assert any(size.usable for size in inspection_sizes(gear) if size.name.startswith("over"))
    # Over 6 teeth the jaws would touch where the tooth is no involute any more.
    assert "cycloidal end" in span(gear, 6).note
    assert span(GearSpec(42, 3.175, 14.5, 1.0, 1.157, 0.209), 5).usable


def test_what_composite_teeth_can_not():
    with pytest.raises(InputError, match="not shifted"):
        space_side(composite(20, profile_shift=0.2))
    with pytest.raises(InputError, match="own centres"):
        mesh(composite(20), composite(30), 80.0)
    with pytest.raises(InputError):
        space_side(composite(20, tip_chamfer_mm=3.0))


def test_a_chamfer_keeps_the_area_in_step():
    plain, broken = teeth_in_arcs(composite(30)), teeth_in_arcs(composite(30, tip_chamfer_mm=0.2))
    assert plain.area_mm2 - broken.area_mm2 == pytest.approx(60 * 0.02, rel=0.1)
    assert ceil(len(broken.points) / 30) >= ceil(len(plain.points) / 30)
