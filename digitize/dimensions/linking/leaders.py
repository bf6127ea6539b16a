"""Leaders: arrows that belong to no span, with the far end where their figure stands.

A slanted thin line that turns into a short level one is a leader with its shoulder though no head was seen: in a
keyseat or among teeth there is hardly room for one.
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from statistics import median

from digitize.dimensions.linking.directions import (
    across,
    along,
    bearing_deg,
    fold_deg,
    line_angle_deg,
    on_sweep,
    unit,
)
from digitize.dimensions.linking.span import Span
from digitize.dimensions.linking.touching import TOUCH_MM, tail_of
from digitize.dimensions.linking.unseen_heads import UNSEEN, lies_on, outer_end
from digitize.strokes.primitives import Arrowhead, Point, Role, Strokes

SHOULDERS = (Role.LEADER, Role.DIMENSION, Role.EXTENSION)
"""Roles that the trace gives to the short level line that a leader ends in."""
CROSSED_MM = 12.0
"""The trace loses no longer a part of a leader among strokes that it crosses, in mm of paper: a gear's tooth or two."""
THIN_SHARE = 0.7
"""A line thinner than this share of the usual visible one is drawn with the pen of leaders and dimension lines (they
are half as wide: ISO 128-2), whatever the trace took a piece without a head for."""
BARB_SWEEP_DEG = 200.0
"""A bow of less, and smaller than the sheet's usual arrowhead, is a piece of a head."""
SLANT_DEG = 15.0
"""A leader without a head leans this much from both axes of the sheet: dimension and extension lines lie along them."""
LEVEL_DEG = 5.0
"""... and its shoulder lies level to this."""
LONGEST_SHOULDER = 25.0
"""A shoulder is no longer, in touching distances."""


@dataclass(frozen=True)
class Leader:
    """An arrow that leads from a figure at ``tail`` to ``tip``; ``arcs`` and ``edges`` are what it touches.

    ``direction_deg`` is the way its head points, counter-clockwise. One is ``loose`` whose head was not seen: the line
    may lead further than it was traced.
    """

    tip: Point
    tail: Point
    direction_deg: float
    arcs: tuple[int, ...]
    edges: tuple[int, ...] = ()
    loose: bool = False


def find_leaders(strokes: Strokes, spans: Sequence[Span], mm_per_px: float) -> tuple[Leader, ...]:
    """Arrows that belong to no span, with the far end of their line and of its shoulder.

    Returns
    -------
    tuple of Leader
    """
    used = [end for span in spans if span.certain for end in (span.first, span.second)]
    touch_px = TOUCH_MM / mm_per_px
    usual_px = median(head.length_px for head in strokes.arrowheads) if strokes.arrowheads else 0.0
    visible_px = median([line.width_px for line in strokes.lines if line.role is Role.VISIBLE] or [0.0])
    thin = {
        i
        for i, line in enumerate(strokes.lines)
        if line.role is Role.VISIBLE and line.width_px < THIN_SHARE * visible_px
    }
    leaders: list[Leader] = []
    for head in (*strokes.arrowheads, *_unseen_heads(strokes, thin, touch_px)):
        if head.line is None or any(math.dist(head.tip, end) < 1.2 * touch_px for end in used):
            continue
        tail = _shoulder_end(_run_on(head, strokes, thin, mm_per_px), strokes, thin, touch_px)
        if head.form == UNSEEN and any(_is_near(each.tail, (tail, head.tip), touch_px) for each in leaders):
            continue  # a piece of a leader whose head was seen
        arcs, edges = _arcs_at(head, strokes, touch_px, usual_px), _edges_at(head, strokes, touch_px)
        leaders.append(Leader(head.tip, tail, head.direction_deg, arcs, edges, head.form == UNSEEN))
    return tuple(leaders)


def _unseen_heads(strokes: Strokes, thin: Collection[int], touch_px: float) -> list[Arrowhead]:
    """Where slanted lines with a shoulder and without a head end."""
    headed = {head.line for head in strokes.arrowheads}
    shoulders = [
        (line.start, line.end)
        for i, line in enumerate(strokes.lines)
        if (line.role in SHOULDERS or i in thin)
        and i not in headed
        and abs(fold_deg(line_angle_deg(line))) < LEVEL_DEG
        and math.dist(line.start, line.end) < LONGEST_SHOULDER * touch_px
    ]
    found = []
    for index, line in enumerate(strokes.lines):
        slanted = SLANT_DEG < abs(fold_deg(line_angle_deg(line))) < 90.0 - SLANT_DEG
        if index in headed or not slanted or (line.role not in SHOULDERS and index not in thin):
            continue
        bends = [end for end in (line.start, line.end) if any(_is_near(end, each, touch_px) for each in shoulders)]
        if len(bends) == 1:
            tip = outer_end(line, bends[0])
            found.append(Arrowhead(tip, bearing_deg(tip, bends[0]), 0.0, UNSEEN, index))
    return found


def _is_near(point: Point, others: Sequence[Point], touch_px: float) -> bool:
    return min(math.dist(point, other) for other in others) < touch_px


def _arcs_at(head: Arrowhead, strokes: Strokes, touch_px: float, usual_px: float) -> tuple[int, ...]:
    """Arcs that a leader's tip touches, those aside that are a barb of some head."""
    return tuple(
        i
        for i, arc in enumerate(strokes.arcs)
        if abs(math.dist(arc.centre, head.tip) - arc.radius_px) < touch_px
        and on_sweep(arc, head.tip, 8.0)
        and (arc.sweep_deg > BARB_SWEEP_DEG or arc.radius_px > usual_px)
    )


def _edges_at(head: Arrowhead, strokes: Strokes, touch_px: float) -> tuple[int, ...]:
    """Visible lines that a leader's tip touches."""
    touched = []
    for index, line in enumerate(strokes.lines):
        if line.role is not Role.VISIBLE or index == head.line:
            continue
        length = math.dist(line.start, line.end)
        direction = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length
        if (
            abs(across(head.tip, line.start, direction)) < touch_px
            and 0 <= along(head.tip, line.start, direction) <= length
        ):
            touched.append(index)
    return tuple(touched)


def _run_on(head: Arrowhead, strokes: Strokes, thin: Collection[int], mm_per_px: float) -> tuple[Point, int]:
    """Far end of a leader and its last line: on along leader lines in line with it, where strokes cross it."""
    assert head.line is not None
    tail, last = tail_of(head, strokes), head.line
    shaft, back = strokes.lines[head.line], unit(head.direction_deg + 180.0)
    for index, line in enumerate(strokes.lines):
        piece = line.role is Role.LEADER or index in thin
        if index == head.line or not piece or not lies_on(line, shaft, mm_per_px):
            continue
        near, far = sorted((line.start, line.end), key=lambda end: along(end, head.tip, back))
        if 0.0 < along(near, tail, back) * mm_per_px < CROSSED_MM and math.dist(far, head.tip) > math.dist(
            tail, head.tip
        ):
            tail, last = far, index
    return tail, last


def _shoulder_end(end: tuple[Point, int], strokes: Strokes, thin: Collection[int], touch_px: float) -> Point:
    """Follow a leader onto the short level line that it ends in."""
    tail, last = end
    for index, line in enumerate(strokes.lines):
        if index == last or (line.role not in SHOULDERS and index not in thin):
            continue
        for near, far in ((line.start, line.end), (line.end, line.start)):
            if math.dist(near, tail) < touch_px and math.dist(near, far) < LONGEST_SHOULDER * touch_px:
                return far
    return tail
