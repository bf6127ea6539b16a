"""Spur gear geometry: true involute flanks and the root that a rack or hob leaves.

Glossary
--------
rack
    The straight-sided cutter that generates the tooth by rolling on the pitch circle; its tips are rounded.
flank
    The part of the tooth that the rack's straight side leaves: an involute of the base circle.
root curve
    What the rack's rounded tip leaves: the envelope of a circle that rolls with the rack (a trochoid's offset).
form radius
    Where flank and root curve meet.
undercut
    The root curve crosses the flank above the base circle instead of running into it.
half angle
    Half the tooth's angular thickness at some radius, seen from the gear's centre.

All points are in millimetres, y up, gear centre at the origin: complex numbers x + iy in the frame of one *space*,
whose axis is +y. `arcs` joins the curves to a closed outline.

References
----------
.. [1] Litvin, Gear Geometry and Applied Theory, on generation by a rack (from memory).
"""

from cmath import exp
from collections.abc import Callable
from dataclasses import dataclass
from math import acos, atan, cos, hypot, pi, sin, sqrt, tan

import numpy as np

from calibrate.errors import InputError
from digitize.gears.teeth.gear_spec import GearSpec

Curve = Callable[[float], complex]


def involute(angle_rad: float) -> float:
    """The involute function: tan a - a."""
    return tan(angle_rad) - angle_rad


def half_angle_rad(gear: GearSpec, radius_mm: float) -> float:
    """Half the angle that the involute tooth covers at a radius not inside the base circle."""
    at_radius = acos(min(1.0, gear.base_radius_mm / radius_mm))
    at_pitch = gear.thickness_mm / (2 * gear.pitch_radius_mm)
    return at_pitch + involute(gear.pressure_angle_rad) - involute(at_radius)


@dataclass(frozen=True)
class RackTip:
    """The rounded tip of the generating rack, against the pitch line it rolls on.

    ``across_mm`` and ``below_mm`` place the centre of its right-hand round: sideways from the space's axis, and
    outwards from the pitch line (negative: towards the root).
    """

    radius_mm: float
    across_mm: float
    below_mm: float


def rack_tip(gear: GearSpec) -> RackTip:
    """The tip round of the rack that cuts this gear, no larger than its tip can hold."""
    angle, m = gear.pressure_angle_rad, gear.module_mm
    half_width = pi * m / 4 + gear.thinning_mm / 2
    half_land = half_width - gear.dedendum * m * tan(angle)
    if half_land <= 0:
        raise InputError("No rack can cut a tooth this deep: its own tip would be pointed; check depth and angle.")
    largest = half_land * cos(angle) / (1 - sin(angle))
    radius = min(gear.fillet_radius * m, largest)
    across = half_land - radius * (1 - sin(angle)) / cos(angle)
    return RackTip(radius, max(0.0, across), radius - (gear.dedendum - gear.profile_shift) * m)


def is_undercut(gear: GearSpec) -> bool:
    """Whether the straight part of the rack reaches below the point where the involute starts.

    Composite teeth are never undercut: they go down only to the teeth whose flanks are radial.
    """
    if gear.rolling_radius:
        return False
    tip = rack_tip(gear)
    straight_depth = tip.radius_mm * sin(gear.pressure_angle_rad) - tip.below_mm
    return straight_depth > gear.pitch_radius_mm * sin(gear.pressure_angle_rad) ** 2


def root_curve(gear: GearSpec, tip: RackTip) -> tuple[Curve, Curve]:
    """The right-hand root curve of a space and its derivative, by the slope of the rack tip's normal.

    The parameter runs from 0 (bottom of the space) to 90 deg less the pressure angle (end of the rack's round). The
    contact normal must pass the pitch point, which gives the roll angle.
    """
    r = gear.pitch_radius_mm

    def roll(t: float) -> tuple[float, float, float]:
        across = tip.across_mm + tip.radius_mm * sin(t)
        height = tip.below_mm - tip.radius_mm * cos(t)
        return across, height, (across + height * tan(t)) / r

    def point(t: float) -> complex:
        across, height, phi = roll(t)
        return complex(across - r * phi, r + height) * exp(-1j * phi)

    def derivative(t: float) -> complex:
        across, height, phi = roll(t)
        d_across, d_height = tip.radius_mm * cos(t), tip.radius_mm * sin(t)
        d_phi = (d_across + d_height * tan(t) + height / cos(t) ** 2) / r
        place = complex(across - r * phi, r + height)
        return (complex(d_across - r * d_phi, d_height) - 1j * d_phi * place) * exp(-1j * phi)

    return point, derivative


def flank_curve(gear: GearSpec) -> Curve:
    """The right-hand flank of a space by its roll: tan of the pressure angle at the point."""
    axis = pi / gear.teeth
    at_pitch = gear.thickness_mm / (2 * gear.pitch_radius_mm) + involute(gear.pressure_angle_rad)

    def point(roll: float) -> complex:
        radius = gear.base_radius_mm * hypot(1.0, roll)
        from_space_axis = axis - at_pitch + (roll - atan(roll))
        return radius * 1j * exp(-1j * from_space_axis)

    return point


def roll_at(gear: GearSpec, radius_mm: float) -> float:
    return sqrt(max(0.0, (radius_mm / gear.base_radius_mm) ** 2 - 1))


def from_axis(point: complex) -> float:
    """Angle of a point clockwise from the space's axis."""
    return float(np.arctan2(point.real, point.imag))


@dataclass(frozen=True)
class Piece:
    """A curve with the ends of its parameter."""

    curve: Curve
    start: float
    stop: float


@dataclass(frozen=True)
class SpaceSide:
    """The right-hand side of one space, from its bottom to the tip of the tooth, as exact curves with their ends.

    ``root_curve`` over (0, root_end), ``flank`` over (flank_start, flank_end), the involute, which starts at
    ``form_radius_mm``. Of a composite tooth ``below`` lies between the two and ``above`` between involute and tip.
    ``sharp_half_angle_rad`` is half the angle of the tip before any chamfer.
    """

    gear: GearSpec
    root_curve: Curve
    root_slope: Curve
    root_end: float
    flank: Curve
    flank_start: float
    flank_end: float
    form_radius_mm: float
    undercut: bool
    sharp_half_angle_rad: float
    below: Piece | None = None
    above: Piece | None = None

    @property
    def bottom_half_angle_rad(self) -> float:
        """Half the angle of the flat-bottomed part of the space."""
        return from_axis(self.root_curve(0.0))

    @property
    def tip_half_angle_rad(self) -> float:
        """Half the angle of the top land, between its chamfers where there are any."""
        return self.sharp_half_angle_rad - self.gear.tip_chamfer_mm / self.gear.tip_radius_mm

    @property
    def involute_stop_mm(self) -> float:
        """Radius at which the involute ends: at the tip, its chamfer, or where a composite tooth's cycloid begins."""
        return self.gear.base_radius_mm * hypot(1.0, self.flank_end)
