"""Endless lines and full circles that strokes lie on.

Glossary
--------
track
    The endless line or full circle that a piece lies on. Along it runs ``s`` in px (on a circle, radius times angle,
    growing from +x towards +y, which is clockwise as seen); across it the offset.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.centre_lines.fit import ARC, LINE

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Track:
    """An endless line through (x, y) along (dx, dy), or a circle round (x, y) with ``radius``."""

    kind: int
    x: float
    y: float
    dx: float = 1.0
    dy: float = 0.0
    radius: float = 0.0

    @property
    def period(self) -> float:
        """Length of the full circle in px; infinite for a line."""
        return 2 * math.pi * self.radius if self.kind == ARC else math.inf

    def place(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return ``s`` along and the offset across of points, shape (..., 2); on a circle s is in (-half, half]."""
        x, y = points[..., 0] - self.x, points[..., 1] - self.y
        if self.kind == LINE:
            return x * self.dx + y * self.dy, y * self.dx - x * self.dy
        return np.arctan2(y, x) * self.radius, np.hypot(x, y) - self.radius

    def at(self, s: float | FloatArray, offset: float | FloatArray = 0.0) -> FloatArray:
        """Return the point at ``s``, ``offset`` px to the side (outwards on a circle), shape (..., 2)."""
        s, offset = np.asarray(s, dtype=np.float64), np.asarray(offset, dtype=np.float64)
        points = np.empty((*np.broadcast_shapes(s.shape, offset.shape), 2))
        if self.kind == LINE:
            points[..., 0] = self.x + s * self.dx - offset * self.dy
            points[..., 1] = self.y + s * self.dy + offset * self.dx
        else:
            angle, distance = s / self.radius, self.radius + offset
            points[..., 0] = self.x + distance * np.cos(angle)
            points[..., 1] = self.y + distance * np.sin(angle)
        return points

    @cached_property
    def row(self) -> tuple[float, ...]:
        """The track as the start of a row of `table`."""
        return self.kind, self.x, self.y, self.dx, self.dy, max(self.radius, 1e-9)

    def s_of(self, x: float, y: float) -> float:
        """``s`` of one point; on a circle in (-half, half]."""
        if self.kind == LINE:
            return (x - self.x) * self.dx + (y - self.y) * self.dy
        return math.atan2(y - self.y, x - self.x) * self.radius

    def point(self, s: float) -> tuple[float, float]:
        """Return one point of the track."""
        if self.kind == LINE:
            return self.x + s * self.dx, self.y + s * self.dy
        angle = s / self.radius
        return self.x + self.radius * math.cos(angle), self.y + self.radius * math.sin(angle)

    def heading(self, s: float) -> tuple[float, float]:
        """Return the unit direction of growing s at ``s``."""
        if self.kind == LINE:
            return self.dx, self.dy
        return -math.sin(s / self.radius), math.cos(s / self.radius)
