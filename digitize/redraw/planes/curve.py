"""A circular curve in a frame with y up, and what becomes of it when the axes are scaled differently.

Glossary
--------
circular curve
    An arc, or a full circle where the sweep is 360 degrees; counter-clockwise from its start.
"""

import math
from dataclasses import dataclass

import numpy as np

from calibrate.sheet import FloatArray

Point = tuple[float, float]

FULL_TURN_DEG = 360.0
CLOSED_DEG = 1e-6  # a sweep this near a full turn is one
_FIT_SAMPLES = 181  # along the sweep; the curve is smooth, so more change nothing
_FIT_ROUNDS = 4  # Gauss-Newton doubles the digits each round


@dataclass(frozen=True)
class Circular:
    """An arc or circle: centre, radius, start and counter-clockwise sweep in degrees, y up."""

    centre: Point
    radius: float
    start_deg: float
    sweep_deg: float

    @property
    def full(self) -> bool:
        """True for a full circle."""
        return self.sweep_deg >= FULL_TURN_DEG - CLOSED_DEG

    def at(self, angle_deg: float) -> Point:
        """Point at an angle."""
        angle = math.radians(angle_deg)
        return self.centre[0] + self.radius * math.cos(angle), self.centre[1] + self.radius * math.sin(angle)

    @property
    def sagitta(self) -> float:
        """Rise of the arc over its chord; the radius and more for half a circle and more."""
        return self.radius * (1 - math.cos(math.radians(self.sweep_deg / 2)))

    @property
    def start(self) -> Point:
        """First point."""
        return self.at(self.start_deg)

    @property
    def end(self) -> Point:
        """Last point."""
        return self.at(self.start_deg + self.sweep_deg)


def axis_scaled(curve: Circular, x_factor: float, y_factor: float) -> Circular:
    """Scale a circular curve that was fitted to shrunken ink, about its centre, back to the circle that was drawn.

    Parameters
    ----------
    curve : Circular
        Centre already in the target frame, radius still in the source frame's unit.
    x_factor, y_factor : float
        Target units per source unit on each axis.

    Returns
    -------
    Circular
        In target units.

    Notes
    -----
    A compass draws a circle; paper that shrinks differently along its axes makes an ellipse of it, to which the
    stroke stage fitted a circle. To first order in the difference of the factors, the fit left out the part of the
    ink's deviation that no circle can follow. Scaling the fitted circle puts that part back with the opposite sign,
    and a second circle fit over the same sweep drops it again: what remains is the circle that was drawn. This holds
    for short arcs and full circles alike, so no ellipse is needed.

    Examples
    --------
    >>> drawn = axis_scaled(Circular((0.0, 0.0), 100.0, 0.0, 360.0), 0.101, 0.099)
    >>> round(drawn.radius, 2), drawn.full
    (10.0, True)
    """
    if x_factor == y_factor:
        return Circular(curve.centre, curve.radius * x_factor, curve.start_deg, curve.sweep_deg)
    angles = np.radians(np.linspace(curve.start_deg, curve.start_deg + curve.sweep_deg, _FIT_SAMPLES))
    offsets = curve.radius * np.column_stack([x_factor * np.cos(angles), y_factor * np.sin(angles)])
    x, y, radius = fitted_circle(offsets, curve.radius * (x_factor + y_factor) / 2)
    centre = (curve.centre[0] + x, curve.centre[1] + y)
    if curve.full:
        return Circular(curve.centre, radius, curve.start_deg, curve.sweep_deg)
    first, last = (math.degrees(math.atan2(end[1] - y, end[0] - x)) for end in (offsets[0], offsets[-1]))
    return Circular(centre, radius, first, (last - first) % FULL_TURN_DEG)


def fitted_circle(points: FloatArray, radius: float) -> tuple[float, float, float]:
    """Centre and radius of the circle nearest to points, shape (N, 2), that lie about the origin; ``radius`` is where
    the search begins."""
    centre = np.zeros(2)
    for _ in range(_FIT_ROUNDS):
        spokes = points - centre
        lengths = np.hypot(spokes[:, 0], spokes[:, 1])
        design = np.column_stack([spokes / lengths[:, None], np.ones(len(points))])
        step = np.linalg.lstsq(design, lengths - radius, rcond=None)[0]
        centre, radius = centre + step[:2], radius + float(step[2])
    return float(centre[0]), float(centre[1]), radius
