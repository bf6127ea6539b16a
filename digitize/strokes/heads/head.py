"""An arrowhead in the working frame, and which of several that claim the same ink is one."""

import math
import statistics
from dataclasses import dataclass, replace

from scipy.spatial import cKDTree

from digitize.strokes.ground import Ground

SAME_TIP_MM = 0.8
SAME_TURN_DEG = 35.0
LEAST_SHARED_SPREAD = 0.3
BACKED_BONUS, BACKED_ALIKE = 0.05, 0.67
"""For a head that another of one hand backs: one that is as long, to this share."""
SIZE_BONUS_PER_MM, USUAL_MM = 0.02, 3.0
"""Of heads in the same ink the larger explains more of it, up to the usual size (common practice, no source)."""
LONGEST_DIMENSION_MM, LONGEST_OUTSIDE_MM = 300.0, 60.0
"""Arrows point inwards from outside where no room is between them (ISO 129-1, from memory): over more of the paper than
the second, half as much again as long figures need, they are heads of two lengths in one row."""
MATE_OFF_MM = 0.4
TIP_TO_TIP_DEG = 10.0
NO_TAIL = 0.9
"""The tip of a head behind another lies no nearer than by this share of the other's length: at its tail."""
BESIDE_PX = 2.0
"""Heads that point opposite ways are in each other's ink where their axes lie no further apart beyond their flanks."""
POINTED = "filled", "open"
ENOUGH_HEADS, ALIKE = 6, (0.3, 1.9)
"""Where so many heads were seen, what is not between these times their median is a corner or a crossing that looks like
one: one hand draws one size. (Of 1,811 heads of 120 drawn sheets the shortest is .37 and the longest 1.76 times the
usual,"""
ONE_FORM, OTHERWISE_ALIKE = 0.8, (0.7, 1.4)
"""and the 22 that were not seen in the form of so many of a sheet's heads lie between these; of 20 false ones 8.)"""


@dataclass(frozen=True)
class Head:
    """An arrowhead in the working frame: tip, unit direction, length, form, the piece it ends and s of its tip there.

    ``piece`` is -1 where no shaft was traced.

    ``doubt`` orders rivals for the same place: the scatter of the flanks over the width of the head.
    """

    x: float
    y: float
    dx: float
    dy: float
    length: float
    half_width: float
    form: str
    piece: int
    s: float
    doubt: float


def each_once(ground: Ground, heads: list[Head]) -> list[Head]:
    """Of heads that claim the same ink keep the least doubtful."""
    near = beside_each(ground, heads)
    backed = [
        replace(h, doubt=h.doubt - BACKED_BONUS) if any(is_tip_to_tip(ground, h, heads[n]) for n in near[k]) else h
        for k, h in enumerate(heads)
    ]
    kept: set[int] = set()
    for k, head in sorted(enumerate(backed), key=lambda h: (h[1].doubt - _size_bonus(ground, h[1]), h[1].x, h[1].y)):
        if not any(n in kept and are_rivals(ground, backed[n], head) for n in near[k]):
            kept.add(k)
    return sorted((backed[k] for k in kept), key=lambda h: (h.x, h.y, h.dx, h.dy))


def beside_each(ground: Ground, heads: list[Head]) -> list[list[int]]:
    """For every head the numbers of all others that may be its rivals or tip to tip with it."""
    near: list[list[int]] = [[] for _ in heads]
    if heads:
        length, half_width = max(head.length for head in heads), max(head.half_width for head in heads)
        reach = 2.0 * (length + half_width) + BESIDE_PX + ground.px(SAME_TIP_MM)
        for a, b in cKDTree([(h.x, h.y) for h in heads]).query_pairs(reach):
            near[a].append(b)
            near[b].append(a)
    return near


def of_one_hand(ground: Ground, heads: list[Head]) -> list[Head]:
    """The heads that the hand of a sheet's usual ones may have drawn.

    Who points his dimensions ticks those that are too short for it, at both their ends: a tick without its like is a
    leader that crosses something.
    """
    pointed = [h for h in heads if h.form in POINTED and h.piece >= 0]
    if len(pointed) < ENOUGH_HEADS:
        return heads
    usual = statistics.median(h.length for h in pointed)
    form = statistics.mode(h.form for h in pointed)
    one_form = sum(h.form == form for h in pointed) >= ONE_FORM * len(pointed)

    def is_of_it(head: Head) -> bool:
        least, most = OTHERWISE_ALIKE if one_form and head.form != form else ALIKE
        return least * usual <= head.length <= most * usual

    def has_like(tick: Head) -> bool:
        others = [h for h in heads if h.form == tick.form]
        return any(are_mates(ground, tick, h) or face_each_other(ground, tick, h) for h in others)

    mostly_pointed = len(pointed) >= ONE_FORM * len(heads)
    return [
        h
        for h in heads
        if (is_of_it(h) if h.form in POINTED else h.form != "tick" or not mostly_pointed or has_like(h))
    ]


