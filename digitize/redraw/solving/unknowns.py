"""The unknowns of one view: places of levels and centre lines, nodes, circles' centres and radii."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

import numpy as np

from calibrate.sheet import FloatArray
from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.plane_strokes import Axis

NODE_WEIGHT = 1e-3  # of a place that only strokes' crossings give; strokes weigh by their length


@dataclass(frozen=True)
class CircleUnknowns:
    """Indices of a circle's centre and radius among the unknowns, and the circle as drawn."""

    x: int
    y: int
    radius: int
    drawn: Circular

    def moved(self, values: FloatArray) -> Circular:
        """The circle with other values of the unknowns."""
        centre = float(values[self.x]), float(values[self.y])
        return replace(self.drawn, centre=centre, radius=float(values[self.radius]))


@dataclass
class Unknowns:
    """Grows while a view is described; `values` and `weights` are then arrays over all unknowns.

    Attributes
    ----------
    levels, level_axes : list of int, list of Axis
        Unknown of each level of the plane, and its axis.
    axes : list of (Axis, int)
        Unknown of each centre line that lies level or upright.
    nodes : list of (int, int)
        Unknowns of each node.
    circles : dict of int to CircleUnknowns
        By index into `Strokes.arcs`.
    rounds : dict of int to int
        That index for each round stroke of the plane.
    """

    drawn: list[float] = field(default_factory=list)
    weight: list[float] = field(default_factory=list)
    levels: list[int] = field(default_factory=list)
    level_axes: list[Axis] = field(default_factory=list)
    axes: list[tuple[Axis, int]] = field(default_factory=list)
    nodes: list[tuple[int, int]] = field(default_factory=list)
    circles: dict[int, CircleUnknowns] = field(default_factory=dict)
    rounds: dict[int, int] = field(default_factory=dict)

    def add(self, value: float, weight: float) -> int:
        """Add an unknown and give its index."""
        self.drawn.append(value)
        self.weight.append(weight)
        return len(self.drawn) - 1

    def shared(self, candidates: Iterable[int], value: float, weight: float, most: float) -> int:
        """The nearest of some unknowns, which then carries ``value`` too, or a new one where none is near."""
        near = min(candidates, key=lambda index: abs(self.drawn[index] - value), default=None)
        if near is None or abs(self.drawn[near] - value) > most:
            return self.add(value, weight)
        total = self.weight[near] + weight
        self.drawn[near] += (value - self.drawn[near]) * weight / total
        self.weight[near] = total
        return near

    @property
    def values(self) -> FloatArray:
        """Values on the drawing, shape (N,)."""
        return np.array(self.drawn)

    @property
    def weights(self) -> FloatArray:
        """Weights of the squared movements, shape (N,)."""
        return np.array(self.weight)
