"""Where a dimension line ends though no arrowhead was seen there: it stops at a line that bounds a length.

Faint, crowded or slovenly heads are missed, two that meet tip to tip oftener than others. The line itself still says
what was measured: draughtsmen bring it up to an extension line and no further.

Glossary
--------
stop
    An end of a dimension line at a line square to it, as an `Arrowhead` of the form `UNSEEN`.
break
    The paper left for a figure between two pieces of one dimension line.
"""

import math
from collections.abc import Collection, Sequence
from statistics import median

import numpy as np
from numpy.typing import NDArray

from digitize.dimensions.linking.directions import across, bearing_deg, fold_deg, line_angle_deg, unit
from digitize.dimensions.linking.touching import stop_at
from digitize.strokes.primitives import Arrowhead, Line, Point, Role, Strokes

FloatArray = NDArray[np.float64]

UNSEEN = "unseen"
EITHER_WAY = ("tick", "dot")
"""Forms that end the lines on both their sides."""
ENDS_AT_MM = 0.4
"""A dimension line whose arrowhead was not seen is sure to end at a line this close to its own end, in mm of paper."""
ASLANT_DEG = 10.0
"""Lines that meet end to end further from square than this are a leader and its shoulder."""
SEEN_NEAR_MM = 1.5
"""Where a head was seen this near, in mm of paper, none is missed."""
SHORTEST_LINE_MM = 1.5
THIN = 1.4
"""A dimension line is at most this much thicker than the sheet's dimension lines usually are."""
BREAK_MM = 3.0, 40.0
"""Paper between two pieces of a dimension line that is broken for its figure, in mm."""
IN_LINE_MM, IN_LINE_DEG = 0.3, 1.0
"""Pieces of one dimension line lie this near to one line."""
MAY_CARRY = (Role.DIMENSION, Role.VISIBLE, Role.HIDDEN, Role.LEADER, Role.EXTENSION)
"""A line without a head was taken for any of these."""


def stops_of(strokes: Strokes, paired: Collection[int], mm_per_px: float) -> tuple[Arrowhead, ...]:
    """Ends of dimension lines at which no arrowhead was seen.

    Parameters
    ----------
    strokes : Strokes
    paired : collection of int
        Arrowheads that are known to end a length; what they end is no end of another.
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    tuple of Arrowhead
        Tips at the ends, pointing outward. A line that was not taken for a dimension line has one only where it is a
        piece of a broken one whose far ends both stop.
    """
    taken = {strokes.arrowheads[i].line for i in paired}
    known = [line for line in strokes.lines if line.role is Role.DIMENSION]
    if not known:
        return ()
    widest = THIN * median(line.width_px for line in known)
    carriers = [
        index
        for index, line in enumerate(strokes.lines)
        if index not in taken
        and line.role in MAY_CARRY
        and line.width_px <= widest
        and math.dist(line.start, line.end) * mm_per_px >= SHORTEST_LINE_MM
    ]
    found = [
        stop for i in carriers if strokes.lines[i].role is Role.DIMENSION for stop in _stops(i, strokes, mm_per_px)
    ]
    for one, other in broken_pairs(carriers, strokes, mm_per_px):
        ends = [_outer_stop(a, b, strokes, mm_per_px) for a, b in ((one, other), (other, one))]
        if all(end is not None for end in ends):
            found += [end for end in ends if isinstance(end, Arrowhead)]
    return tuple(dict.fromkeys(found))


def broken_pairs(carriers: Sequence[int], strokes: Strokes, mm_per_px: float) -> list[tuple[int, int]]:
    """Pairs of lines that are the two pieces of a dimension line broken for its figure: in line, paper between."""
    low, high = BREAK_MM[0] / mm_per_px, BREAK_MM[1] / mm_per_px
    lines = [strokes.lines[i] for i in carriers]
    ends = np.array([(*line.start, *line.end) for line in lines]).reshape(-1, 2, 2)
    found = []
    for n, line in enumerate(lines):
        for k in np.flatnonzero(_off_axis(ends[n + 1 :], line) * mm_per_px <= IN_LINE_MM).tolist():
            other = lines[n + 1 + k]
            near, far = inner_ends(line, other)
            if low <= math.dist(near, far) <= high:
                found.append((carriers[n], carriers[n + 1 + k]))
    return found


def _off_axis(ends: FloatArray, axis: Line) -> FloatArray:
    """How far the farther end of each line, shape (N, 2 ends, 2), lies off another line, in pixels."""
    length = math.dist(axis.start, axis.end)
    normal = np.array([-(axis.end[1] - axis.start[1]), axis.end[0] - axis.start[0]]) / length
    return np.asarray(np.abs((ends - np.array(axis.start)) @ normal).max(axis=1), np.float64)


