"""Gears in mesh: numbers against the drawn outlines rolled on each other."""

from math import pi

import numpy as np
import pytest
import shapely
from polygons import outline
from shapely import affinity

from calibrate.errors import InputError
from digitize.gears.teeth.mesh import mesh
from digitize.gears.teeth.tooth import GearSpec

PAIRS = [
    pytest.param(GearSpec(20, 3.0, 20.0), GearSpec(30, 3.0, 20.0), 75.0, id="standard centres"),
    pytest.param(GearSpec(20, 3.0, 20.0), GearSpec(30, 3.0, 20.0), 75.6, id="spread centres"),
    pytest.param(
        GearSpec(33, 3.175, 14.5, 1.0, 1.157, 0.209, thinning_mm=0.08),
        GearSpec(42, 3.175, 14.5, 1.0, 1.157, 0.209, thinning_mm=0.08),
        75 * 3.175 / 2,
        id="14 1/2 with backlash",
    ),
]


def placed(first: GearSpec, second: GearSpec, centre: float, turn: float, extra: float = 0.0):
    """Both outlines, the first turned by ``turn``, the mate above it turned to match and by ``extra`` more."""
    a = affinity.rotate(shapely.Polygon(outline(first, 2e-5).points), turn, origin=(0, 0), use_radians=True)
    back = pi + pi / second.teeth - turn * first.teeth / second.teeth + extra
    b = affinity.rotate(shapely.Polygon(outline(second, 2e-5).points), back, origin=(0, 0), use_radians=True)
    return a, affinity.translate(b, 0, centre)


@pytest.mark.parametrize(("first", "second", "centre"), PAIRS)
def test_backlash_is_the_play_of_the_drawn_teeth(first, second, centre):
    working_radius = centre * second.teeth / (first.teeth + second.teeth)
    half = mesh(first, second, centre).backlash_mm / 2 / working_radius
    for side in (1, -1):
        a, b = placed(first, second, centre, 0.013, side * (half - 2e-4 / working_radius))
        assert a.intersection(b).area < 2e-4
        a, b = placed(first, second, centre, 0.013, side * (half + 5e-3 / working_radius))
        assert a.intersection(b).area > 1e-3


@pytest.mark.parametrize(("first", "second", "centre"), PAIRS)
def test_contact_ratio_is_the_average_number_of_pairs_that_touch(first, second, centre):
    found = mesh(first, second, centre)
    half = found.backlash_mm / 2 / (centre * second.teeth / (first.teeth + second.teeth))
    counts = []
    for turn in np.linspace(0, 2 * pi / first.teeth, 60, endpoint=False):
        a, b = placed(first, second, centre, turn, half)
        touching = a.buffer(4e-4).intersection(b)
        counts.append(touching_pairs(touching, found, first, second, centre))
    assert np.mean(counts, axis=0).max() == pytest.approx(found.contact_ratio, abs=0.06)


def touching_pairs(touching, found, first, second, centre) -> list[int]:
    """Contacts on each of the two lines of action; both are in use where there is no backlash."""
    parts = [p.centroid for p in getattr(touching, "geoms", [touching]) if not p.is_empty]
    pitch_point = centre * first.teeth / (first.teeth + second.teeth)
    slope = np.tan(np.radians(found.working_pressure_angle_deg))
    return [sum(abs(p.y - pitch_point - side * p.x * slope) < 0.03 for p in parts) for side in (1, -1)]


def test_standard_pair_has_the_clearance_of_its_system_and_no_backlash():
    found = mesh(GearSpec(33, 3.175, 14.5, 1.0, 1.157, 0.209), GearSpec(42, 3.175, 14.5, 1.0, 1.157, 0.209), 119.0625)
    # ASA B6.1-1932 (MH31-2216, seen): clearance 0.157/P.
    assert found.clearance_mm == pytest.approx(0.157 * 3.175)
    assert found.backlash_mm == pytest.approx(0.0, abs=1e-12)
    assert not found.interference


def test_long_addenda_dig_into_a_small_pinion():
    assert mesh(GearSpec(12, 2.0, 14.5, 1.0, 1.157), GearSpec(60, 2.0, 14.5, 1.0, 1.157), 72.0).interference
    assert mesh(GearSpec(20, 2.0, 20.0), GearSpec(30, 2.0, 20.0), 49.5).interference


def test_gears_of_different_pitch_do_not_run_together():
    with pytest.raises(InputError, match="base pitches"):
        mesh(GearSpec(20, 2.0, 20.0), GearSpec(30, 2.0, 14.5, dedendum=1.157), 50.0)
    with pytest.raises(InputError, match="centre distance"):
        mesh(GearSpec(20, 2.0, 20.0), GearSpec(30, 2.0, 20.0), 40.0)
