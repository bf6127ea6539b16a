"""Teeth counted on drawn rings, whole and in part, and rings that are no gear."""

from itertools import pairwise

import numpy as np
import pytest

from digitize.strokes.gearing.teeth import count_teeth
from digitize.strokes.primitives import ToothRing
from digitize.strokes.trace import trace_strokes
from tests.digitize.strokes.drawn import Picture

CENTRE = (300.0, 300.0)


def polar(radius: float, angle_deg: float) -> tuple[float, float]:
    a = np.radians(angle_deg)
    return CENTRE[0] + radius * np.cos(a), CENTRE[1] - radius * np.sin(a)


def gear(teeth: int, drawn: int) -> Picture:
    """Straight-sided teeth between radius 215 and 260, a bore of 60."""
    picture = Picture(600, 600).arc(CENTRE, 60.0, width=5.0)
    pitch = 360.0 / teeth
    for n in range(drawn):
        at = n * pitch
        corners = [
            polar(215, at),
            polar(260, at + 0.14 * pitch),
            polar(260, at + 0.42 * pitch),
            polar(215, at + 0.56 * pitch),
        ]
        if n < drawn - 1 or drawn == teeth:
            corners.append(polar(215, at + pitch))
        for p, q in pairwise(corners):
            picture.line(p, q, 5.0)
    return picture


def rings(picture: Picture) -> tuple[ToothRing, ...]:
    return trace_strokes(picture.sheet(3.0), picture.no_lettering()).tooth_rings


@pytest.mark.parametrize("teeth", [12, 17, 26])
def test_a_whole_ring_is_counted(teeth: int) -> None:
    (ring,) = rings(gear(teeth, teeth))
    assert ring.teeth == teeth
    assert ring.centre == pytest.approx(CENTRE, abs=0.3)
    assert ring.tip_radius_px == pytest.approx(260, abs=4)
    assert ring.root_radius_px == pytest.approx(215, abs=6)


def test_part_of_a_ring_is_counted_from_its_pitch() -> None:
    (ring,) = rings(gear(20, 9))
    assert ring.teeth == 20


def test_holes_on_a_bolt_circle_are_no_teeth() -> None:
    picture = Picture(600, 600).arc(CENTRE, 270.0, width=5.0).arc(CENTRE, 60.0, width=5.0)
    for n in range(12):
        picture.arc(polar(180, 30 * n), 22.0, width=5.0)
    assert rings(picture) == ()


@pytest.mark.parametrize("corners", [4, 6])
def test_a_nut_is_no_gear(corners: int) -> None:
    picture = Picture(600, 600).arc(CENTRE, 100.0, width=5.0)
    for n in range(corners):
        picture.line(polar(200, 360 / corners * n), polar(200, 360 / corners * (n + 1)), 5.0)
    assert rings(picture) == ()


def test_too_few_or_uneven_flanks_give_no_count() -> None:
    assert count_teeth(np.array([])) is None
    assert count_teeth(np.linspace(0, 1, 5)) is None
    rng = np.random.default_rng(4)
    assert count_teeth(np.sort(rng.random(40) * 2 * np.pi)) is None


def test_a_part_that_leaves_the_number_open_gives_no_count() -> None:
    """Four teeth of a wheel of about 121.5: neither 121 nor 122 is sure."""
    flank = np.arange(4) * 2 * np.pi / 121.5
    assert count_teeth(np.sort(np.concatenate([flank, flank + 0.02]))) is None
