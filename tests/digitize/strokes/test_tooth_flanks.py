"""Places on drawn flanks against the involutes that were drawn, to hundredths of a pixel."""

import math

import numpy as np
import pytest

from digitize.strokes.centre_lines.refine import FloatArray
from digitize.strokes.primitives import Flank, ToothRing
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture

CENTRE = (320.4, 319.7)
TEETH, MODULE_PX, PRESSURE_DEG = 22, 22.0, 20.0
PITCH = TEETH * MODULE_PX / 2
BASE = PITCH * math.cos(math.radians(PRESSURE_DEG))
TIP, ROOT = PITCH + MODULE_PX, PITCH - 1.25 * MODULE_PX
PLACE_PX, RIM_PX = 0.1, 0.15


def half_angle(radius: FloatArray) -> FloatArray:
    """Half the angle of a standard tooth at a radius: pi / 2z + inv(alpha) - inv(alpha of the radius) (from memory).

    Below the base circle the flank is drawn straight to the centre.
    """
    turn = np.arccos(np.minimum(BASE / radius, 1.0))
    at_pitch = math.radians(PRESSURE_DEG)
    inner = math.tan(at_pitch) - at_pitch
    return np.asarray(math.pi / (2 * TEETH) + inner - (np.tan(turn) - turn), dtype=np.float64)


def at(radius: FloatArray, angle: FloatArray) -> FloatArray:
    """Points at angles counter-clockwise as seen."""
    return np.stack([CENTRE[0] + radius * np.cos(angle), CENTRE[1] - radius * np.sin(angle)], axis=-1)


def polyline(picture: Picture, points: FloatArray, width: float) -> None:
    for p, q in zip(points[:-1].tolist(), points[1:].tolist(), strict=True):
        picture.line((p[0], p[1]), (q[0], q[1]), width)


def gear(pitch_circle: bool) -> ToothRing:
    picture = Picture(640, 640).arc(CENTRE, 60.0, width=4.0)
    if pitch_circle:
        picture.arc(CENTRE, PITCH, width=2.0)
    radius = np.linspace(ROOT, TIP, 24)
    pitch = 2 * math.pi / TEETH
    for n in range(TEETH):
        middle, half = n * pitch, half_angle(radius)
        polyline(picture, at(radius, middle - half), 4.0)
        polyline(picture, at(radius, middle + half), 4.0)
        for r, span in ((TIP, float(half[-1])), (ROOT, pitch / 2 - float(half[0]))):
            turn = np.linspace(-span, span, 6) + middle + (0.0 if r == TIP else pitch / 2)
            polyline(picture, at(np.full(6, r), turn), 4.0)
    (ring,) = trace_strokes(picture.sheet(4.0), picture.no_lettering()).tooth_rings
    return ring


def off_px(flank: Flank) -> FloatArray:
    """How far, round the centre, the places of a flank lie from the tooth that was drawn."""
    x, y = np.array(flank.points).T
    radius, angle = np.hypot(x - CENTRE[0], y - CENTRE[1]), np.arctan2(CENTRE[1] - y, x - CENTRE[0])
    pitch = 2 * math.pi / TEETH
    from_middle = (angle + pitch / 2) % pitch - pitch / 2
    true = half_angle(radius) * (1.0 if flank.side == "left" else -1.0)
    return np.asarray(radius * (from_middle - true), dtype=np.float64)


@pytest.mark.parametrize("pitch_circle", [False, True])
def test_places_on_flanks_lie_on_the_teeth_that_were_drawn(pitch_circle: bool) -> None:
    ring = gear(pitch_circle)
    assert ring.teeth == TEETH
    assert ring.tip_radius_px == pytest.approx(TIP, abs=RIM_PX)
    assert ring.root_radius_px == pytest.approx(ROOT, abs=RIM_PX)
    assert len(ring.flanks) == 2 * TEETH
    assert [flank.side for flank in ring.flanks].count("left") == TEETH
    every = np.concatenate([off_px(flank) for flank in ring.flanks])
    assert len(every) >= 2 * TEETH * 5
    assert float(np.sqrt(np.mean(every**2))) < PLACE_PX
    assert abs(float(np.median(every))) < 0.02


def test_places_run_from_root_to_tip_and_flanks_clockwise() -> None:
    ring = gear(pitch_circle=False)
    for flank in ring.flanks:
        radius = np.hypot(*(np.array(flank.points) - CENTRE).T)
        assert (np.diff(radius) > 0.0).all()
        assert ROOT < radius[0] < radius[-1] < TIP
    clockwise = [math.atan2(flank.points[0][1] - CENTRE[1], flank.points[0][0] - CENTRE[0]) for flank in ring.flanks]
    steps = np.diff(np.unwrap(clockwise))
    assert (steps > 0.0).all()
