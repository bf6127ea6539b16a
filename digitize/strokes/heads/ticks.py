"""Oblique ticks: short strokes across a dimension line, where it meets another line."""

import math
from collections import defaultdict
from dataclasses import replace

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.ground import Ground
from digitize.strokes.heads.head import Head, are_mates
from digitize.strokes.joining.crossings import Crossing
from digitize.strokes.joining.inked import inked_share
from digitize.strokes.pieces import Piece
from digitize.strokes.table import Table

CROSSING_SLACK_MM = 0.4
TICK_LONGEST_MM, TICK_SHORTEST_MM = 6.0, 1.2
TICK_ANGLE_DEG = (30.0, 65.0)
MIDDLE_SHARE = 0.15
"""The line crosses a tick this near to its middle, in lengths of the tick."""
LEAST_INKED, OPEN_BEYOND, MOST_BEYOND = 0.9, 1.6, 0.5
"""Of the half of a tick that was not traced so much is ink; behind it, up to so many lengths of the other half from the
line, no more than so much."""
SQUARE_SINE = 0.8
"""The line that a dimension line ends at crosses it about square; a circle's tangent does too."""
LEAST_SHAFT = 0.6
"""A tick ends a line that goes on behind it for this many lengths of the tick."""
DOUBT, DOUBT_WITH_MATE, DOUBT_AT_ENDS = 0.5, 0.15, 0.1
"""Both lines that cross under a tick could be the dimension line: rather the one that another tick ends too, and rather
yet the one that ends at ticks on both sides."""
DOUBT_PER_MM, FAR_MM = 0.001, 50.0
"""Of two lines with mates, that with the smaller gap is the likelier: a figure breaks a dimension line, the whole part
lies between two extension lines. Of two that end at ticks it is the longer, up to so long, since dimension lines that
are stacked stand a few heights of a figure apart."""
POINTLESS = ("tick", "dot")
"""Forms that say by themselves neither which line they end nor on which side of them it lies."""
HALF_WIDTH = 0.35
"""Half of what a tick takes up across its line, in lengths of the tick: the sine of half a right angle, halved."""


def ticks_on(ground: Ground, table: Table, k: int, crossings: list[Crossing]) -> list[Head]:
    """Oblique strokes across a line, where it meets a third one.

    Where the line goes on to both sides, as between two dimensions of a chain, one tick ends both of them.
    """
    piece = table.pieces[k]
    found = []
    for crossing in crossings:
        length = _tick_length(ground, table, crossing)
        if length is None or not _meets_a_third(ground, crossing, crossings):
            continue
        x, y = (float(v) for v in piece.track.at(crossing.s))
        hx, hy = piece.track.heading(crossing.s)
        for sign, behind in ((1.0, crossing.s - piece.s0), (-1.0, piece.s1 - crossing.s)):
            if behind >= LEAST_SHAFT * length:
                direction = sign * hx, sign * hy
                found.append(Head(x, y, *direction, length, HALF_WIDTH * length, "tick", k, crossing.s, DOUBT))
    return found


def _tick_length(ground: Ground, table: Table, crossing: Crossing) -> float | None:
    """Length of the tick that crosses here; None where what crosses is none. Only a half of it may be traced."""
    tick = table.pieces[crossing.other]
    angle = math.degrees(math.asin(min(crossing.sine, 1.0)))
    if tick.track.kind != LINE or not TICK_ANGLE_DEG[0] <= angle <= TICK_ANGLE_DEG[1]:
        return None
    length = tick.length
    if abs(crossing.other_s - 0.5 * (tick.s0 + tick.s1)) > MIDDLE_SHARE * length:
        if not _goes_on(ground, tick, crossing.other_s):
            return None
        length = 2.0 * max(crossing.other_s - tick.s0, tick.s1 - crossing.other_s)
    return length if ground.px(TICK_SHORTEST_MM) <= length <= ground.px(TICK_LONGEST_MM) else None


