"""Angles whose heads were missed: thin arcs that run from one line to another, both of which lead to their centre.

Nothing but the lines says where such an angle ends, so it never speaks against its figure.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from digitize.dimensions.linking.arc_legs import is_radial
from digitize.dimensions.linking.directions import bearing_deg
from digitize.dimensions.linking.touching import TOUCH_MM
from digitize.strokes.primitives import Arc, Line, Point, Role, Strokes

THIN = (Role.DIMENSION, Role.EXTENSION, Role.LEADER, Role.CENTRE)
"""Roles that the trace gives to arcs drawn with the fine pen."""
LEGS = (Role.VISIBLE, Role.HIDDEN, Role.EXTENSION, Role.CENTRE)
WIDEST_DEG, ROUND_DEG = 180.0, 300.0
"""An angle is no wider than this; arcs that go round so far are no dimension lines but the circle of holes, say."""
SAME_LEG_DEG = 2.0
"""Lines to the centre this near to each other are pieces of one."""
HEAD_MM = 5.0
"""A head that was missed took no more of its arc than this, in mm of paper ..."""
LEAST_DRAWN = 0.3
"""... and the figure that breaks it no more than what leaves this share of it."""


def bare_arcs(strokes: Strokes, least_radius_mm: float, mm_per_px: float) -> Iterator[tuple[Arc, Point, Point]]:
    """Arcs, as they were before a figure broke them, with the two places at lines from which to which each runs."""
    touch_px = TOUCH_MM / mm_per_px
    for circle, pieces in _circles(strokes.arcs, least_radius_mm / mm_per_px, touch_px):
        if sum(piece.sweep_deg for piece in pieces) > ROUND_DEG:
            continue
        legs = _legs(circle, strokes.lines, touch_px)
        head_deg = math.degrees(HEAD_MM / mm_per_px / circle.radius_px)
        for first, second in pairwise((*legs, *(leg + 360.0 for leg in legs[:1]))):
            if SAME_LEG_DEG < second - first <= WIDEST_DEG and _runs_between(first, second, pieces, circle, head_deg):
                whole = replace(circle, start_deg=first, sweep_deg=second - first)
                yield whole, _at(circle, first), _at(circle, second)


def _circles(arcs: Sequence[Arc], least_px: float, touch_px: float) -> Iterator[tuple[Arc, tuple[Arc, ...]]]:
    """Thin arcs that lie on one circle, the longest first: that one says where the circle lies."""
    left = [arc for arc in arcs if arc.role in THIN and arc.radius_px >= least_px]
    left.sort(key=lambda arc: -arc.sweep_deg * arc.radius_px)
    while left:
        longest = left[0]
        on_it = tuple(arc for arc in left if arc is longest or _lies_on(arc, longest, touch_px))
        left = [arc for arc in left if not any(arc is each for each in on_it)]
        yield longest, on_it


def _lies_on(arc: Arc, circle: Arc, touch_px: float) -> bool:
    ends = (_at(arc, arc.start_deg + share * arc.sweep_deg) for share in (0.0, 0.5, 1.0))
    return all(abs(math.dist(end, circle.centre) - circle.radius_px) < touch_px for end in ends)


def _at(circle: Arc, bearing: float) -> Point:
    turn = math.radians(bearing)
    return circle.centre[0] + circle.radius_px * math.cos(turn), circle.centre[1] - circle.radius_px * math.sin(turn)


def _legs(circle: Arc, lines: Sequence[Line], touch_px: float) -> list[float]:
    """Bearings at which lines that lead to the centre reach the circle, in degrees from 0 to 360."""
    bearings = sorted(
        bearing_deg(tip, circle.centre) % 360.0
        for line in lines
        if line.role in LEGS
        for tip in _meets(line, circle, touch_px)
        if is_radial(line, tip, bearing_deg(tip, circle.centre), touch_px)
    )
    kept: list[float] = []
    for bearing in bearings:
        if not kept or bearing - kept[-1] > SAME_LEG_DEG:
            kept.append(bearing)
    return kept[:-1] if len(kept) > 1 and kept[0] + 360.0 - kept[-1] <= SAME_LEG_DEG else kept


def _meets(line: Line, circle: Arc, touch_px: float) -> Iterator[Point]:
    """Where a line, carried on a little, meets a circle."""
    along = line.end[0] - line.start[0], line.end[1] - line.start[1]
    away = line.start[0] - circle.centre[0], line.start[1] - circle.centre[1]
    square = along[0] ** 2 + along[1] ** 2
    half = (along[0] * away[0] + along[1] * away[1]) / square
    under = half**2 - (away[0] ** 2 + away[1] ** 2 - circle.radius_px**2) / square
    slack = touch_px / math.sqrt(square)
    for t in () if under < 0 else (-half - math.sqrt(under), -half + math.sqrt(under)):
        if -slack <= t <= 1.0 + slack:
            yield line.start[0] + t * along[0], line.start[1] + t * along[1]


def _runs_between(first: float, second: float, pieces: Sequence[Arc], circle: Arc, head_deg: float) -> bool:
    """Do arcs begin within a head's length of both lines, and leave out no more than a figure takes?"""
    drawn = sorted(span for piece in pieces for span in _within(first, second, piece, circle))
    if not drawn or drawn[0][0] - first > head_deg or second - max(end for _, end in drawn) > head_deg:
        return False
    reached, inked = first, 0.0
    for start, end in drawn:
        inked += max(0.0, end - max(start, reached))
        reached = max(reached, end)
    return inked >= LEAST_DRAWN * (second - first)


def _within(first: float, second: float, piece: Arc, circle: Arc) -> Iterator[tuple[float, float]]:
    """What of a piece lies between two bearings, seen from the centre of its circle."""
    start, end = (bearing_deg(_at(piece, piece.start_deg + t * piece.sweep_deg), circle.centre) for t in (0.0, 1.0))
    sweep = (end - start) % 360.0 if piece.sweep_deg < 359.0 else 360.0
    for turn in (-720.0, -360.0, 0.0, 360.0, 720.0):
        low, high = max(first, start + turn), min(second, start + turn + sweep)
        if low < high:
            yield low, high
