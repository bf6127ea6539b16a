"""The lean of drawn flanks, on involutes of the textbook and on what draughtsmen drew instead of them."""

import math
from dataclasses import replace

import numpy as np
import pytest

from digitize.gears.identifying.drawn_flanks import flank_angle
from digitize.strokes.primitives import Flank, Point, ToothRing
from tests.digitize.gears.test_from_sheet import FACE, found

CENTRE = (400.0, 300.0)
MODULE_PX = 20.0
PLACE_PX = 0.1


def half_angle(radius: float, teeth: int, pressure_deg: float) -> float:
    """Half the angle of a standard tooth: pi / 2z + inv(alpha) - inv(alpha of the radius) (from memory)."""
    pitch, pressure = teeth * MODULE_PX / 2, math.radians(pressure_deg)
    at = math.acos(min(1.0, pitch * math.cos(pressure) / radius))
    return math.pi / (2 * teeth) + math.tan(pressure) - pressure - math.tan(at) + at


def ring(teeth: int, pressure_deg: float, *, straight: bool = False, noise_px: float = PLACE_PX) -> ToothRing:
    """All flanks of a full-depth gear from three quarters of a module below its pitch circle to its tip."""
    rng, pitch = np.random.default_rng(7), teeth * MODULE_PX / 2
    radii = np.linspace(pitch - 0.75 * MODULE_PX, pitch + MODULE_PX, 9)
    flanks = []
    for n in range(teeth):
        for side, sign in (("left", 1.0), ("right", -1.0)):
            half = np.array([half_angle(float(r), teeth, pressure_deg) for r in radii])
            if straight:
                half = np.interp(radii, radii[[0, -1]], half[[0, -1]])
            turn = 2 * math.pi * n / teeth + sign * half + rng.normal(0.0, noise_px, len(radii)) / radii
            flanks.append(Flank(places(radii, turn), side, noise_px))
    return ToothRing(CENTRE, teeth, pitch + MODULE_PX, pitch - 1.25 * MODULE_PX, flanks=tuple(flanks))


def places(radii: np.ndarray, turn: np.ndarray) -> tuple[Point, ...]:
    x, y = CENTRE[0] + radii * np.cos(turn), CENTRE[1] - radii * np.sin(turn)
    return tuple(zip(x.tolist(), y.tolist(), strict=True))


@pytest.mark.parametrize("teeth", [24, 40, 72])
@pytest.mark.parametrize("pressure_deg", [14.5, 20.0, 25.0])
def test_involutes_give_their_pressure_angle(teeth: int, pressure_deg: float) -> None:
    leaning = flank_angle(ring(teeth, pressure_deg))
    assert leaning is not None
    assert leaning.angle_deg == pytest.approx(pressure_deg, abs=0.6)
    assert 2.5 <= leaning.std_deg < 3.0


def test_few_teeth_may_be_undercut_and_say_nothing() -> None:
    assert flank_angle(ring(15, 14.5)) is None


def test_rough_flanks_say_nothing() -> None:
    assert flank_angle(ring(24, 20.0, noise_px=12.0)) is None


@pytest.mark.parametrize("straight", [False, True])
def test_no_system_gains_or_loses_by_how_flanks_lean(straight: bool) -> None:
    """Flanks of 20 deg beside figures that leave 14 1/2 and 20 deg open; drawn with a straight edge they mislead."""
    leaning = ring(24, 20.0, straight=straight)
    with_flanks, without = (found(strokes=replace(FACE, tooth_rings=(one,))) for one in (leaning, bare(leaning)))
    assert with_flanks is not None
    assert without is not None
    assert replace(with_flanks, evidence=()) == replace(without, evidence=())
    assert len(with_flanks.evidence) == len(without.evidence) + 1


def bare(teeth: ToothRing) -> ToothRing:
    return replace(teeth, flanks=())


def test_the_sentence_says_how_little_it_means() -> None:
    leaning = flank_angle(ring(40, 14.5))
    assert leaning is not None
    assert "about 14 1/2 deg, give or take 2 1/2 deg" in leaning.sentence
    assert "decides nothing" in leaning.sentence