def _size_bonus(ground: Ground, head: Head) -> float:
    return SIZE_BONUS_PER_MM * min(head.length / ground.px(1.0), USUAL_MM)


def are_mates(ground: Ground, head: Head, other: Head) -> bool:
    """Whether two heads end one dimension line: on one axis, pointing away from each other."""
    x, y = other.x - head.x, other.y - head.y
    back, side = -(x * head.dx + y * head.dy), abs(x * head.dy - y * head.dx)
    apart = head.dx * other.dx + head.dy * other.dy < -math.cos(math.radians(TIP_TO_TIP_DEG))
    room = head.length + other.length
    return apart and room < back <= ground.px(LONGEST_DIMENSION_MM) and side <= ground.px(MATE_OFF_MM) + 0.01 * back


def face_each_other(ground: Ground, head: Head, other: Head) -> bool:
    """Whether two heads end one dimension that is drawn from outside: on one axis, pointing at each other."""
    x, y = other.x - head.x, other.y - head.y
    ahead, side = x * head.dx + y * head.dy, abs(x * head.dy - y * head.dx)
    at_each_other = head.dx * other.dx + head.dy * other.dy < -math.cos(math.radians(TIP_TO_TIP_DEG))
    near = ground.px(SAME_TIP_MM) < ahead <= ground.px(LONGEST_OUTSIDE_MM)
    return at_each_other and near and side <= ground.px(MATE_OFF_MM) + 0.01 * ahead


def is_tip_to_tip(ground: Ground, head: Head, other: Head) -> bool:
    """Whether another head, about as long, points the opposite way at the same tip, as where two dimensions meet."""
    return (
        math.hypot(other.x - head.x, other.y - head.y) <= ground.px(SAME_TIP_MM)
        and BACKED_ALIKE * max(head.length, other.length) <= min(head.length, other.length)
        and head.dx * other.dx + head.dy * other.dy < -math.cos(math.radians(TIP_TO_TIP_DEG))
    )


def _lies_within(inner: Head, outer: Head) -> bool:
    """Whether the tip of one head lies in the body of another."""
    x, y = inner.x - outer.x, inner.y - outer.y
    back, side = -(x * outer.dx + y * outer.dy), abs(x * outer.dy - y * outer.dx)
    return 0.15 * outer.length < back < NO_TAIL * outer.length and side * outer.length < outer.half_width * back


def are_rivals(ground: Ground, first: Head, second: Head) -> bool:
    """Whether two heads point the same way at one place, or lie on each other."""
    x, y = second.x - first.x, second.y - first.y
    cosine = first.dx * second.dx + first.dy * second.dy
    tip_to_tip = cosine < -math.cos(math.radians(TIP_TO_TIP_DEG))
    if not tip_to_tip and (_lies_within(first, second) or _lies_within(second, first)):
        return True
    if cosine >= math.cos(math.radians(SAME_TURN_DEG)):
        aside = abs(x * first.dy - y * first.dx)
        beside = aside > ground.px(SAME_TIP_MM) + first.half_width + second.half_width
        foremost = second if x * first.dx + y * first.dy > 0.0 else first
        return not beside and math.hypot(x, y) <= max(ground.px(SAME_TIP_MM), NO_TAIL * foremost.length)
    if cosine > -math.cos(math.radians(SAME_TURN_DEG)):
        # barbs at half a right angle to two lines that cross here look like heads of either
        spread = min(first.half_width / first.length, second.half_width / second.length)
        return spread > LEAST_SHARED_SPREAD and math.hypot(x, y) <= ground.px(SAME_TIP_MM)
    # pointing opposite ways: in front of the first tip, the second lies from its own tip to its length further on
    ahead, side = x * first.dx + y * first.dy, abs(x * first.dy - y * first.dx)
    overlap = min(0.0, ahead + second.length) - max(-first.length, ahead)
    return side <= first.half_width + BESIDE_PX and overlap > 0.3 * min(first.length, second.length)
