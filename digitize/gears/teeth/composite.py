"""The tooth of the 14 1/2 degree composite system: involute about the pitch line, cycloidal at both ends.

The rack's side is straight at the pressure angle about the pitch line; from where the circle of contact of a cycloid
meets that straight line's own line of action, it goes on as a cycloid of one rolling circle, tangent to it. With a
rolling circle of 6/P the gear of 12 teeth has radial flanks and no undercut, which is the smallest of that system.

Glossary
--------
rolling circle
    The circle whose cycloids end the flank; its radius is given in modules.
slope
    Angle of the rack's side against the tooth's axis: the pressure angle on the straight part, growing along a cycloid.

References
----------
.. [1] ASA B6.1-1932, recalled: middle third involute, ends cycloidal, 12 teeth to rack. A rolling radius of 3/P follows
   from the 12 teeth; it puts the straight part 0.376/P to either side of the pitch line, about a third of the depth.
"""

from cmath import exp
from collections.abc import Callable
from math import cos, pi, sin, tan

from scipy.optimize import brentq

from calibrate.errors import InputError
from digitize.gears.teeth.gear_spec import GearSpec
from digitize.gears.teeth.tooth_parts import (
    Curve,
    Piece,
    RackTip,
    SpaceSide,
    flank_curve,
    from_axis,
    roll_at,
    root_curve,
)

STEEPEST_RAD = 1.4
"""The slope is looked for up to here; teeth end long before."""


def composite_side(gear: GearSpec) -> SpaceSide:
    """The curves of one side of a space.

    Raises
    ------
    InputError
        For fewer teeth than the system goes down to, a shifted gear, or a tooth that comes to a point.
    """
    if gear.profile_shift:
        raise InputError("Composite teeth are not shifted; leave the profile shift out.")
    if gear.pitch_radius_mm < 2 * gear.rolling_mm * (1 - 1e-9):
        fewest = round(4 * gear.rolling_radius)
        raise InputError(f"Composite teeth go down to {fewest} teeth; {gear.teeth} are too few.")
    angle = gear.pressure_angle_rad
    lowest = _lowest_slope(gear)
    root, slope = root_curve(gear, _tip(gear, lowest))
    below, above = _generated(gear, -1), _generated(gear, 1)
    highest, sharp = (_slope_at(gear, above, radius) for radius in (gear.flank_tip_radius_mm, gear.tip_radius_mm))
    start, stop = abs(below(angle)), abs(above(angle))
    return SpaceSide(
        gear,
        root,
        slope,
        pi / 2 - lowest,
        flank_curve(gear),
        roll_at(gear, start),
        roll_at(gear, stop),
        start,
        False,
        pi / gear.teeth - from_axis(above(sharp)),
        Piece(lambda u: below(-u), -lowest, -angle),
        Piece(above, angle, highest),
    )


def rack_side(gear: GearSpec, slope_rad: float, half: int) -> tuple[float, float]:
    """Place (across, height) on a cycloidal part of the rack's side, by its slope; ``half``: -1 below, 1 above."""
    rolling, angle = gear.rolling_mm, gear.pressure_angle_rad
    straight = 2 * rolling * sin(angle) ** 2 * tan(angle)
    beyond = rolling * (2 * slope_rad - sin(2 * slope_rad)) - rolling * (2 * angle - sin(2 * angle))
    half_width = pi * gear.module_mm / 4 + gear.thinning_mm / 2
    return half_width + half * (straight + beyond), half * 2 * rolling * sin(slope_rad) ** 2


def _generated(gear: GearSpec, half: int) -> Curve:
    """What the cycloidal part of the rack leaves, by its slope: the contact normal passes the pitch point."""
    r = gear.pitch_radius_mm

    def point(slope_rad: float) -> complex:
        across, height = rack_side(gear, slope_rad, half)
        phi = (across + height / tan(slope_rad)) / r
        return complex(across - r * phi, r + height) * exp(-1j * phi)

    return point


def _lowest_slope(gear: GearSpec) -> float:
    """Slope at which the rack's rounded tip runs into its cycloidal side."""
    radius, depth = gear.fillet_radius * gear.module_mm, gear.dedendum * gear.module_mm

    def short(slope_rad: float) -> float:
        return depth - radius * (1 - sin(slope_rad)) - 2 * gear.rolling_mm * sin(slope_rad) ** 2

    return _root_of(short, gear.pressure_angle_rad)


def _root_of(function: Callable[[float], float], low: float) -> float:
    if function(low) * function(STEEPEST_RAD) > 0:
        raise InputError("The tooth is too shallow or too deep for the composite form; check its heights.")
    return float(brentq(function, low, STEEPEST_RAD, xtol=1e-14))


def _tip(gear: GearSpec, slope_rad: float) -> RackTip:
    radius = gear.fillet_radius * gear.module_mm
    across = rack_side(gear, slope_rad, -1)[0] - radius * cos(slope_rad)
    if across < 0:
        raise InputError("No rack can cut a tooth this deep: its own tip would be pointed; check depth and fillet.")
    return RackTip(radius, across, radius - gear.dedendum * gear.module_mm)


def _slope_at(gear: GearSpec, above: Curve, radius_mm: float) -> float:
    return _root_of(lambda slope: abs(above(slope)) - radius_mm, gear.pressure_angle_rad)
