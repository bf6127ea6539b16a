"""A smooth curve as the fewest arcs that stay within an error, each beginning and ending on it.

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
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from calibrate.errors import InputError
from digitize.gears.teeth.tooth_parts import Curve

ARC_ERROR_MM = 0.001
"""No arc lies farther than this from the exact curve: a tenth of the finest shop tolerance in use here."""
ERROR_SAFETY = 0.95
"""The error is looked at in a few places of each arc; what lies between gets a twentieth in hand."""
PLACES = np.linspace(0.0, 1.0, 18)[1:-1]
"""Of the curve's parameter within one arc."""
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


def joined(parts: Sequence[Chain]) -> Chain:
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
