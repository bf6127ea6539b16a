"""Oblique ticks: short strokes across the end of a dimension line, where it meets another line."""

import math

from digitize.strokes.crossings import Crossing, Table
from digitize.strokes.fit import LINE
from digitize.strokes.ground import Ground
from digitize.strokes.head import Head

CROSSING_SLACK_MM = 0.4
TICK_LONGEST_MM, TICK_SHORTEST_MM = 6.0, 1.2
TICK_ANGLE_DEG = (30.0, 65.0)


def ticks_on(ground: Ground, table: Table, k: int, crossings: list[Crossing]) -> list[Head]:
    """Oblique strokes across the end of a line, where it meets another one."""
    piece = table.pieces[k]
    found = []
    for crossing in crossings:
        tick = table.pieces[crossing.other]
        if tick.track.kind != LINE or not ground.px(TICK_SHORTEST_MM) <= tick.length <= ground.px(TICK_LONGEST_MM):
            continue
        if abs(crossing.other_s - 0.5 * (tick.s0 + tick.s1)) > 0.15 * tick.length or piece.length < 1.5 * tick.length:
            continue
        angle = math.degrees(math.asin(min(crossing.sine, 1.0)))
        at_end = min(abs(crossing.s - piece.s0), abs(crossing.s - piece.s1)) <= tick.length
        third = any(
            abs(c.s - crossing.s) < ground.px(CROSSING_SLACK_MM) and c.other != crossing.other and c.sine > 0.8
            for c in crossings
        )
        if not (TICK_ANGLE_DEG[0] <= angle <= TICK_ANGLE_DEG[1] and at_end and third):
            continue
        x, y = (float(v) for v in piece.track.at(crossing.s))
        sign = 1.0 if abs(crossing.s - piece.s1) < abs(crossing.s - piece.s0) else -1.0
        hx, hy = piece.track.heading(crossing.s)
        found.append(Head(x, y, sign * hx, sign * hy, tick.length, 0.35 * tick.length, "tick", k, crossing.s, 0.5))
    return found
