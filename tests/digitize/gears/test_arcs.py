"""Outlines of arcs against the exact curves, with numbers of their own."""

from math import pi, tan

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from calibrate.errors import InputError
from digitize.gears.teeth.arc_chain import ARC_ERROR_MM, Chain, fewest_arcs
from digitize.gears.teeth.arcs import flattened, teeth_in_arcs
from digitize.gears.teeth.tooth import GearSpec, space_side

GEARS = [
    pytest.param(GearSpec(42, 3.175, 14.5, 1.0, 1.157, 0.209), id="42 teeth, 8 P, 14 1/2 deg"),
    pytest.param(GearSpec(12, 3.175, 14.5, 1.0, 1.157, 0.209), id="12 teeth, deep undercut"),
    pytest.param(GearSpec(30, 1.0, 20.0, tip_chamfer_mm=0.1), id="chamfered"),
    pytest.param(GearSpec(14, 2.0, 20.0, profile_shift=0.3, thinning_mm=0.08), id="shifted, with backlash"),
    pytest.param(GearSpec(60, 10.0, 20.0), id="coarse"),
]


def distance_to_arcs(points, outline) -> np.ndarray:
    """Distance of points from an outline of arcs, each arc as a circle where the point lies within its angle."""
    ring = outline.points @ np.array([1, 1j])
    best = np.full(len(points), np.inf)
    for a, b, bulge in zip(ring, np.roll(ring, -1), outline.bulges, strict=True):
        u = ((points - a) / (b - a)).real
        within = (u >= -0.02) & (u <= 1.02)
        if bulge == 0:
            off = np.abs(((points - a) / (b - a)).imag) * abs(b - a)
        else:
            centre = (a + b) / 2 + 1j * (b - a) / 2 / tan(2 * np.arctan(bulge))
            off = np.abs(np.abs(points - centre) - abs(a - centre))
        best = np.where(within & (off < best), off, best)
    return best


@pytest.mark.parametrize("gear", GEARS)
def test_the_exact_curve_is_nowhere_farther_than_a_micron(gear):
    side, outline = space_side(gear), teeth_in_arcs(gear)
    per_tooth = len(outline.points) // gear.teeth
    one = type(outline)(outline.points[: per_tooth + 1], outline.bulges[: per_tooth + 1], 0, 0)
    turn = np.exp(1j * pi / gear.teeth)
    true = [side.root_curve(t) * turn for t in np.linspace(0, side.root_end, 3000)]
    true += [side.flank(t) * turn for t in np.linspace(side.flank_start, side.flank_end, 3000)]
    assert distance_to_arcs(np.array(true), one).max() <= ARC_ERROR_MM
    assert distance_to_arcs(-np.array(true).conj(), one).max() <= ARC_ERROR_MM


def arcs_needed(curve, start, stop, error) -> float:
    """Arcs that a curve of smoothly changing curvature k takes, by Taylor (derived).

    An arc with its ends on the curve and length L is off by k' L^3 sqrt(3) / 216, k' the change of k along the curve.
    """
    t = np.linspace(start, stop, 4001)
    place = np.array([curve(each) for each in t])
    first, second = (
        np.gradient(place, t, edge_order=2),
        np.gradient(np.gradient(place, t, edge_order=2), t, edge_order=2),
    )
    speed = np.abs(first)
    bend = (first.conj() * second).imag / speed**3
    change = np.abs(np.gradient(bend, t, edge_order=2)) / speed
    inner = slice(20, -20)
    return float(np.trapezoid((np.cbrt(change * np.sqrt(3) / 216 / error) * speed)[inner], t[inner]))


@pytest.mark.parametrize("gear", GEARS)
def test_no_more_arcs_than_the_error_needs(gear):
    side = space_side(gear)
    for curve, start, stop in (
        (side.root_curve, 0.0, side.root_end),
        (side.flank, side.flank_start, side.flank_end),
    ):
        needed = arcs_needed(curve, start, stop, ARC_ERROR_MM)
        assert needed - 0.2 < len(fewest_arcs(curve, start, stop).bulges) < needed + 1.2


