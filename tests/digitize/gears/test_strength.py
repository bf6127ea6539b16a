"""What breaks first: each part by hand, the ranking, its trend, and what is said of a sacrificial gear."""

import tomllib
from dataclasses import replace
from fractions import Fraction
from importlib.resources import files
from math import hypot, log, pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibrate.errors import InputError
from digitize.gears.cuts import cuts_at
from digitize.gears.desk.quantities import (
    parse_power_w,
    parse_speed_rpm,
    parse_torque_nm,
    torque_of_power_nm,
)
from digitize.gears.pitch import make_pitch
from digitize.gears.strength.sacrifice import SURE_MARGIN, verdict
from digitize.gears.strength.strength import (
    KEY_BEARING,
    KEY_SHEAR,
    KEYWAY,
    MATE_TOOTH,
    RIM,
    TOOTH,
    WALL,
    hub_wall_mm,
    weak_points,
)
from digitize.gears.strength.strength_tables import FPM_MM_S, PSI_MPA, material, materials, velocity_factor
from digitize.gears.strength.under_load import Body, Key, Mate
from digitize.gears.systems import system
from digitize.standards import sources

IN = 25.4
LBF_IN = 4.4482216152605 * 0.0254
EIGHT_P = cuts_at(system("asa_145_full"), make_pitch("DP", Fraction(8)))[0]
STEEL, FIBRE, IRON = material("steel"), material("fibre"), material("cast iron")


def body(made_of=FIBRE, **more) -> Body:
    """A 1 in face and bore, with a 1/4 in square key 1 in long."""
    plain = Body(IN, IN, made_of, made_of, Key(IN / 4, IN / 4, IN, STEEL))
    return replace(plain, **more)


def torques(found) -> dict[str, float]:
    """In pound-inches."""
    return {point.name: point.torque_nm / LBF_IN for point in found}


def test_every_part_by_hand_in_inches_and_pounds():
    found = torques(weak_points(EIGHT_P, 42, body(hub_mm=2 * IN)))
    # Lewis (LEWIS-1892;MH-MEM, from memory): W = S F Y / P, Y interpolated in 1/N between 38 (.333) and 43 (.339).
    y = 0.333 + (1 / 38 - 1 / 42) / (1 / 38 - 1 / 43) * 0.006
    assert found[TOOTH] == pytest.approx(5000 * 1.0 * y / 8 * 42 / 8 / 2, rel=1e-6)
    # tau = 2 T / (D W L), sigma = 4 T / (D H L) (MH-MEM, from memory); 7500 and 15000 psi.
    assert found[KEY_SHEAR] == pytest.approx(7500 * 1 * 0.25 * 1 / 2)
    assert found[KEY_BEARING] == pytest.approx(15000 * 1 * 0.25 * 1 / 4)
    # Keyway side of the gear at 3000 psi, area length x depth (MH-MEM, from memory).
    assert found[KEYWAY] == pytest.approx(3000 * 1 * 0.125 * 0.5)
    # Wall: from the corner at (W/2, T - D/2), T = D - Y + H/2 with Y the chordal height.
    chord = (1 - sqrt(1 - 0.25**2)) / 2
    wall = 1.0 - hypot(0.125, 0.5 - chord + 0.125)
    assert hub_wall_mm(EIGHT_P, 42, body(hub_mm=2 * IN)) == pytest.approx(wall * IN)
    assert found[WALL] == pytest.approx(5000 * wall / (1 + 3 * (wall + 0.125) / wall) / 2)


def test_power_and_speed_give_the_handbook_torque():
    # T = 63025 HP / rpm in pound-inches, V = 0.2618 D rpm in ft/min (MH-MEM, from memory).
    torque = torque_of_power_nm(parse_power_w("5hp"), parse_speed_rpm("350 rpm"))
    assert torque / LBF_IN == pytest.approx(63025 * 5 / 350, rel=1e-5)
    assert parse_torque_nm("20 lbf.ft") == pytest.approx(parse_torque_nm("240 lbf in"))
    assert parse_torque_nm("1 1/2 lb-ft") == pytest.approx(18 * LBF_IN)


def test_velocity_factors():
    # Barth 600/(600 + V) (CATSHEET-LEWIS, seen); nonmetallic 150/(200 + V) + 0.25 (MH-MEM, from memory), V in ft/min.
    assert velocity_factor("metal", 300 * FPM_MM_S) == pytest.approx(600 / 900)
    assert velocity_factor("nonmetallic", 1000 * FPM_MM_S) == pytest.approx(150 / 1200 + 0.25)
    assert velocity_factor("metal", 0) == velocity_factor("nonmetallic", 0) == 1.0
    slow, fast = (torques(weak_points(EIGHT_P, 42, body(), rpm)) for rpm in (0, 400))
    speed_fpm = pi * 5.25 * 400 / 12
    assert fast[TOOTH] / slow[TOOTH] == pytest.approx(150 / (200 + speed_fpm) + 0.25)
    assert fast[KEY_SHEAR] == slow[KEY_SHEAR]