def lies_on(line: Line, axis: Line, mm_per_px: float) -> bool:
    """Does a line lie on another, or on what would carry that on?"""
    if abs(fold_deg(line_angle_deg(line) - line_angle_deg(axis))) > IN_LINE_DEG:
        return False
    length = math.dist(axis.start, axis.end)
    direction = (axis.end[0] - axis.start[0]) / length, (axis.end[1] - axis.start[1]) / length
    return max(abs(across(end, axis.start, direction)) for end in (line.start, line.end)) * mm_per_px <= IN_LINE_MM


def inner_ends(one: Line, other: Line) -> tuple[Point, Point]:
    """The ends, one of each line, that are nearest to each other."""
    ends = [(a, b) for a in (one.start, one.end) for b in (other.start, other.end)]
    return min(ends, key=lambda pair: math.dist(*pair))


def outer_end(line: Line, inner: Point) -> Point:
    """The other end of a line."""
    return line.end if inner == line.start else line.start


def _stops(index: int, strokes: Strokes, mm_per_px: float) -> list[Arrowhead]:
    line = strokes.lines[index]
    ends = ((line.start, line.end), (line.end, line.start))
    return [stop for end, other in ends if (stop := _stop(index, end, other, strokes, mm_per_px)) is not None]


def _outer_stop(index: int, other: int, strokes: Strokes, mm_per_px: float) -> Arrowhead | None:
    """The end of a piece that lies away from its fellow: a head that was seen there, or a stop."""
    line = strokes.lines[index]
    inner, _ = inner_ends(line, strokes.lines[other])
    if _bound_at(inner, line, strokes, mm_per_px) is not None:
        return None  # an edge with a corner at the break: no figure was written there
    end = outer_end(line, inner)
    seen = [head for head in strokes.arrowheads if head.line == index and _is_at(head, end, mm_per_px)]
    if seen:
        return seen[0]
    # A tick or dot where two lines cross may have been given to the other one.
    ticked = any(head.form in EITHER_WAY and _is_at(head, end, mm_per_px, ENDS_AT_MM) for head in strokes.arrowheads)
    return _stop_of(index, end, inner) if ticked else _stop(index, end, inner, strokes, mm_per_px)


def _stop(index: int, end: Point, other: Point, strokes: Strokes, mm_per_px: float) -> Arrowhead | None:
    """A stop at one end of a line; None where it ends at nothing, turns into another line, or a head was seen."""
    bound = _bound_at(end, strokes.lines[index], strokes, mm_per_px)
    tip = end if bound is not None else _tip_ahead(end, other, strokes, mm_per_px)
    if bound is None:
        bound = _bound_at(tip, strokes.lines[index], strokes, mm_per_px)
    if bound is None or turns_into(strokes.lines[bound], end, strokes.lines[index], mm_per_px):
        return None
    stop = _stop_of(index, tip, other)
    return None if any(_is_seen(head, stop, mm_per_px) for head in strokes.arrowheads) else stop


def turns_into(bound: Line, end: Point, line: Line, mm_per_px: float) -> bool:
    """Does a line go on in another from its end, as a leader does in its shoulder? It is not square to that."""
    joined = min(math.dist(end, bound.start), math.dist(end, bound.end)) * mm_per_px <= ENDS_AT_MM
    aslant_deg = abs(abs(fold_deg(line_angle_deg(line) - line_angle_deg(bound))) - 90.0)
    return joined and aslant_deg > ASLANT_DEG


def _stop_of(index: int, end: Point, other: Point) -> Arrowhead:
    return Arrowhead(end, bearing_deg(end, other), 0.0, UNSEEN, index)


def _tip_ahead(end: Point, other: Point, strokes: Strokes, mm_per_px: float) -> Point:
    """Where the tip of a usual head lies whose shaft was traced to its root and no further."""
    head_px = median(head.length_px for head in strokes.arrowheads) if strokes.arrowheads else 0.0
    way = unit(bearing_deg(end, other))
    return end[0] + head_px * way[0], end[1] + head_px * way[1]


def _bound_at(end: Point, line: Line, strokes: Strokes, mm_per_px: float) -> int | None:
    """The line at which an end stops."""
    length = math.dist(line.start, line.end)
    axis = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length
    at, _, index = stop_at(end, axis, strokes, mm_per_px)
    return index if index is not None and math.dist(at, end) * mm_per_px <= ENDS_AT_MM else None


def _is_at(head: Arrowhead, end: Point, mm_per_px: float, near_mm: float = SEEN_NEAR_MM) -> bool:
    return math.dist(head.tip, end) * mm_per_px <= near_mm


def _is_seen(head: Arrowhead, stop: Arrowhead, mm_per_px: float) -> bool:
    """Is a head that was seen the one that the stop would stand for?"""
    alike = head.form in EITHER_WAY or abs(fold_deg(head.direction_deg - stop.direction_deg, 360.0)) < 30.0
    return alike and _is_at(head, stop.tip, mm_per_px)
