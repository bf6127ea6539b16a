"""Outlines as true arcs, as few of them as stay within a stated distance of the exact curve.

One closed chain of arcs and straight lines is what a DXF polyline with bulges holds and what a cutter follows without
chords. Tips, roots and bores are exact; an involute or root curve is cut into the fewest arcs, evenly good, that keep
within the error: each begins and ends on the exact curve.

Glossary
--------
bulge
    Of the piece from one point to the next: the tangent of a quarter of its arc's angle, positive counter-clockwise,
    zero for a straight line.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import acos, asin, atan, ceil, pi, sqrt, tan

import numpy as np

from digitize.gears.bore import Keyseat, check_bore
from digitize.gears.teeth.arc_chain import ARC_ERROR_MM, Chain, Complexes, Floats, fewest_arcs, joined
from digitize.gears.teeth.tooth import GearSpec, SpaceSide, area_mm2, space_side

NO_BOTTOM_RAD = 1e-9
"""A space's bottom narrower than this has no arc of its own."""


@dataclass(frozen=True)
class ArcOutline:
    """A closed outline of arcs and lines, counter-clockwise.

    Attributes
    ----------
    points : ndarray, float64, shape (M, 2)
        x, y in millimetres; the first point is not repeated.
    bulges : ndarray, float64, shape (M,)
        Of the piece that starts at each point.
    error_mm : float
        No point of the exact curve is farther than this from the outline.
    area_mm2 : float
        Enclosed by the exact curve.
    """

    points: Floats
    bulges: Floats
    error_mm: float
    area_mm2: float

    def moved(self, x_mm: float, y_mm: float, turn_rad: float = 0.0) -> "ArcOutline":
        """The same, turned about the origin and then moved."""
        ring = (self.points @ np.array([1, 1j])) * np.exp(1j * turn_rad) + complex(x_mm, y_mm)
        return ArcOutline(np.column_stack([ring.real, ring.imag]), self.bulges, self.error_mm, self.area_mm2)


@lru_cache(maxsize=64)
def teeth_in_arcs(gear: GearSpec, error_mm: float = ARC_ERROR_MM) -> ArcOutline:
    """The closed outline of a gear's teeth.

    Examples
    --------
    >>> found = teeth_in_arcs(GearSpec(teeth=42, module_mm=3.175, pressure_angle_deg=14.5, dedendum=1.157))
    >>> len(found.points) < 42 * 20
    True
    """
    side = space_side(gear)
    tooth = _tooth(side, error_mm)
    turns = np.exp(2j * pi * np.arange(gear.teeth) / gear.teeth)
    ring = (turns[:, None] * tooth.points[None, :-1]).ravel()
    return _closed(Chain(ring, np.tile(tooth.bulges, gear.teeth)), error_mm, area_mm2(side))


def _closed(ring: Chain, error_mm: float, area: float) -> ArcOutline:
    return ArcOutline(np.column_stack([ring.points.real, ring.points.imag]), ring.bulges, error_mm, area)


def _tooth(side: SpaceSide, error_mm: float) -> Chain:
    """One tooth on the +y axis and the root after it, to the first point of the next tooth."""
    gear, half_pitch = side.gear, np.exp(1j * pi / side.gear.teeth)
    root = fewest_arcs(side.root_curve, 0.0, side.root_end, error_mm)
    flank = fewest_arcs(side.flank, side.flank_start, side.flank_end, error_mm)
    ends = [None if piece is None else fewest_arcs(piece.curve, piece.start, piece.stop, error_mm)
            for piece in (side.below, side.above)]  # fmt: skip
    rise = joined([part for part in (root, ends[0], flank, ends[1]) if part is not None])
    left = Chain(rise.points * half_pitch, rise.bulges)
    tip = _arc_across(gear.tip_radius_mm, side.tip_half_angle_rad)
    parts = [left.mirrored(), tip, left.reversed()]
    if side.bottom_half_angle_rad >= NO_BOTTOM_RAD:
        bottom = _arc_across(gear.root_radius_mm, side.bottom_half_angle_rad)
        parts.append(Chain(bottom.points * half_pitch, bottom.bulges))
    return joined(parts)


def _arc_across(radius_mm: float, half_angle: float) -> Chain:
    """One arc about the origin across the +y axis, counter-clockwise."""
    ends = radius_mm * 1j * np.exp(1j * np.array([-half_angle, half_angle]))
    return Chain(ends, np.array([tan(half_angle / 2)]))


def bore_in_arcs(bore_mm: float, keyseat: Keyseat | None = None) -> ArcOutline:
    """The closed outline of a bore, exact, with its keyseat on the +y axis.

    Raises
    ------
    InputError
        For a bore or keyseat that can't be.
    """
    check_bore(bore_mm, keyseat)
    radius = bore_mm / 2
    if keyseat is None:
        ends = radius * np.array([1, -1], dtype=np.complex128)
        return _closed(Chain(ends, np.ones(2)), 0.0, pi * radius**2)
    half, corner = keyseat.width_mm / 2, asin(keyseat.width_mm / bore_mm)
    side = sqrt(radius**2 - half**2)
    top = side + keyseat.depth_at_side_mm
    # Two arcs from left of the keyseat round the bottom to its right; each turns by half of what the keyseat leaves.
    ring = np.array(
        [complex(-half, side), complex(0, -radius), complex(half, side), complex(half, top), complex(-half, top)]
    )
    quarter = tan((pi - corner) / 4)
    area = pi * radius**2 + keyseat.width_mm * keyseat.depth_at_side_mm - (radius**2 * corner - half * side)
    return _closed(Chain(ring, np.array([quarter, quarter, 0.0, 0.0, 0.0])), 0.0, area)


def flattened(outline: ArcOutline, chord_error_mm: float) -> Floats:
    """Points of a polygon inside the arcs and no farther than ``chord_error_mm`` from them, shape (M, 2)."""
    ring = outline.points @ np.array([1, 1j])
    pieces = zip(ring, np.roll(ring, -1), outline.bulges.tolist(), strict=True)
    found = np.concatenate([_chords(a, b, bulge, chord_error_mm) for a, b, bulge in pieces])
    return np.column_stack([found.real, found.imag])


def _chords(first: complex, last: complex, bulge: float, chord_error_mm: float) -> Complexes:
    """Points along one piece, the last left out."""
    if bulge == 0:
        return np.array([first], dtype=np.complex128)
    angle = 4 * atan(bulge)
    centre = (first + last) / 2 + 1j * (last - first) / 2 / tan(angle / 2)
    step = 2 * acos(max(-1.0, 1 - chord_error_mm / abs(first - centre)))
    turns = angle * np.arange(count := max(1, ceil(abs(angle) / step))) / count
    return np.asarray(centre + (first - centre) * np.exp(1j * turns), dtype=np.complex128)