def test_lewis_1892_by_speed_is_of_the_same_trend():
    # LEWIS-1892, from memory: cast iron 8000 psi at 100 ft/min or less, 2400 at 1200; steel 2.5 times as much.
    table = {100: 8000, 300: 4800, 600: 4000, 900: 3000, 1200: 2400}
    for speed, stress in table.items():
        assert 8000 * velocity_factor("metal", speed * FPM_MM_S) == pytest.approx(stress, rel=0.32)
    assert material("cast iron 1892").safe_stress_mpa == pytest.approx(8000 * PSI_MPA)
    assert STEEL.safe_stress_mpa / material("cast iron 1892").safe_stress_mpa == pytest.approx(2.5)


def test_a_square_key_is_as_strong_both_ways():
    # Square key: sigma = 2 tau (MH-MEM, from memory), so with 15000 and 7500 psi both give one torque.
    found = torques(weak_points(EIGHT_P, 42, body()))
    assert found[KEY_SHEAR] == pytest.approx(found[KEY_BEARING])
    flat = torques(weak_points(EIGHT_P, 42, body(key=Key(IN / 4, 3 * IN / 16, IN, STEEL))))
    assert flat[KEY_BEARING] == pytest.approx(0.75 * flat[KEY_SHEAR])


def test_length_over_two_bores_is_not_counted():
    short, long = (torques(weak_points(EIGHT_P, 42, body(key=Key(IN / 4, IN / 4, n * IN, STEEL)))) for n in (2, 3))
    assert short == long


def test_thin_rims_by_the_rim_rule():
    # 1.6 ln(2.242 / m) for m = rim over whole depth below 1.2 (AGMA-2001, from memory).
    depth = EIGHT_P.whole_depth_mm
    thin = torques(weak_points(EIGHT_P, 42, body(rim_mm=0.8 * depth)))
    assert thin[RIM] == pytest.approx(thin[TOOTH] / (1.6 * log(2.242 / 0.8)))
    assert RIM not in torques(weak_points(EIGHT_P, 42, body(rim_mm=1.2 * depth)))
    assert RIM not in torques(weak_points(EIGHT_P, 42, body()))


def test_a_small_solid_pinion_breaks_from_keyseat_to_root():
    found = weak_points(EIGHT_P, 14, body(bore_mm=0.9 * IN, key=Key(3 * IN / 16, 3 * IN / 16, IN, STEEL)))
    assert found[0].name in (RIM, WALL)


def test_the_mate_is_compared_at_this_gears_torque():
    found = torques(weak_points(EIGHT_P, 42, body(), mate=Mate(21, FIBRE, IN)))
    # The same load on a tooth of 21 teeth (.289) instead of 42, whatever the ratio.
    y = 0.333 + (1 / 38 - 1 / 42) / (1 / 38 - 1 / 43) * 0.006
    assert found[MATE_TOOTH] / found[TOOTH] == pytest.approx(0.289 / y)


def thin_walled(wall_mm: float | None, made_of=FIBRE) -> list:
    """A 24 teeth, 16 P gear, 3/8 in face, on a 3/8 in bore with a 3/32 in key, and so much wall over the keyseat."""
    cut = cuts_at(system("agma_20_coarse"), make_pitch("DP", Fraction(16)))[0]
    plain = Body(9.525, 9.525, made_of, made_of, Key(2.38, 2.38, 9.525, STEEL))
    if wall_mm is None:
        return weak_points(cut, 24, plain)
    corner = cut.root_diameter_mm(24) / 2 - hub_wall_mm(cut, 24, plain)
    return weak_points(cut, 24, replace(plain, hub_mm=2 * (corner + wall_mm)))


@pytest.mark.parametrize("made_of", [FIBRE, material("plastic"), material("phenolic")])
def test_trend_of_thin_hub_walls(made_of):
    """Common practice, no source: a hub wall of 1.2 mm over the keyway let the key strip through while the teeth stayed
    unworn; walls of 2.4 mm or a solid hub did better."""
    thin, thick, solid = (thin_walled(wall, made_of) for wall in (1.2, 2.4, None))
    assert thin[0].name == WALL
    at = [next(p.torque_nm for p in found if p.name == WALL) for found in (thin, thick, solid)]
    tooth = next(p.torque_nm for p in thin if p.name == TOOTH)
    assert at[0] < 0.5 * tooth
    assert at[0] < 0.5 * at[1]
    assert at[1] < at[2]
    assert solid[0].name != WALL


@given(st.floats(0.5, 8.0), st.floats(0.1, 3.0))
def test_a_thicker_wall_never_bears_less(wall, more):
    # Hypothesis: monotone in the wall.
    one, other = (next(p.torque_nm for p in thin_walled(w) if p.name == WALL) for w in (wall, wall + more))
    assert one < other


