"""What the tip of an arrow touches: the extension line, edge or circle that the draughtsman brought it to."""

import math
from dataclasses import dataclass

from digitize.dimensions.linking.directions import across, along, fold_deg, line_angle_deg, on_sweep, unit
from digitize.strokes.primitives import Arc, Arrowhead, Line, Point, Role, Strokes

TOUCH_MM = 0.9
"""An arrow touches a line when its tip is at most this far off, in mm of paper."""
SQUARE_DEG = 35.0
"""An extension line may lean this much from square to its dimension line (isometric help lines)."""
SAME_PLACE = 0.3
"""Lines within this share of the touching distance are at the same place."""
LEAST_STD_PX = 0.02
"""No line is known better than this, in pixels."""
FREE_END_STD_MM = 0.35
"""Standard error of a span's end that has no arrowhead or no line to stop at, in mm of paper."""


@dataclass(frozen=True)
class _Hit:
    """A line or arc that crosses an axis ``t`` pixels on from a tip."""

    t: float
    length_px: float
    std_px: float
    line: int | None


def stop_at(tip: Point, axis: Point, strokes: Strokes, mm_per_px: float) -> tuple[Point, float, int | None]:
    """Carry a tip along its axis onto the line or circle it touches.

    Of several at nearly the same place the longest is taken, since its position is known best.

    Returns
    -------
    point, standard error in pixels, index of the line or None
    """
    touch_px = TOUCH_MM / mm_per_px
    hits = _hits(tip, axis, strokes, touch_px)
    if not hits:
        return tip, FREE_END_STD_MM / mm_per_px, None
    nearest = min(abs(hit.t) for hit in hits)
    best = max((hit for hit in hits if abs(hit.t) <= nearest + SAME_PLACE * touch_px), key=lambda hit: hit.length_px)
    return (tip[0] + best.t * axis[0], tip[1] + best.t * axis[1]), max(best.std_px, LEAST_STD_PX), best.line


def _hits(tip: Point, axis: Point, strokes: Strokes, touch_px: float) -> list[_Hit]:
    hits = []
    for index, line in enumerate(strokes.lines):
        t = crossing(tip, axis, line, touch_px)
        if t is not None:
            hits.append(_Hit(t, math.dist(line.start, line.end), line.std_px, index))
    for arc in strokes.arcs:
        length_px = math.radians(arc.sweep_deg) * arc.radius_px
        hits += [
            _Hit(t, length_px, arc.radius_std_px, None)
            for t in _arc_crossings(tip, axis, arc)
            if abs(t) <= 0.7 * touch_px
        ]
    return hits


def crossing(tip: Point, axis: Point, line: Line, touch_px: float) -> float | None:
    """Distance along the axis from ``tip`` to a line that crosses it squarely enough, or None."""
    (x, y), (x0, y0), (x1, y1), reach = tip, line.start, line.end, 2 * touch_px
    if not (min(x0, x1) - reach <= x <= max(x0, x1) + reach and min(y0, y1) - reach <= y <= max(y0, y1) + reach):
        return None  # most lines lie elsewhere
    if line.role in (Role.DIMENSION, Role.LEADER, Role.HATCH, Role.BORDER, Role.TABLE):
        return None
    axis_deg = math.degrees(math.atan2(-axis[1], axis[0]))
    if abs(abs(fold_deg(line_angle_deg(line) - axis_deg)) - 90.0) > SQUARE_DEG:
        return None
    t = _crossing_at(tip, axis, line)
    if abs(t) > touch_px:
        return None
    at = tip[0] + t * axis[0], tip[1] + t * axis[1]
    length = math.dist(line.start, line.end)
    direction = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length
    s = along(at, line.start, direction)
    return t if -touch_px <= s <= length + touch_px else None


def _crossing_at(tip: Point, axis: Point, line: Line) -> float:
    length = math.dist(line.start, line.end)
    normal = -(line.end[1] - line.start[1]) / length, (line.end[0] - line.start[0]) / length
    slope = axis[0] * normal[0] + axis[1] * normal[1]
    return -along(tip, line.start, normal) / slope


def _arc_crossings(tip: Point, axis: Point, arc: Arc) -> list[float]:
    t0 = along(arc.centre, tip, axis)
    off = across(arc.centre, tip, axis)
    if abs(off) >= arc.radius_px:
        return []
    half = math.sqrt(arc.radius_px**2 - off**2)
    return [t for t in (t0 - half, t0 + half) if on_sweep(arc, (tip[0] + t * axis[0], tip[1] + t * axis[1]))]


def tail_of(arrow: Arrowhead, strokes: Strokes) -> Point:
    """Far end of the arrow's shaft, behind its tip: a shaft may run on past a tip, to that of the next dimension."""
    direction = unit(arrow.direction_deg)
    if arrow.line is None:
        return arrow.tip[0] - arrow.length_px * direction[0], arrow.tip[1] - arrow.length_px * direction[1]
    line = strokes.lines[arrow.line]
    return min((line.start, line.end), key=lambda end: along(end, arrow.tip, direction))
