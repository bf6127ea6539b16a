"""Cut faces hatched as on the print: one HATCH a face, its lines at the print's own angle and distance, or as drawn."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import Any

from ezdxf.colors import BYLAYER
from ezdxf.entities.hatch import Hatch
from ezdxf.layouts.layout import Modelspace
from shapely import Point as Spot
from shapely import Polygon

from digitize.redraw.dxf import Corner
from digitize.strokes.primitives import Point

Stroke = tuple[Point, Point]
HALF_TURN_DEG = 180.0
USUAL_DEG, USUAL_PAPER_MM = 45.0, 3.0
"""ISO 128-50: at 45 degrees; the distance is common practice for faces of a few cm."""
LEAST_PAPER_MM = 0.5
"""Hatch lines nearer to each other are one that was traced in parts."""


@dataclass(frozen=True)
class Pattern:
    """Direction of the hatch lines, 0 to 180 degrees from x, and their distance in part mm."""

    angle_deg: float
    pitch: float


def pattern_of(strokes: Sequence[Stroke], face: Polygon, paper_mm: float) -> Pattern:
    """The pattern of those hatch lines whose middles lie in a face; the usual one where fewer than two do.

    Examples
    --------
    >>> strokes = [((x, 0.0), (x + 4.0, 4.0)) for x in (0.0, 3.0, 6.0)]
    >>> found = pattern_of(strokes, Polygon([(0, 0), (10, 0), (10, 4), (0, 4)]), 1.0)
    >>> round(found.angle_deg, 6), round(found.pitch, 6)
    (45.0, 2.12132)
    """
    mine = [(a, b) for a, b in strokes if face.contains(Spot((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))]
    if len(mine) < 2:
        return Pattern(USUAL_DEG, USUAL_PAPER_MM * paper_mm)
    longest = max(mine, key=lambda one: math.dist(*one))
    about = _direction_deg(longest)
    turns = [(_direction_deg(one) - about + 90.0) % HALF_TURN_DEG - 90.0 for one in mine]
    angle = (about + median(turns)) % HALF_TURN_DEG
    across = -math.sin(math.radians(angle)), math.cos(math.radians(angle))
    places = sorted((a[0] + b[0]) / 2 * across[0] + (a[1] + b[1]) / 2 * across[1] for a, b in mine)
    steps = [b - a for a, b in pairwise(places) if b - a > LEAST_PAPER_MM * paper_mm]
    return Pattern(angle, median(steps) if steps else USUAL_PAPER_MM * paper_mm)


def _direction_deg(stroke: Stroke) -> float:
    (x0, y0), (x1, y1) = stroke
    return math.degrees(math.atan2(y1 - y0, x1 - x0)) % HALF_TURN_DEG


def add_hatch(space: Modelspace, corners: Sequence[Corner], pattern: Pattern, factor: float, layer: str) -> Hatch:
    """Hatch evenly within a closed polyline; its corners are in file units, the pattern is in part mm."""
    turn, pitch = math.radians(pattern.angle_deg), pattern.pitch * factor
    step = (-pitch * math.sin(turn), pitch * math.cos(turn))
    return _filled(space, corners, [[pattern.angle_deg, (0.0, 0.0), step, []]], layer)


def add_hatch_as_drawn(space: Modelspace, corners: Sequence[Corner], strokes: Sequence[Stroke], layer: str) -> Hatch:
    """Hatch within a closed polyline by the very lines that a pen drew across it, in file units.

    A drafter steps by eye: no even pattern lies on his lines. So each is a line of the pattern by itself, and recurs
    only beyond the region.
    """
    reach = 2.0 * math.dist(*(tuple(pick(axis) for axis in zip(*corners, strict=True)) for pick in (min, max)))
    definition = []
    for stroke in strokes:
        turn_deg = _direction_deg(stroke)
        turn = math.radians(turn_deg)
        definition.append([turn_deg, stroke[0], (-reach * math.sin(turn), reach * math.cos(turn)), []])
    return _filled(space, corners, definition, layer)


def _filled(space: Modelspace, corners: Sequence[Corner], definition: Sequence[Any], layer: str) -> Hatch:
    hatch = space.add_hatch(color=BYLAYER, dxfattribs={"layer": layer})
    hatch.set_pattern_fill("PRINT", color=BYLAYER, definition=definition)
    hatch.paths.add_polyline_path(list(corners), is_closed=True)
    return hatch