def _goes_on(ground: Ground, half: Piece, s: float) -> bool:
    """Whether a stroke is little more than half of one: ink goes on beyond ``s`` as far as its longer arm reaches."""
    far = max(half.s0, half.s1, key=lambda end: abs(end - s))

    def inked(first: float, last: float) -> float:
        a, b = sorted((s + first * (s - far), s + last * (s - far)))
        return inked_share(ground, half.track, a, b)

    return inked(0.0, 1.0 - MIDDLE_SHARE) >= LEAST_INKED and inked(1.0 + MIDDLE_SHARE, OPEN_BEYOND) <= MOST_BEYOND


def _beside(ground: Ground, crossing: Crossing, crossings: list[Crossing]) -> list[Crossing]:
    """What else crosses at the same place."""
    near = ground.px(CROSSING_SLACK_MM)
    return [c for c in crossings if c.other != crossing.other and abs(c.s - crossing.s) < near]


def _meets_a_third(ground: Ground, crossing: Crossing, crossings: list[Crossing]) -> bool:
    return any(c.sine > SQUARE_SINE for c in _beside(ground, crossing, crossings))


def weighed_ticks(ground: Ground, table: Table, heads: list[Head]) -> list[Head]:
    """Give the ticks and dots of all heads the doubt that fits the line they are on."""
    ticks = [head for head in heads if head.form in POINTLESS]
    on_piece: dict[int, list[Head]] = defaultdict(list)
    for tick in ticks:
        on_piece[tick.piece].append(tick)
    return [
        replace(head, doubt=_doubt_of(ground, table, head, on_piece[head.piece], ticks))
        if head.form in POINTLESS
        else head
        for head in heads
    ]


def _doubt_of(ground: Ground, table: Table, tick: Head, beside: list[Head], ticks: list[Head]) -> float:
    if _ends_at_ticks(table, beside):
        return DOUBT_AT_ENDS - DOUBT_PER_MM * min(table.pieces[tick.piece].length / ground.px(1.0), FAR_MM)
    mates = [other for other in ticks if other.piece != tick.piece and are_mates(ground, tick, other)]
    gaps = [_gap_between(tick, table.pieces[tick.piece], table.pieces[mate.piece]) for mate in mates]
    return DOUBT_WITH_MATE + DOUBT_PER_MM * min(gaps) / ground.px(1.0) if gaps else DOUBT


def _gap_between(tick: Head, piece: Piece, other: Piece) -> float:
    """How far another line begins behind the end of a tick's own, in px."""
    own, its = (
        [(tick.x - x) * tick.dx + (tick.y - y) * tick.dy for x, y in (line.start, line.end)] for line in (piece, other)
    )
    return max(min(its) - max(own), 0.0)


def _ends_at_ticks(table: Table, ticks: list[Head]) -> bool:
    """Whether a piece ends at ticks on both sides, or one length of a tick beyond them."""
    piece = table.pieces[ticks[0].piece]
    first, last = min(ticks, key=lambda tick: tick.s), max(ticks, key=lambda tick: tick.s)
    apart = last.s - first.s > 1.5 * first.length
    return apart and first.s - piece.s0 <= first.length and piece.s1 - last.s <= last.length


def tick_strokes(ground: Ground, table: Table, heads: list[Head]) -> list[int]:
    """Numbers of the short oblique strokes, or halves of them, that are ticks."""
    slack, found = ground.px(CROSSING_SLACK_MM), set()
    for tick in heads:
        if tick.form == "tick":
            near = table.near(tick.x, tick.y, slack).tolist()
            found |= {k for k in near if _is_stroke_of(table.pieces[k], tick, slack)}
    return sorted(found)


def _is_stroke_of(piece: Piece, tick: Head, slack: float) -> bool:
    if piece.track.kind != LINE or piece.length > tick.length + slack:
        return False
    places = (piece.middle, piece.start, piece.end)
    cosine = abs(piece.track.dx * tick.dx + piece.track.dy * tick.dy)
    oblique = TICK_ANGLE_DEG[0] <= math.degrees(math.acos(min(cosine, 1.0))) <= TICK_ANGLE_DEG[1]
    return oblique and any(math.dist(place, (tick.x, tick.y)) <= slack for place in places)
