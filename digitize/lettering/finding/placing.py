"""Parts in the frame of a reading direction, and the fractions that show there.

Glossary
--------
frame
    Axes turned so that a cluster reads along +u; v points down as the reader sees it.
fraction bar
    A level bar with something to read over it and under it.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from calibrate.sheet import FloatArray
from digitize.lettering.finding.parts import Look, Part

LYING = 0.75
"""A figure less high than this share of its width lies on its side."""
LEVEL_BAR_DEG = 24.0
BAR_REACH = 0.75
"""Figures of a fraction stand at most this far from its bar, in figure heights."""
BAR_EVENLY = 0.5
"""... and as far over it as under it to this, in figure heights: a piece of a torn figure stands near one row only."""
BAR_OVERHANG = 0.35
"""Middles of sloping figures may stand beyond the ends of a short bar, in figure heights."""
TALL = 0.55
SQUARE_ON_DEG = 0.0, 90.0


@dataclass(frozen=True)
class Placed:
    """A part in a frame: u from left to right, v from top to bottom."""

    part: Part
    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Extent along the reading direction."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Extent across the reading direction."""
        return self.bottom - self.top

    @property
    def middle(self) -> tuple[float, float]:
        """(u, v) of the box's middle."""
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2


def frame_axes(angle_deg: float) -> FloatArray:
    """Unit vectors u and v in level pixels, as rows of a (2, 2) array.

    Examples
    --------
    >>> frame_axes(90.0).round(3).tolist()
    [[0.0, -1.0], [1.0, 0.0]]
    """
    turn = math.radians(angle_deg)
    return np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])


def place(parts: Iterable[Part], angle_deg: float) -> list[Placed]:
    """Boxes of parts in the frame of a reading direction."""
    if angle_deg in SQUARE_ON_DEG:
        level = angle_deg == SQUARE_ON_DEG[0]
        boxes = ((part, *part.box) for part in parts)
        return [Placed(part, *((x0, y0, x1, y1) if level else (-y1, x0, -y0, x1))) for part, x0, y0, x1, y1 in boxes]
    axes = frame_axes(angle_deg)
    placed = []
    for part in parts:
        turned = part.hull @ axes.T
        (left, top), (right, bottom) = turned.min(axis=0), turned.max(axis=0)
        placed.append(Placed(part, float(left), float(top), float(right), float(bottom)))
    return placed


@dataclass(frozen=True)
class Unit:
    """Something that stands in a row as one: a letter, or a whole fraction."""

    items: tuple[Placed, ...]
    is_fraction: bool = False

    @property
    def left(self) -> float:
        return min(item.left for item in self.items)

    @property
    def right(self) -> float:
        return max(item.right for item in self.items)

    @property
    def top(self) -> float:
        return min(item.top for item in self.items)

    @property
    def bottom(self) -> float:
        return max(item.bottom for item in self.items)

    @property
    def level(self) -> float:
        """v of the unit's middle; a fraction's middle is its bar."""
        item = self.items[0]
        return (item.top + item.bottom) / 2


def fractions_of(placed: Sequence[Placed], height: float) -> list[Unit]:
    """Level bars with figures over and under them, each as one unit, the bar first."""
    letters = [item for item in placed if item.part.look is not Look.DOT]
    found = []
    taken: set[int] = set()
    for bar in placed:
        if bar.part.look is not Look.BAR or bar.height > bar.width * math.tan(math.radians(LEVEL_BAR_DEG)):
            continue
        level = bar.middle[1]
        beside = [
            item
            for item in letters
            if item is not bar
            and item.part.label not in taken
            and bar.left - BAR_OVERHANG * height < item.middle[0] < bar.right + BAR_OVERHANG * height
            and item.height > max(0.4 * height, LYING * item.width)
        ]
        over = [item for item in beside if item.middle[1] < level and bar.top - item.bottom < BAR_REACH * height]
        under = [item for item in beside if item.middle[1] > level and item.top - bar.bottom < BAR_REACH * height]
        over = [item for item in over if item.bottom < level + 0.15 * height]
        under = [item for item in under if item.top > level - 0.15 * height]
        if over and under and _are_as_near(bar, over, under, height):
            unit = Unit((bar, *over, *under), is_fraction=True)
            taken |= {item.part.label for item in unit.items}
            found.append(unit)
    return found


def _are_as_near(bar: Placed, over: Sequence[Placed], under: Sequence[Placed], height: float) -> bool:
    """Whether the figures over a bar and those under it stand about as far from it."""
    above, below = bar.top - max(item.bottom for item in over), min(item.top for item in under) - bar.bottom
    return abs(above - below) < BAR_EVENLY * height
