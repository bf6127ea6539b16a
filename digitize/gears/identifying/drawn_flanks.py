"""How the drawn flanks of a gear lean: a hint at its pressure angle.

Under an involute flank the angle round the centre falls, from the tooth's middle outwards, by inv(a) with
cos a = base radius / radius (involute function, from memory). The base radius that makes the places of every flank lie
so is sought, and turned to a pressure angle at the pitch circle that a full-depth tooth has: one module below the tip.

What a draughtsman drew is often no involute but one or two arcs from an odontograph, and a stub tooth has its pitch
circle nearer to its tip. So no system gains or loses by this angle; it is told beside the evidence.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from digitize.gears.sentences import angle
from digitize.strokes.primitives import Flank, Point, ToothRing

FloatArray = NDArray[np.float64]

ANGLES_DEG = np.arange(8.0, 32.05, 0.1)
FEWEST_TEETH = 20
"""Flanks of fewer teeth may be undercut up to where they still bend."""
LOWEST = 0.5
"""Places further than this many modules below the pitch circle may lie on the fillet."""
FEWEST_FLANKS, FEWEST_PLACES = 8, 3
DRAWN_STD_DEG, LARGEST_FIT_STD_DEG = 2.5, 1.5
"""How far drawn flanks stray from the angle that they are to show (common practice, no source), and how uncertain a fit
may be that is told at all."""


@dataclass(frozen=True)
class FlankAngle:
    """A pressure angle by drawn flanks, with its standard error, in degrees."""

    angle_deg: float
    std_deg: float

    @property
    def sentence(self) -> str:
        """What is told of it, to half a degree."""
        about, give = angle(round(2 * self.angle_deg) / 2), angle(round(2 * self.std_deg) / 2)
        return (
            f"The drawn flanks lean like those of a pressure angle of about {about}, give or take {give}; "
            "flanks were often drawn as arcs, so this is a hint and decides nothing."
        )


def flank_angle(ring: ToothRing) -> FlankAngle | None:
    """The pressure angle that drawn flanks show; None where they are too few, too short or too rough to tell."""
    pitch_px = ring.tip_radius_px * ring.teeth / (ring.teeth + 2)
    lowest = pitch_px - LOWEST * 2 * pitch_px / ring.teeth
    every = [_polar(flank, ring.centre) for flank in ring.flanks]
    flanks = [(radius[high], turn[high]) for radius, turn in every if (high := radius >= lowest).sum() >= FEWEST_PLACES]
    if ring.teeth < FEWEST_TEETH or len(flanks) < FEWEST_FLANKS:
        return None
    cost = np.array([_off(flanks, pitch_px * math.cos(math.radians(a))) for a in ANGLES_DEG.tolist()])
    best = int(np.argmin(cost))
    if not 0 < best < len(cost) - 1:
        return None
    before, least, after = cost[best - 1 : best + 2].tolist()
    step, bend = float(ANGLES_DEG[1] - ANGLES_DEG[0]), before - 2 * least + after
    spare = sum(len(radius) for radius, _ in flanks) - len(flanks) - 1
    fit_std = step * math.sqrt(2 * least / spare / bend)
    if fit_std > LARGEST_FIT_STD_DEG:
        return None
    return FlankAngle(
        float(ANGLES_DEG[best]) + 0.5 * step * (before - after) / bend, math.hypot(fit_std, DRAWN_STD_DEG)
    )


def _polar(flank: Flank, centre: Point) -> tuple[FloatArray, FloatArray]:
    """Radius of a flank's places, and their angle round the centre away from the middle of the tooth."""
    x, y = np.array(flank.points).T - np.array(centre)[:, None]
    turn = np.unwrap(np.arctan2(-y, x))
    return np.hypot(x, y), turn if flank.side == "left" else -turn


def _off(flanks: Sequence[tuple[FloatArray, FloatArray]], base_px: float) -> float:
    """Squared distances, round the centre, of all places from the involutes of a base circle that fit them best."""
    total = 0.0
    for radius, turn in flanks:
        at = np.arccos(np.minimum(base_px / radius, 1.0))
        start = turn + np.tan(at) - at
        total += float(((radius * (start - start.mean())) ** 2).sum())
    return total
