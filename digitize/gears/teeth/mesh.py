"""Two spur gears of one base pitch in mesh at a given centre distance.

Glossary
--------
working pressure angle
    Where the line of action really lies: cos a = (sum of base radii) / centre distance.
contact ratio
    Length of the path of contact over the base pitch: how many tooth pairs share the load, on the average.
backlash
    Play at the working pitch circle, measured along it.
interference
    A tip that reaches below the mate's flank, into its root curve.

References
----------
.. [1] Standard involute geometry (derived); the tests roll the drawn outlines against each other.
"""

from dataclasses import dataclass
from math import acos, degrees, pi, sin, sqrt

from calibrate.errors import InputError
from digitize.gears.teeth.tooth import GearSpec, half_angle_rad, is_undercut, space_side

SAME_BASE_PITCH = 1e-9
"""Base pitches that differ by more than this share do not mesh."""


@dataclass(frozen=True)
class Mesh:
    """How a pair runs.

    ``clearance_mm`` is the smaller of the two gaps between a tip and the mate's root. ``interference`` is True where
    a tip digs into the mate's root curve, or where the teeth are too thick for the centre distance. ``undercut`` tells
    of either gear whether its cutter undercuts it.
    """

    working_pressure_angle_deg: float
    contact_ratio: float
    backlash_mm: float
    clearance_mm: float
    interference: bool
    undercut: tuple[bool, bool]


def mesh(first: GearSpec, second: GearSpec, centre_mm: float) -> Mesh:
    """Contact ratio, backlash, clearance and interference of a pair.

    Raises
    ------
    InputError
        Where the gears have different base pitches, or the centre distance leaves no line of action.

    Examples
    --------
    >>> pair = mesh(GearSpec(20, 3.0, 20.0), GearSpec(30, 3.0, 20.0), 75.0)
    >>> round(pair.contact_ratio, 3), round(pair.working_pressure_angle_deg, 6), abs(pair.backlash_mm) < 1e-9
    (1.605, 20.0, True)
    """
    if first.rolling_radius or second.rolling_radius:
        raise InputError("Composite teeth run true at their own centres only; no other mesh is worked out for them.")
    base_pitch = 2 * pi * first.base_radius_mm / first.teeth
    if abs(2 * pi * second.base_radius_mm / second.teeth - base_pitch) > SAME_BASE_PITCH * base_pitch:
        raise InputError("The two gears have different base pitches and can't run together; check pitch and angle.")
    if centre_mm <= first.base_radius_mm + second.base_radius_mm:
        raise InputError("The centre distance is too small for any contact of the flanks; check it and the teeth.")
    angle = acos((first.base_radius_mm + second.base_radius_mm) / centre_mm)
    line = centre_mm * sin(angle)
    reach_first, reach_second = (min(line, _reach(gear, gear.flank_tip_radius_mm)) for gear in (first, second))
    # Contact ends where a tip leaves, and can't start below where the flank itself does.
    usable = min(reach_first, line - _flank_start(second)) + min(reach_second, line - _flank_start(first)) - line
    play = _backlash(first, second, centre_mm)
    return Mesh(
        working_pressure_angle_deg=degrees(angle),
        contact_ratio=max(0.0, usable) / base_pitch,
        backlash_mm=play,
        clearance_mm=min(_gap(first, second, centre_mm), _gap(second, first, centre_mm)),
        interference=play < -SAME_BASE_PITCH * base_pitch or _digs(first, second, line) or _digs(second, first, line),
        undercut=(is_undercut(first), is_undercut(second)),
    )


def _reach(gear: GearSpec, radius_mm: float) -> float:
    """Distance along the line of action from the gear's base circle to a radius."""
    return sqrt(max(0.0, radius_mm**2 - gear.base_radius_mm**2))


def _flank_start(gear: GearSpec) -> float:
    return _reach(gear, space_side(gear).form_radius_mm)


def _digs(gear: GearSpec, mate: GearSpec, line_mm: float) -> bool:
    """Whether the gear's tip reaches below the mate's flank."""
    return line_mm - _reach(gear, gear.flank_tip_radius_mm) < _flank_start(mate) - SAME_BASE_PITCH * line_mm


def _gap(gear: GearSpec, mate: GearSpec, centre_mm: float) -> float:
    return centre_mm - gear.tip_radius_mm - mate.root_radius_mm


def _backlash(first: GearSpec, second: GearSpec, centre_mm: float) -> float:
    """Pitch less both thicknesses, all along the working pitch circles."""
    ratio = first.teeth / (first.teeth + second.teeth)
    radii = centre_mm * ratio, centre_mm * (1 - ratio)
    thickness = [2 * r * half_angle_rad(gear, r) for gear, r in zip((first, second), radii, strict=True)]
    return 2 * pi * radii[0] / first.teeth - sum(thickness)