@pytest.mark.parametrize("gear", GEARS)
def test_area_of_the_arcs_is_the_exact_one(gear):
    """Polygon of the points and the segments over its sides: R^2 (a - sin a) / 2 each."""
    outline = teeth_in_arcs(gear)
    x, y = outline.points.T
    polygon = (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2
    chords = np.hypot(*(np.roll(outline.points, -1, axis=0) - outline.points).T)
    angles = 4 * np.arctan(outline.bulges)
    curved = np.abs(angles) > 1e-12
    radii = chords[curved] / 2 / np.sin(np.abs(angles[curved]) / 2)
    segments = np.sign(angles[curved]) * radii**2 * (np.abs(angles[curved]) - np.sin(np.abs(angles[curved]))) / 2
    length = shapely.LinearRing(outline.points).length
    assert polygon + segments.sum() == pytest.approx(outline.area_mm2, abs=0.5 * ARC_ERROR_MM * length)


@pytest.mark.parametrize("gear", GEARS)
def test_few_points_and_no_corners_but_the_tooths_own(gear):
    outline = teeth_in_arcs(gear)
    assert len(outline.points) <= 24 * gear.teeth
    ring = outline.points @ np.array([1, 1j])
    steps, half = np.roll(ring, -1) - ring, 2 * np.arctan(outline.bulges)
    turns = np.degrees(np.angle(steps / np.roll(steps, 1)) - half - np.roll(half, 1))
    turns = np.radians((turns + 180) % 360 - 180)
    # By Taylor an arc within the error e leaves the curve's direction at its ends by 216 e / (12 sqrt(3) L) at most.
    allowed = 11 * ARC_ERROR_MM * (1 / np.abs(steps) + 1 / np.abs(np.roll(steps, 1)))
    corners = (np.abs(turns) > allowed).sum() / gear.teeth
    # Tip corners (four with chamfers) and, where the rack undercuts, the two form points; elsewhere it runs on.
    assert corners == (4 if gear.tip_chamfer_mm else 2) + 2 * space_side(gear).undercut


def test_a_circle_takes_one_arc():
    found = fewest_arcs(lambda t: 10 * np.exp(1j * t), 0.0, 2.0)
    assert found.bulges == pytest.approx([tan(0.5)])
    assert fewest_arcs(lambda t: complex(t, 0), 0.0, 5.0).bulges == pytest.approx([0.0])


def test_chains_turn_round_and_over():
    chain = Chain(np.array([1 + 0j, 2 + 1j, 2 + 3j]), np.array([0.1, -0.2]))
    assert chain.reversed().reversed().points.tolist() == chain.points.tolist()
    assert chain.mirrored().bulges.tolist() == [-0.1, 0.2]
    assert chain.reversed().bulges.tolist() == [0.2, -0.1]


@settings(max_examples=15)
@given(st.integers(8, 60), st.floats(0.5, 6.0), st.sampled_from([14.5, 20.0, 25.0]), st.floats(1e-4, 1e-2))
def test_any_error_is_kept(teeth, module, angle, error):
    gear = GearSpec(teeth, module, angle, 0.8, 1.0, 0.2)
    outline, side = teeth_in_arcs(gear, error), space_side(gear)
    ring = shapely.LinearRing(flattened(outline, error / 20))
    turn = np.exp(1j * pi / teeth)
    true = np.array([side.flank(t) * turn for t in np.linspace(side.flank_start, side.flank_end, 60)])
    assert shapely.distance(ring, shapely.points(true.real, true.imag)).max() <= 1.05 * error


def test_the_chamfer_is_as_broad_as_stated():
    gear = GearSpec(30, 2.0, 20.0, tip_chamfer_mm=0.2)
    plain, side = space_side(GearSpec(30, 2.0, 20.0)), space_side(gear)
    radii = np.hypot(*teeth_in_arcs(gear).points.T)
    assert np.isclose(radii, gear.tip_radius_mm - 0.2).sum() == 60
    lost = (plain.tip_half_angle_rad - side.tip_half_angle_rad) * gear.tip_radius_mm
    assert lost == pytest.approx(0.2)
    # Area lost: two triangles a tooth, as high and as broad as the chamfer, the flank's slope moving only their apex.
    lost_area = teeth_in_arcs(GearSpec(30, 2.0, 20.0)).area_mm2 - teeth_in_arcs(gear).area_mm2
    assert lost_area == pytest.approx(60 * 0.2 * 0.2 / 2, rel=0.03)


@pytest.mark.parametrize("chamfer", [-0.1, 1.2, 3.0])
def test_chamfers_that_leave_no_tip_are_refused(chamfer):
    with pytest.raises(InputError):
        teeth_in_arcs(GearSpec(30, 2.0, 20.0, tip_chamfer_mm=chamfer))
