"""Directions and distances on the sheet: angles counter-clockwise as seen, y down."""

import math

from digitize.strokes.primitives import Arc, Line, Point


def unit(angle_deg: float) -> Point:
    """Direction of an angle counter-clockwise as seen, with y down.

    Examples
    --------
    >>> [round(c, 9) for c in unit(90)]
    [0.0, -1.0]
    """
    return math.cos(math.radians(angle_deg)), -math.sin(math.radians(angle_deg))


def along(point: Point, origin: Point, direction: Point) -> float:
    """Signed distance of ``point`` from ``origin`` along a unit vector."""
    return (point[0] - origin[0]) * direction[0] + (point[1] - origin[1]) * direction[1]


def across(point: Point, origin: Point, direction: Point) -> float:
    """Signed distance of ``point`` from the axis through ``origin``."""
    return (point[1] - origin[1]) * direction[0] - (point[0] - origin[0]) * direction[1]


def fold_deg(angle_deg: float, period_deg: float = 180.0) -> float:
    """Bring a difference of angles into (-period/2, period/2]."""
    return (angle_deg + period_deg / 2) % period_deg - period_deg / 2


def bearing_deg(point: Point, origin: Point) -> float:
    """Direction in which a point lies from another, counter-clockwise as seen.

    Examples
    --------
    >>> bearing_deg((3.0, 1.0), (1.0, 3.0))
    45.0
    """
    return math.degrees(math.atan2(origin[1] - point[1], point[0] - origin[0]))


def middle_of(line: Line) -> Point:
    """Middle of a line."""
    return (line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2


def line_angle_deg(line: Line) -> float:
    """Direction of a line, counter-clockwise as seen."""
    return bearing_deg(line.end, line.start)


def on_sweep(arc: Arc, point: Point, slack_deg: float = 3.0) -> bool:
    """Does the arc's sweep hold the direction of ``point`` from its centre?"""
    if arc.sweep_deg >= 359.9:
        return True
    return (bearing_deg(point, arc.centre) - arc.start_deg + slack_deg) % 360.0 <= arc.sweep_deg + 2 * slack_deg