def test_teeth_that_go_first_are_said_to():
    narrow = body(face_mm=IN / 4, key=Key(IN / 4, IN / 4, 2 * IN, STEEL))
    found = verdict(weak_points(EIGHT_P, 42, narrow), EIGHT_P, 42, narrow, "in")
    assert found.sure is True
    assert "The teeth would go first" in found.sentence


def test_what_would_change_it_does_change_it():
    """The length and the face that are advised put the teeth in front by the margin that is wanted."""
    weak = body(hub_mm=3.5 * IN)
    found = verdict(weak_points(EIGHT_P, 42, weak), EIGHT_P, 42, weak, "in")
    assert found.sure is False
    (face,) = [float(s.split()[3]) for s in found.changes if s.startswith("A face of")]
    better = replace(weak, face_mm=face * IN)
    ranked = weak_points(EIGHT_P, 42, better)
    assert ranked[0].name == TOOTH
    assert ranked[1].torque_nm / ranked[0].torque_nm == pytest.approx(SURE_MARGIN, rel=1e-3)

    steel = replace(weak, hub_material=STEEL, hub_mm=None, face_mm=1.5 * IN, key=Key(IN / 4, IN / 4, 0.4 * IN, STEEL))
    found = verdict(weak_points(EIGHT_P, 42, steel), EIGHT_P, 42, steel, "in")
    (needed,) = [float(s.split("hub ")[1].split()[0]) for s in found.changes if s.startswith("A key and hub")]
    longer = replace(steel, key=Key(IN / 4, IN / 4, needed * IN, STEEL))
    ranked = weak_points(EIGHT_P, 42, longer)
    assert ranked[0].name == TOOTH
    assert min(p.torque_nm for p in ranked[1:]) / ranked[0].torque_nm == pytest.approx(SURE_MARGIN, rel=1e-3)


def test_the_wall_that_is_advised_is_enough():
    weak = body(hub_mm=1.5 * IN)
    found = verdict(weak_points(EIGHT_P, 42, weak), EIGHT_P, 42, weak, "in")
    (wall,) = [float(s.split()[0]) for s in found.changes if "of wall over the keyseat instead of" in s]
    better = replace(weak, hub_mm=weak.hub_mm + 2 * (wall * IN - hub_wall_mm(EIGHT_P, 42, weak)))
    ranked = {point.name: point.torque_nm for point in weak_points(EIGHT_P, 42, better)}
    assert ranked[WALL] / ranked[TOOTH] == pytest.approx(SURE_MARGIN, rel=1e-3)
    assert any("under half the tooth's whole depth" in s for s in found.changes)


def test_a_gear_of_weaker_stuff_than_its_key_is_advised_a_metal_hub():
    found = verdict(weak_points(EIGHT_P, 42, body()), EIGHT_P, 42, body(), "mm")
    assert "metal hub" in found.changes[0]
    with_hub = body(hub_material=STEEL)
    assert verdict(weak_points(EIGHT_P, 42, with_hub), EIGHT_P, 42, with_hub, "mm").sure is True


def test_too_near_to_say():
    near = body(hub_material=STEEL, key=Key(IN / 4, IN / 4, 0.7 * IN, STEEL))
    ranked = weak_points(EIGHT_P, 42, near)
    assert ranked[0].name == TOOTH
    assert verdict(ranked, EIGHT_P, 42, near, "in").sure is None


@pytest.mark.parametrize(
    "more",
    [{"bore_mm": 6 * IN}, {"hub_mm": 0.9 * IN}, {"hub_mm": 1.2 * IN}, {"bore_mm": 0.0}],
)
def test_bodies_that_can_not_be_are_refused(more):
    with pytest.raises(InputError):
        weak_points(EIGHT_P, 42, body(**more))


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (parse_torque_nm, "20"),
        (parse_torque_nm, "20 lbf"),
        (parse_torque_nm, "-3Nm"),
        (parse_torque_nm, "0Nm"),
        (parse_power_w, "1 horse"),
        (parse_speed_rpm, "fast"),
        (material, "cheese"),
    ],
)
def test_bad_duties_are_one_sentence(parse, text):
    with pytest.raises(InputError) as error:
        parse(text)
    assert str(error.value).count(". ") == 0
    assert str(error.value).endswith(".")


def test_every_figure_names_a_source():
    table = tomllib.loads(files("digitize.gears").joinpath("strength.toml").read_text(encoding="utf-8"))
    groups = [*table["velocity_factor"], *table["material"], *(v for v in table.values() if isinstance(v, dict))]
    assert {name for row in groups for name in row["source"].split(";")} <= set(sources())
    assert {row["provenance"] for row in groups} <= {"seen", "memory", "derived"}
    assert len({word for row in materials() for word in row.words}) == sum(len(row.words) for row in materials())
