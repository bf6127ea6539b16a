"""One side of a tooth space put together from its curves, and the area of the gear.

`tooth_parts` holds the words, the gear's sizes and the curves that a rack leaves; `arcs` joins them to an outline.
"""

from math import pi, sin

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq

from calibrate.errors import InputError
from digitize.gears.teeth.composite import composite_side
from digitize.gears.teeth.gear_spec import FEWEST_TEETH, GearSpec
from digitize.gears.teeth.tooth_parts import (
    Curve,
    Piece,
    SpaceSide,
    flank_curve,
    from_axis,
    half_angle_rad,
    involute,
    is_undercut,
    rack_tip,
    roll_at,
    root_curve,
)

__all__ = [
    "FEWEST_TEETH",
    "Curve",
    "GearSpec",
    "Piece",
    "SpaceSide",
    "area_mm2",
    "half_angle_rad",
    "involute",
    "is_undercut",
    "rack_tip",
    "space_side",
]

TIP_LAND_SHARE = 1e-3
"""A top land under this share of a module is a pointed tooth."""
SECTOR_CHORDS = 200
"""Chords of a cycloidal end for its area: the error left is the fourth power of one's share of the curve."""


def space_side(gear: GearSpec) -> SpaceSide:
    """The curves of one side of a space, trimmed where they meet.

    Raises
    ------
    InputError
        Where the tooth is pointed below its tip circle, or undercut away to nothing.
    """
    if gear.rolling_radius:
        return _checked(composite_side(gear))
    tip = rack_tip(gear)
    root, slope = root_curve(gear, tip)
    flank = flank_curve(gear)
    _check_tip(gear, half_angle_rad(gear, gear.tip_radius_mm))
    last = pi / 2 - gear.pressure_angle_rad
    undercut = is_undercut(gear)
    end = _crossing(gear, root, last) if undercut else last
    form_radius = abs(root(end))
    if form_radius >= gear.flank_tip_radius_mm:
        raise InputError(f"With {gear.teeth} teeth the cutter leaves no flank; check teeth, depth and pressure angle.")
    start, stop = roll_at(gear, form_radius), roll_at(gear, gear.flank_tip_radius_mm)
    sharp = half_angle_rad(gear, gear.tip_radius_mm)
    return SpaceSide(gear, root, slope, end, flank, start, stop, form_radius, undercut, sharp)


def _checked(side: SpaceSide) -> SpaceSide:
    gear = side.gear
    _check_tip(gear, side.sharp_half_angle_rad)
    return side


def _check_tip(gear: GearSpec, half_angle: float) -> None:
    """Refuse a tooth whose tip, ``half_angle`` to either side of its axis before any chamfer, is none."""
    land = half_angle * gear.tip_radius_mm
    if land < TIP_LAND_SHARE * gear.module_mm:
        raise InputError("The tooth comes to a point below its outside diameter; check addendum, shift and teeth.")
    if land < gear.tip_chamfer_mm:
        raise InputError("The chamfers take away the whole tip of the tooth; give a smaller one.")


def _crossing(gear: GearSpec, root: Curve, last: float) -> float:
    """Parameter at which an undercut root curve crosses the flank."""
    axis = pi / gear.teeth

    def gap(t: float) -> float:
        point = root(t)
        return axis - from_axis(point) - half_angle_rad(gear, abs(point))

    # The curve leaves the base circle inside the tooth and ends outside it, on the involute's other branch.
    leaves = 0.0
    if abs(root(0.0)) < gear.base_radius_mm:
        leaves = float(brentq(lambda t: abs(root(t)) - gear.base_radius_mm, 0.0, last, xtol=1e-14))
    if gap(leaves) >= 0 or gap(last) <= 0:
        raise InputError(f"With {gear.teeth} teeth the cutter leaves no flank; check teeth, depth and pressure angle.")
    return float(brentq(gap, leaves, last, xtol=1e-14))


def area_mm2(side: SpaceSide) -> float:
    """Area of the gear, teeth included, bore not taken out.

    Twice the teeth times the sector under one side of a space: arcs and involute in closed form (the sector under an
    involute between rolls a and b is rb^2 (b^3 - a^3) / 6), the root curve by quadrature.
    """
    gear = side.gear
    bottom = gear.root_radius_mm**2 * side.bottom_half_angle_rad / 2
    root, _ = quad(lambda t: -(side.root_curve(t).conjugate() * side.root_slope(t)).imag / 2, 0.0, side.root_end)
    flank = gear.base_radius_mm**2 * (side.flank_end**3 - side.flank_start**3) / 6
    ends = sum(_sector_mm2(piece) for piece in (side.below, side.above) if piece is not None)
    tip = gear.tip_radius_mm**2 * side.tip_half_angle_rad / 2
    return float(2 * gear.teeth * (bottom + root + flank + ends + _chamfer_mm2(side) + tip))


def _chamfer_mm2(side: SpaceSide) -> float:
    """Triangle between the gear's centre and one chamfer."""
    gear = side.gear
    if not gear.tip_chamfer_mm:
        return 0.0
    end = side.flank(side.flank_end) if side.above is None else side.above.curve(side.above.stop)
    corner_angle = pi / gear.teeth - from_axis(end) - side.tip_half_angle_rad
    return gear.flank_tip_radius_mm * gear.tip_radius_mm * sin(corner_angle) / 2


def _sector_mm2(piece: Piece) -> float:
    """Sector under a curve: polygons of two finenesses, their errors (fourfold) taken out against each other."""

    def polygon(count: int) -> float:
        ring = np.array([piece.curve(t) for t in np.linspace(piece.start, piece.stop, count + 1)])
        return float(-(ring[:-1].conj() * ring[1:]).imag.sum() / 2)

    return (4 * polygon(2 * SECTOR_CHORDS) - polygon(SECTOR_CHORDS)) / 3
