"""The lines that bound an angle: they run to the centre of its arc."""

import math
from collections.abc import Sequence

from digitize.dimensions.linking.directions import bearing_deg, fold_deg, line_angle_deg, unit
from digitize.dimensions.linking.touching import crossing
from digitize.strokes.primitives import Arc, Line, Point

LEGS_DEG = 8.0
"""The lines that bound an angle run to the centre of its arc, and enclose what its tips do, to this."""


def leg_at(tip: Point, arc: Arc, lines: Sequence[Line], touch_px: float) -> Line | None:
    """The longest line at a tip that runs towards the arc's centre."""
    bearing = bearing_deg(tip, arc.centre)
    radial = [line for line in lines if is_radial(line, tip, bearing, touch_px)]
    return max(radial, key=lambda line: math.dist(line.start, line.end), default=None)


def is_radial(line: Line, tip: Point, bearing: float, touch_px: float) -> bool:
    """Does a line at a tip run towards the centre of the arc, from which the tip lies in this bearing?"""
    leans = abs(fold_deg(line_angle_deg(line) - bearing)) >= LEGS_DEG
    return not leans and crossing(tip, unit(bearing + 90.0), line, touch_px) is not None
