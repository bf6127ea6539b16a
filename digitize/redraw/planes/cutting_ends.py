"""Corners that mark where a cutting plane ends: two short edges in the open, square to each other.

ISO 128-3 and ASME Y14.3 end a cutting plane in a short thick stroke and a leg that points the way one looks. The plane
between its ends is often not drawn, so that no chain line tells what they are.
"""

import math
from dataclasses import replace
from itertools import combinations

import numpy as np
from shapely import LineString, MultiLineString, STRtree

from digitize.strokes.primitives import Arc, Line, Role, Strokes

LEG_MM = (2.0, 8.0)  # of paper: how long the two strokes are; a shorter stroke beside them is a crumb
MEET_MM = 0.8  # of paper: strokes that come no nearer do not meet
CHORD_DEG = 5.0  # a chord leaves its arc by a thousandth of the radius
SQUARE = math.sin(math.radians(3.0))
_EDGES = (Role.VISIBLE, Role.HIDDEN, Role.EXTENSION)  # what a lost edge goes on as, and the end of a plane does not


def cutting_ends_told(strokes: Strokes, px_per_paper_mm: float) -> Strokes:
    """Strokes of which the corners of a cutting plane have the role CUTTING, each in its place.

    Parameters
    ----------
    strokes : Strokes
    px_per_paper_mm : float
    """
    least, most, near = (each * px_per_paper_mm for each in (*LEG_MM, MEET_MM))
    drawn = {i: _drawn(each) for i, each in enumerate(strokes.lines) if each.role in _EDGES}
    drawn = {i: each for i, each in drawn.items() if each.length >= least}
    legs = [i for i, each in drawn.items() if each.length <= most and strokes.lines[i].role is Role.VISIBLE]
    rounds = [_chords(arc) for arc in strokes.arcs if arc.role is Role.VISIBLE]
    numbers, around = list(drawn), STRtree([*drawn.values(), *rounds])
    marks: set[int] = set()
    for one, other in combinations(legs, 2):
        if _square(strokes.lines[one], strokes.lines[other], near):
            both = MultiLineString([drawn[one], drawn[other]])
            met = {numbers[k] if k < len(numbers) else -1 for k in around.query(both, "dwithin", near)}
            marks |= {one, other} if met == {one, other} else set()
    lines = (replace(each, role=Role.CUTTING) if i in marks else each for i, each in enumerate(strokes.lines))
    return replace(strokes, lines=tuple(lines))


def _chords(arc: Arc) -> LineString:
    """An arc as chords, y down."""
    angles = np.radians(arc.start_deg + np.linspace(0.0, arc.sweep_deg, 2 + int(arc.sweep_deg / CHORD_DEG)))
    return LineString(np.array(arc.centre) + arc.radius_px * np.column_stack([np.cos(angles), -np.sin(angles)]))


def _drawn(line: Line) -> LineString:
    return LineString([line.start, line.end])


def _square(one: Line, other: Line, near_px: float) -> bool:
    """Whether two lines meet in their ends and are square to each other."""
    gap = min(math.dist(a, b) for a in (one.start, one.end) for b in (other.start, other.end))
    (ax, ay), (bx, by) = ((each.end[0] - each.start[0], each.end[1] - each.start[1]) for each in (one, other))
    return gap <= near_px and abs(ax * bx + ay * by) <= SQUARE * math.hypot(ax, ay) * math.hypot(bx, by)
