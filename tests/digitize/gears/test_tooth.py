"""Tooth outlines: involute, root curve, undercut, thickness, area, against geometry and against a rolled rack."""

from math import acos, atan, ceil, cos, pi, radians, sin, tan

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from polygons import outline
from shapely import affinity

from calibrate.errors import InputError
from digitize.gears import systems
from digitize.gears.cuts import cuts_at
from digitize.gears.pitch import make_pitch
from digitize.gears.systems import undercut_limit
from digitize.gears.teeth.tooth import GearSpec, half_angle_rad, involute, is_undercut, rack_tip, space_side


def gear(system_id: str, value, teeth: int, **more) -> GearSpec:
    row = systems.system(system_id)
    kind = row.pitch_kind if row.pitch_kind != "PAIR" else "DP"
    return GearSpec.from_cut(cuts_at(row, make_pitch(kind, systems.Fraction(value)))[0], teeth, **more)


CASES = [
    pytest.param(gear("asa_145_full", 8, 12), id="12 teeth 14 1/2, deep undercut"),
    pytest.param(gear("asa_145_full", 8, 42), id="42 teeth 14 1/2"),
    pytest.param(gear("agma_20_coarse", 10, 16), id="16 teeth 20, slight undercut"),
    pytest.param(gear("asa_20_stub", 6, 16), id="stub"),
    pytest.param(gear("full_25", 5, 20), id="25 degrees"),
    pytest.param(gear("din867", 3, 30), id="module 3"),
    pytest.param(gear("din867", 2, 14, profile_shift=0.3), id="shifted"),
    pytest.param(gear("iso53_d", 2, 25, thinning_mm=0.1), id="backlash"),
    pytest.param(gear("asa_145_full", 16, 150), id="many teeth"),
    pytest.param(GearSpec(20, 4.0, 20.0, fillet_radius=0.0), id="sharp rack"),
]


@pytest.mark.parametrize("spec", CASES)
def test_outline_is_valid_and_has_the_analytic_area(spec):
    curve = outline(spec)
    polygon = shapely.Polygon(curve.points)
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    # Chords lose at most their sagitta along the whole outline.
    assert polygon.area == pytest.approx(curve.area_mm2, abs=curve.chord_error_mm * polygon.length)
    assert polygon.area < curve.area_mm2 * (1 + 1e-5)


@pytest.mark.parametrize("spec", CASES)
def test_a_second_library_sees_one_closed_shape_of_that_area(spec):
    points = outline(spec).points
    path = trimesh.load_path(np.vstack([points, points[:1]]))
    assert len(path.polygons_full) == 1
    assert path.area == pytest.approx(outline(spec).area_mm2, rel=3e-4)


@pytest.mark.parametrize("spec", CASES)
def test_area_converges_on_the_analytic_one(spec):
    coarse, fine = outline(spec, 0.004), outline(spec, 0.0001)
    off = [abs(shapely.Polygon(c.points).area - c.area_mm2) for c in (coarse, fine)]
    assert off[1] < off[0] / 10
    assert off[1] < 1e-5 * fine.area_mm2


@pytest.mark.parametrize("spec", CASES)
def test_no_point_of_the_true_curve_is_off_by_more_than_stated(spec):
    curve, side = outline(spec), space_side(spec)
    ring = shapely.LinearRing(curve.points)
    turn = np.exp(1j * pi / spec.teeth)
    true = [side.root_curve(t) * turn for t in np.linspace(0, side.root_end, 500)]
    true += [side.flank(t) * turn for t in np.linspace(side.flank_start, side.flank_end, 500)]
    away = shapely.distance(ring, shapely.points([p.real for p in true], [p.imag for p in true]))
    assert away.max() <= curve.chord_error_mm


@pytest.mark.parametrize("spec", CASES)
def test_tips_and_roots_lie_on_their_circles(spec):
    radii = np.hypot(*outline(spec).points.T)
    assert radii.max() == pytest.approx(spec.tip_radius_mm, abs=1e-9)
    assert radii.min() == pytest.approx(spec.root_radius_mm, abs=1e-9)


@pytest.mark.parametrize("spec", CASES)
def test_outline_repeats_with_every_tooth_and_is_symmetric(spec):
    points = outline(spec).points @ np.array([1, 1j])
    turned = points * np.exp(2j * pi / spec.teeth)
    per_tooth = len(points) // spec.teeth
    assert np.allclose(np.roll(points, -per_tooth), turned, atol=1e-9)
    mirrored = shapely.Polygon(np.column_stack([-points.real, points.imag]))
    assert mirrored.symmetric_difference(shapely.Polygon(outline(spec).points)).area < 1e-6 * mirrored.area


@pytest.mark.parametrize("spec", CASES)
def test_thickness_at_the_pitch_circle(spec):
    """The polygon's own crossings of the pitch circle, right and left of the tooth on the +y axis."""
    assert space_side(spec).form_radius_mm < spec.pitch_radius_mm
    place = outline(spec, 1e-4).points @ np.array([1, 1j])
    near = place[np.abs(np.angle(place / 1j)) < pi / spec.teeth]
    right = near[near.real > 0]
    right = right[np.argsort(np.abs(right))]
    angle = np.interp(spec.pitch_radius_mm, np.abs(right), -np.angle(right / 1j))
    assert 2 * angle * spec.pitch_radius_mm == pytest.approx(spec.thickness_mm, abs=1e-3)


