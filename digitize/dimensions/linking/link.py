"""Tie each figure to the geometry it measures: one assignment of figures to slots, solved as a whole.

The cost of a pair is how far the figure stands from where a draughtsman would write it for that slot, in heights of
the figure. What the figure says plays no part, save whether it speaks of a length, an angle or a radius.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from digitize.dimensions.linking.directions import across, along, fold_deg
from digitize.dimensions.linking.leaders import Leader, find_leaders
from digitize.dimensions.linking.openings import Opening, find_openings
from digitize.dimensions.linking.span import Span
from digitize.dimensions.linking.spans import find_spans
from digitize.dimensions.table import Measured
from digitize.lettering.text import Kind, TextBlock
from digitize.strokes.primitives import Arc, Point, Strokes

FARTHEST_HEIGHTS = 4.0
"""No figure stands further from its slot than this many of its own heights."""
CENTRAL_WEIGHT = 0.6
"""Cost, in heights, of standing at the end of a span and not at its middle."""
CENTRED_WEIGHT = 0.35
"""Cost, in heights, of each height that a figure stands off its dimension line, to the first."""
TURNED_COST = 0.5
"""Cost, in heights, of a figure that does not lie along its dimension line (unidirectional lettering)."""
UPSIDE_COST = 1.5
"""Cost, in heights, of a figure that is neither along its line nor level, or that is level where others are not."""
UPRIGHT_DEG = 60.0
"""A figure steeper than this shows that those of its sheet lie along their lines."""
OUTSIDE_COST = 0.5
"""Cost, in heights, of a figure beside an outside pair and not between its tips."""
LOOSE_COST = 0.6
"""Cost, in heights, of a span that may be a part of another, or be none."""
ASSUMED_COST = 1.0
"""Cost, in heights, of a span one end of which had to be assumed."""

Slot = Span | Leader | Opening


@dataclass(frozen=True)
class Link:
    """A figure (index into the texts) and the slot that it stands at, with the cost in figure heights."""

    text: int
    slot: Slot
    cost: float


@dataclass(frozen=True)
class Figure:
    """What the linker may know of a figure: where it stands, and what kind of thing it speaks of."""

    text: int
    block: TextBlock
    kind: Kind | None


def find_slots(strokes: Strokes, mm_per_px: float) -> tuple[Slot, ...]:
    """Everything on the sheet that wants a figure."""
    return slots_of(strokes, find_spans(strokes, mm_per_px), mm_per_px)


def slots_of(strokes: Strokes, spans: Sequence[Span], mm_per_px: float) -> tuple[Slot, ...]:
    """Everything that wants a figure where all lengths are known."""
    return (*spans, *find_leaders(strokes, spans, mm_per_px), *find_openings(strokes, mm_per_px))


def link(figures: Sequence[Figure], slots: Sequence[Slot], mm_per_px: float) -> tuple[Link, ...]:
    """Assign figures to slots at the least total cost.

    Parameters
    ----------
    figures : sequence of Figure
    slots : sequence of Slot
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    tuple of Link
        At most one slot a figure and one figure a slot; a figure that stands near no slot has none.
    """
    if not figures or not slots:
        return ()
    level_cost = _level_cost(figures)
    cost = np.full((len(figures), len(slots) + len(figures)), FARTHEST_HEIGHTS)
    for i, figure in enumerate(figures):
        for j, slot in enumerate(slots):
            cost[i, j] = min(_cost(figure, slot, level_cost), 10 * FARTHEST_HEIGHTS)
    rows, columns = linear_sum_assignment(cost)
    return tuple(
        Link(figures[i].text, slots[j], float(cost[i, j]))
        for i, j in zip(rows.tolist(), columns.tolist(), strict=True)
        if j < len(slots) and cost[i, j] < FARTHEST_HEIGHTS
    )


def _level_cost(figures: Sequence[Figure]) -> float:
    """Cost of a level figure at a line that is not: more where figures of the sheet lie along their lines."""
    along_lines = any(abs(fold_deg(figure.block.angle_deg)) > UPRIGHT_DEG for figure in figures)
    return UPSIDE_COST if along_lines else TURNED_COST


def _cost(figure: Figure, slot: Slot, level_cost: float) -> float:
    if isinstance(slot, Span):
        other = figure.kind in (Kind.ANGLE, Kind.RADIUS, Kind.CHAMFER)
        return math.inf if other else _span_cost(figure.block, slot, level_cost)
    if isinstance(slot, Opening):
        return _opening_cost(figure.block, slot) if figure.kind in (Kind.ANGLE, None) else math.inf
    return math.inf if figure.kind is Kind.ANGLE else _leader_cost(figure.block, slot)


def _half_extent(block: TextBlock, direction: Point) -> float:
    """Half the length of a block's shadow on a direction, in pixels."""
    shadow = [along(corner, block.centre, direction) for corner in block.quad]
    return (max(shadow) - min(shadow)) / 2


