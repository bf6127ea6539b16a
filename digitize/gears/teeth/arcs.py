"""Outlines as true arcs, as few of them as stay within a stated distance of the exact curve.

One closed chain of arcs and straight lines is what a DXF polyline with bulges holds and what a cutter follows without
chords. Tips, roots and bores are exact; an involute or root curve is cut into the fewest arcs, evenly good, that keep
within the error: each begins and ends on the exact curve.

Glossary
--------
bulge
    Of the piece from one point to the next: the tangent of a quarter of its arc's angle, positive counter-clockwise,
    zero for a straight line.
bow
    Height of an arc over the middle of its chord, positive to the right of the way.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import acos, asin, atan, ceil, pi, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from calibrate.errors import InputError
from digitize.gears.bore import Keyseat, check_bore
from digitize.gears.teeth.tooth import Curve, GearSpec, SpaceSide, area_mm2, space_side

ARC_ERROR_MM = 0.001
"""No arc lies farther than this from the exact curve: a tenth of the finest shop tolerance in use here."""
ERROR_SAFETY = 0.95
"""The error is looked at in a few places of each arc; what lies between gets a twentieth in hand."""
PLACES = np.linspace(0.0, 1.0, 18)[1:-1]
"""Of the curve's parameter within one arc."""
NO_BOTTOM_RAD = 1e-9
"""A space's bottom narrower than this has no arc of its own."""
SAME_POINT_MM = 1e-6
"""Ends of exact curves that meet agree far better than this; the smallest chamfer is far larger."""
STRAIGHT = 1e-9
"""A piece that leaves its chord by less than this share of it is a straight line."""
MOST_ARCS = 2000
"""More pieces than this on one curve are a slip in the error asked for."""
EVEN_ROUNDS = 12
"""Halvings when the arcs of a curve are made evenly good: the last changes their error by a part in four thousand."""
CUT_ROUNDS = 30
"""Halvings when an arc is made as long as may be."""

Complexes = NDArray[np.complex128]
Floats = NDArray[np.float64]


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


@dataclass(frozen=True)
class Chain:
    """An open chain of arcs: points, shape (N + 1,), and the N bulges between them."""

    points: Complexes
    bulges: Floats

    def reversed(self) -> "Chain":
        """The same way back."""
        return Chain(self.points[::-1], -self.bulges[::-1])

    def mirrored(self) -> "Chain":
        """The same on the other side of the y axis."""
        return Chain(-self.points.conj(), -self.bulges)


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
    rise = _joined([part for part in (root, ends[0], flank, ends[1]) if part is not None])
    left = Chain(rise.points * half_pitch, rise.bulges)
    tip = _arc_across(gear.tip_radius_mm, side.tip_half_angle_rad)
    parts = [left.mirrored(), tip, left.reversed()]
    if side.bottom_half_angle_rad >= NO_BOTTOM_RAD:
        bottom = _arc_across(gear.root_radius_mm, side.bottom_half_angle_rad)
        parts.append(Chain(bottom.points * half_pitch, bottom.bulges))
    return _joined(parts)


def _arc_across(radius_mm: float, half_angle: float) -> Chain:
    """One arc about the origin across the +y axis, counter-clockwise."""
    ends = radius_mm * 1j * np.exp(1j * np.array([-half_angle, half_angle]))
    return Chain(ends, np.array([tan(half_angle / 2)]))


def _joined(parts: Sequence[Chain]) -> Chain:
    """Chains one after the other; where an end is not the next one's start, a straight line joins them."""
    points, bulges = [parts[0].points], [parts[0].bulges]
    for before, after in pairwise(parts):
        if abs(after.points[0] - before.points[-1]) < SAME_POINT_MM:
            points.append(after.points[1:])
        else:
            points.append(after.points)
            bulges.append(np.zeros(1))
        bulges.append(after.bulges)
    return Chain(np.concatenate(points), np.concatenate(bulges))


def fewest_arcs(curve: Curve, start: float, stop: float, error_mm: float = ARC_ERROR_MM) -> Chain:
    """The fewest arcs with their ends on a smooth curve that stay within the error, made evenly good.

    Raises
    ------
    InputError
        Where that takes absurdly many.
    """
    if stop <= start:
        return Chain(np.array([curve(start)]), np.zeros(0))
    allowed = ERROR_SAFETY * error_mm
    cuts = _cuts(curve, start, stop, allowed)
    low, high = 0.0, allowed
    for _ in range(EVEN_ROUNDS):
        middle = (low + high) / 2
        tighter = _cuts(curve, start, stop, middle, len(cuts) - 1)
        if tighter:
            cuts, high = tighter, middle
        else:
            low = middle
    ends = np.array([curve(t) for t in cuts], dtype=np.complex128)
    return Chain(ends, np.array([_best_arc(curve, a, b)[0] for a, b in pairwise(cuts)]))


def _cuts(curve: Curve, start: float, stop: float, allowed_mm: float, most: int = MOST_ARCS) -> list[float]:
    """Parameters between arcs, each as long as the error lets it be; empty where more than ``most`` are needed."""
    cuts = [start]
    while cuts[-1] < stop:
        if len(cuts) > most:
            if most == MOST_ARCS:
                raise InputError("This curve takes too many arcs for its error; allow a larger one.")
            return []
        cuts.append(_farthest(curve, cuts[-1], stop, allowed_mm))
    return cuts


def _farthest(curve: Curve, low: float, stop: float, allowed_mm: float) -> float:
    if _best_arc(curve, low, stop)[1] <= allowed_mm:
        return stop
    near, far = low, stop
    for _ in range(CUT_ROUNDS):
        middle = (near + far) / 2
        if _best_arc(curve, low, middle)[1] <= allowed_mm:
            near = middle
        else:
            far = middle
    return near if near > low else far


def _best_arc(curve: Curve, low: float, high: float) -> tuple[float, float]:
    """Bulge of the arc between two points of a curve that lies nearest to it between them, and its greatest error."""
    first, last = curve(low), curve(high)
    chord = last - first
    length = abs(chord)
    if length == 0:
        return 0.0, 0.0
    along = np.array([curve(low + share * (high - low)) for share in PLACES]) - first
    along = along * chord.conjugate() / length
    x, y = along.real, along.imag
    if float(np.abs(y).max()) < STRAIGHT * length:
        return 0.0, float(np.abs(y).max())
    # Circles through both ends obey x^2 + y^2 - L x = 2 k y, k the height of the centre over the chord. Each place has
    # one; the best of them is as good as any where the curve leaves its arc first to one side and then to the other.
    usable = np.abs(y) > STRAIGHT * length
    heights = (x**2 + y**2 - length * x)[usable] / (2 * y[usable])
    centres = length / 2 + 1j * heights
    errors = np.abs(np.abs(along[None, :] - centres[:, None]) - np.abs(centres)[:, None]).max(axis=1)
    best = int(errors.argmin())
    radius, height = float(abs(centres[best])), float(heights[best])
    bow = radius - height if y.sum() < 0 else -(radius + height)
    return 2 * bow / length, float(errors[best])


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