@pytest.mark.parametrize("spec", CASES)
def test_flank_is_the_involute_of_the_base_circle(spec):
    """The normal at every flank point touches the base circle, as far away as the arc from where the string started."""
    side = space_side(spec)
    start = side.flank(0.0)
    for roll in np.linspace(max(side.flank_start, 0.02), side.flank_end, 40):
        point = side.flank(roll)
        tangent = side.flank(roll + 1e-6) - side.flank(roll - 1e-6)
        from_centre = abs((point.conjugate() * tangent).real) / abs(tangent)
        assert from_centre == pytest.approx(spec.base_radius_mm, rel=1e-6)
        string = np.sqrt(abs(point) ** 2 - spec.base_radius_mm**2)
        touch = -np.angle(point / start) + atan(string / spec.base_radius_mm)
        assert string == pytest.approx(spec.base_radius_mm * touch, rel=1e-9)


@pytest.mark.parametrize("spec", CASES)
def test_flank_and_root_curve_meet(spec):
    side = space_side(spec)
    assert abs(side.root_curve(side.root_end) - side.flank(side.flank_start)) < 1e-7 * spec.module_mm


@pytest.mark.parametrize("spec", [case for case in CASES if not is_undercut(case.values[0])])
def test_without_undercut_they_meet_smoothly(spec):
    side = space_side(spec)
    root = side.root_slope(side.root_end)
    flank = side.flank(side.flank_start + 1e-6) - side.flank(side.flank_start)
    turn = np.angle(flank / root) if spec.fillet_radius else 0.0
    assert abs(turn) < 1e-4


def rolled_space(spec: GearSpec, positions: int = 1200) -> shapely.Polygon:
    """What one tooth of the rack sweeps away as it rolls: the union of its places in the gear's frame."""
    tip, r, m = rack_tip(spec), spec.pitch_radius_mm, spec.module_mm
    angle = spec.pressure_angle_rad
    turn = np.linspace(0, pi / 2 - angle, 400)
    across = tip.across_mm + tip.radius_mm * np.sin(turn)
    height = tip.below_mm - tip.radius_mm * np.cos(turn)
    top = (spec.addendum + spec.profile_shift + 1.0) * m
    right = np.column_stack([across, height])
    right = np.vstack([right, [across[-1] + (top - height[-1]) * tan(angle), top]])
    cutter = shapely.Polygon(np.vstack([right, right[::-1] * [-1, 1]])).buffer(0)
    reach = 2.2 * (spec.addendum + spec.dedendum) * m / tan(angle) / r
    places = []
    for phi in np.linspace(-reach, reach, positions):
        moved = affinity.translate(cutter, -r * phi, r)
        places.append(affinity.rotate(moved, -phi, origin=(0, 0), use_radians=True))
    return shapely.unary_union(places)


@pytest.mark.parametrize(
    "spec",
    [
        gear("asa_145_full", 8, 12),
        gear("agma_20_coarse", 10, 16),
        gear("asa_20_stub", 6, 16),
        gear("din867", 3, 30),
        gear("din867", 2, 14, profile_shift=0.3),
        GearSpec(14, 4.0, 20.0, fillet_radius=0.1),
    ],
)
def test_outline_is_what_a_rolling_rack_leaves(spec):
    """Numerical generation: the swept space against the space between two teeth, within the scallops of the sweep."""
    body = affinity.rotate(shapely.Polygon(outline(spec).points), pi / spec.teeth, origin=(0, 0), use_radians=True)
    half = pi / spec.teeth
    far = 2 * spec.tip_radius_mm
    wedge = shapely.Polygon([(0, 0), (far * sin(half), far * cos(half)), (-far * sin(half), far * cos(half))])
    disc = shapely.Point(0, 0).buffer(spec.tip_radius_mm, quad_segs=4000)
    sector = disc.intersection(wedge)
    cut = sector.difference(rolled_space(spec))
    drawn = sector.intersection(body)
    assert cut.symmetric_difference(drawn).buffer(-0.001).is_empty
    assert cut.symmetric_difference(drawn).area < 2e-3 * spec.module_mm**2


@pytest.mark.parametrize(
    "row", [row for row in systems.systems() if row.min_teeth_no_undercut and row.form == "involute"]
)
def test_undercut_limit_against_the_published_number(row):
    # Undercut limits of the systems table (derived there by 2 h / sin^2 a for the working depth, rounded up).
    limit = undercut_limit(float(row.addendum), row.pressure_angle_deg)
    assert ceil(limit - 1e-9) == row.min_teeth_no_undercut


@pytest.mark.parametrize("pair", systems.two_number_pairs(), ids=lambda pair: pair.pair)
def test_undercut_limit_of_two_number_stubs(pair):
    addendum = float(pair.p1 / pair.p2)
    assert ceil(undercut_limit(addendum, 20.0) - 1e-9) == pair.min_teeth_no_undercut