def _span_cost(block: TextBlock, span: Span, level_cost: float) -> float:
    direction = span.direction
    height = block.height_px
    t = along(block.centre, span.first, direction)
    normal = -direction[1], direction[0]
    aside = abs(across(block.centre, span.first, direction))
    off = max(0.0, aside - _half_extent(block, normal)) + CENTRED_WEIGHT * min(aside, height)
    half = _half_extent(block, direction)
    if 0 <= t <= span.size:
        cost = off / height + CENTRAL_WEIGHT * abs(2 * t / span.size - 1)
    else:
        reach = [along(tail, span.first, direction) for tail in span.tails]
        edge = min((*reach, 0.0)) - half if t < 0 else max((*reach, span.size)) + half
        short = t - edge if t < 0 else edge - t
        past = max(0.0, -short, short - 2 * half)
        cost = off / height + past / height + OUTSIDE_COST + (0.0 if span.outside else CENTRAL_WEIGHT + 1.0)
    cost += ASSUMED_COST * (not span.certain) + LOOSE_COST * span.loose
    return cost + _turn_cost(block, direction, level_cost)


def _turn_cost(block: TextBlock, direction: Point, level_cost: float) -> float:
    span_deg = math.degrees(math.atan2(-direction[1], direction[0]))
    if abs(fold_deg(block.angle_deg - span_deg)) < 12:
        return 0.0
    return level_cost if abs(fold_deg(block.angle_deg)) < 12 else UPSIDE_COST


def _box_distance(block: TextBlock, point: Point) -> float:
    """Distance from a point to a block's rectangle, in pixels."""
    reading = math.cos(math.radians(block.angle_deg)), -math.sin(math.radians(block.angle_deg))
    normal = -reading[1], reading[0]
    dx = max(0.0, abs(along(point, block.centre, reading)) - _half_extent(block, reading))
    dy = max(0.0, abs(along(point, block.centre, normal)) - _half_extent(block, normal))
    return math.hypot(dx, dy)


def _leader_cost(block: TextBlock, leader: Leader) -> float:
    return _box_distance(block, leader.tail) / block.height_px + 0.3 + LOOSE_COST * leader.loose


def _opening_cost(block: TextBlock, opening: Opening) -> float:
    return _box_distance(block, opening.middle) / block.height_px


def measure(found: Link, block: TextBlock, kind: Kind, strokes: Strokes) -> Measured | None:
    """What the linked slot measures, in level pixels; None where the slot does not fit the kind of the figure."""
    slot = found.slot
    if (kind is Kind.ANGLE) != isinstance(slot, Opening):
        return None
    if isinstance(slot, Span):
        return _measure_span(slot, block, kind, strokes)
    if isinstance(slot, Opening):
        size = slot.size_deg, slot.size_std_deg
        return Measured(Kind.ANGLE, slot.first, slot.second, *size, block.centre, legs=slot.legs)
    return _measure_leader(slot, block, kind, strokes.arcs)


def _measure_span(span: Span, block: TextBlock, kind: Kind, strokes: Strokes) -> Measured:
    measured_kind = Kind.DIAMETER if kind is Kind.DIAMETER else Kind.LINEAR
    arcs = tuple(
        i
        for i, arc in enumerate(strokes.arcs)
        if abs(2 * arc.radius_px - span.size) < max(0.02 * span.size, 3.0)
        and math.dist(arc.centre, ((span.first[0] + span.second[0]) / 2, (span.first[1] + span.second[1]) / 2))
        < 0.05 * span.size
    )
    return Measured(measured_kind, span.first, span.second, span.size, span.size_std, block.centre, arcs, span.lines)


def _measure_leader(leader: Leader, block: TextBlock, kind: Kind, arcs: Sequence[Arc]) -> Measured | None:
    if not leader.arcs or kind not in (Kind.DIAMETER, Kind.RADIUS):
        return None
    index = min(leader.arcs, key=lambda i: (-arcs[i].sweep_deg, abs(math.dist(arcs[i].centre, leader.tip))))
    arc = arcs[index]
    if kind is Kind.RADIUS:
        return Measured(Kind.RADIUS, arc.centre, leader.tip, arc.radius_px, arc.radius_std_px, block.centre, (index,))
    towards = (
        (leader.tip[0] - arc.centre[0]) / arc.radius_px,
        (leader.tip[1] - arc.centre[1]) / arc.radius_px,
    )
    first = arc.centre[0] - arc.radius_px * towards[0], arc.centre[1] - arc.radius_px * towards[1]
    return Measured(Kind.DIAMETER, first, leader.tip, 2 * arc.radius_px, 2 * arc.radius_std_px, block.centre, (index,))
