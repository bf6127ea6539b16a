"""Oblique ticks: short strokes across a dimension line, where it meets another line."""

import math
from collections import defaultdict
from dataclasses import replace

from digitize.strokes.crossings import Crossing, Table
from digitize.strokes.fit import LINE
from digitize.strokes.ground import Ground
from digitize.strokes.head import Head, are_mates

CROSSING_SLACK_MM = 0.4
TICK_LONGEST_MM, TICK_SHORTEST_MM = 6.0, 1.2
TICK_ANGLE_DEG = (30.0, 65.0)
MIDDLE_SHARE = 0.15
"""The line crosses a tick this near to its middle, in lengths of the tick."""
LEAST_SHAFT = 0.6
"""A tick ends a line that goes on behind it for this many lengths of the tick."""
DOUBT, DOUBT_WITH_MATE, DOUBT_AT_ENDS = 0.5, 0.15, 0.1
"""Both lines that cross under a tick could be the dimension line: rather the one that another tick ends too, and rather
yet the one that ends at ticks on both sides."""
DOUBT_PER_MM = 0.001
"""Of two lines with mates, the nearer mate is the likelier."""
HALF_WIDTH = 0.35
"""Half of what a tick takes up across its line, in lengths of the tick: the sine of half a right angle, halved."""


def ticks_on(ground: Ground, table: Table, k: int, crossings: list[Crossing]) -> list[Head]:
    """Oblique strokes across a line, where it meets a third one.

    Where the line goes on to both sides, as between two dimensions of a chain, one tick ends both of them.
    """
    piece = table.pieces[k]
    found = []
    for crossing in crossings:
        if not _is_tick(ground, table, crossing, crossings):
            continue
        length = table.pieces[crossing.other].length
        x, y = (float(v) for v in piece.track.at(crossing.s))
        hx, hy = piece.track.heading(crossing.s)
        for sign, behind in ((1.0, crossing.s - piece.s0), (-1.0, piece.s1 - crossing.s)):
            if behind >= LEAST_SHAFT * length:
                direction = sign * hx, sign * hy
                found.append(Head(x, y, *direction, length, HALF_WIDTH * length, "tick", k, crossing.s, DOUBT))
    return found


def _is_tick(ground: Ground, table: Table, crossing: Crossing, crossings: list[Crossing]) -> bool:
    tick = table.pieces[crossing.other]
    if tick.track.kind != LINE or not ground.px(TICK_SHORTEST_MM) <= tick.length <= ground.px(TICK_LONGEST_MM):
        return False
    if abs(crossing.other_s - 0.5 * (tick.s0 + tick.s1)) > MIDDLE_SHARE * tick.length:
        return False
    third = any(
        abs(c.s - crossing.s) < ground.px(CROSSING_SLACK_MM) and c.other != crossing.other and c.sine > 0.8
        for c in crossings
    )
    angle = math.degrees(math.asin(min(crossing.sine, 1.0)))
    return third and TICK_ANGLE_DEG[0] <= angle <= TICK_ANGLE_DEG[1]


def weighed_ticks(ground: Ground, table: Table, heads: list[Head]) -> list[Head]:
    """Give the ticks of all heads the doubt that fits the line they are on."""
    ticks = [head for head in heads if head.form == "tick"]
    on_piece: dict[int, list[Head]] = defaultdict(list)
    for tick in ticks:
        on_piece[tick.piece].append(tick)
    return [
        replace(head, doubt=_doubt_of(ground, table, head, on_piece[head.piece], ticks))
        if head.form == "tick"
        else head
        for head in heads
    ]


def _doubt_of(ground: Ground, table: Table, tick: Head, beside: list[Head], ticks: list[Head]) -> float:
    if _ends_at_ticks(table, beside):
        return DOUBT_AT_ENDS
    mates = [other for other in ticks if other.piece != tick.piece and are_mates(ground, tick, other)]
    apart = min((math.dist((tick.x, tick.y), (mate.x, mate.y)) for mate in mates), default=None)
    return DOUBT if apart is None else DOUBT_WITH_MATE + DOUBT_PER_MM * apart / ground.px(1.0)


def _ends_at_ticks(table: Table, ticks: list[Head]) -> bool:
    """Whether a piece ends at ticks on both sides, or one length of a tick beyond them."""
    piece = table.pieces[ticks[0].piece]
    first, last = min(ticks, key=lambda tick: tick.s), max(ticks, key=lambda tick: tick.s)
    apart = last.s - first.s > first.length
    return apart and first.s - piece.s0 <= first.length and piece.s1 - last.s <= last.length