@pytest.mark.parametrize(
    ("system_id", "value", "limit"),
    [
        # Gear notes: 32 at 14 1/2 deg, 18 at 20 deg full depth, 14 for the stub, 12 at 25 deg (derived).
        ("asa_145_full", 8, 32),
        ("din867", 3, 18),
        ("asa_20_stub", 8, 14),
    ],
)
def test_teeth_drawn_are_undercut_below_the_limit_only(system_id, value, limit):
    assert is_undercut(gear(system_id, value, limit - 1))
    assert not is_undercut(gear(system_id, value, limit))
    assert (
        space_side(gear(system_id, value, limit - 6)).form_radius_mm > gear(system_id, value, limit - 6).base_radius_mm
    )


def test_root_clearance_of_a_pair():
    # At standard centres a tip stands off the mate's root by the clearance of the system (ASA B6.1-1932: 0.157/P).
    small, large = gear("asa_145_full", 8, 33), gear("asa_145_full", 8, 42)
    centres = small.pitch_radius_mm + large.pitch_radius_mm
    assert (centres - large.tip_radius_mm - small.root_radius_mm) * 8 / 25.4 == pytest.approx(0.157, abs=1e-9)


def test_two_gears_in_mesh_touch_without_cutting_into_each_other():
    first, second = gear("din867", 3, 30), gear("din867", 3, 20)
    centres = first.pitch_radius_mm + second.pitch_radius_mm
    one, mate = (shapely.Polygon(outline(spec, 1e-4).points) for spec in (first, second))
    for turn in np.linspace(0, 2 * pi / first.teeth, 7):
        a = affinity.rotate(one, turn, origin=(0, 0), use_radians=True)
        # The mate stands above, half a turn round and a space over the tooth, and turns the other way.
        back = pi + pi / second.teeth - turn * first.teeth / second.teeth
        b = affinity.translate(affinity.rotate(mate, back, origin=(0, 0), use_radians=True), 0, centres)
        assert a.intersection(b).area < 1e-3 * first.module_mm**2
        # Turned by a thousandth of a module the flanks do cut in: they were in contact.
        turned = affinity.rotate(
            b, 0.01 * first.module_mm / second.pitch_radius_mm, origin=(0, centres), use_radians=True
        )
        assert a.intersection(turned).area > 1e-3 * first.module_mm**2


def test_rack_tip_never_overlaps_itself():
    wide = GearSpec(30, 2.0, 25.0, dedendum=1.25, fillet_radius=0.6)
    tip = rack_tip(wide)
    assert tip.across_mm == pytest.approx(0.0, abs=1e-12)
    assert tip.radius_mm < 0.6 * 2.0
    assert shapely.Polygon(outline(wide).points).is_valid


@pytest.mark.parametrize(
    "bad",
    [
        {"teeth": 4, "module_mm": 2.0, "pressure_angle_deg": 20.0},
        {"teeth": 20, "module_mm": 0.0, "pressure_angle_deg": 20.0},
        {"teeth": 20, "module_mm": 2.0, "pressure_angle_deg": 90.0},
        {"teeth": 6, "module_mm": 2.0, "pressure_angle_deg": 20.0, "dedendum": 3.5},
    ],
)
def test_impossible_gears_are_refused(bad):
    with pytest.raises(InputError):
        GearSpec(**bad)


def test_pointed_teeth_and_pointed_cutters_are_refused():
    with pytest.raises(InputError, match="point"):
        outline(GearSpec(12, 2.0, 25.0, profile_shift=0.9))
    with pytest.raises(InputError, match="pointed"):
        outline(GearSpec(40, 2.0, 30.0, dedendum=1.5))


def test_cast_teeth_are_not_drawn_as_involutes():
    cut = cuts_at(systems.system("cp_cast"), make_pitch("CP", systems.Fraction(1)))[0]
    with pytest.raises(InputError, match="not known as a curve"):
        GearSpec.from_cut(cut, 30)


def test_half_angle_by_the_definition_of_the_involute():
    spec = gear("din867", 3, 30)
    radius = spec.tip_radius_mm
    at = acos(spec.base_radius_mm / radius)
    expected = pi / 60 + involute(radians(20)) - (tan(at) - at)
    assert half_angle_rad(spec, radius) == pytest.approx(expected, abs=1e-15)


@settings(max_examples=25)
@given(
    teeth=st.integers(9, 80),
    module=st.floats(0.3, 12),
    angle=st.sampled_from([14.5, 15.0, 20.0, 22.5, 25.0]),
    dedendum=st.floats(1.0, 1.3),
    fillet=st.floats(0.0, 0.4),
    thinning=st.floats(0, 0.05),
)
def test_any_reasonable_gear_is_one_valid_polygon(teeth, module, angle, dedendum, fillet, thinning):
    spec = GearSpec(teeth, module, angle, 0.8, dedendum, fillet, 0.0, thinning * module)
    curve = outline(spec, 0.002 * module)
    polygon = shapely.Polygon(curve.points)
    assert polygon.is_valid
    assert polygon.area == pytest.approx(curve.area_mm2, rel=4e-3)
