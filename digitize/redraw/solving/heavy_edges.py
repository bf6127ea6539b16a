"""Edges told by the pen that drew them from what a finer one drew.

An extension line is drawn with the fine pen and ends in the open or at an edge. What the edges' own pen drew from an
edge to another is one of them, and the views of edges that it meets are one. A curve by a finer pen is none: two hidden
lines that lie side by side, dash beside dash, may be traced as curves.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from shapely import LineString
from shapely import Point as Spot

from digitize.strokes.primitives import Arc, Line, Pen, Role, Strokes, View

FINE = (Role.DIMENSION, Role.CENTRE, Role.HATCH)  # by the fine pen, and not taken for edges
TWO_PENS = 1.2  # times as wide as seen (ISO 128-2 and ASME Y14.2 have 2; one bit knows whole pixels): less may be one
MEETS_PX = 3.0  # strokes that meet end no further apart than this many of the heavy pen's half widths
_STEP_DEG = 10.0  # between the points of an arc's path


def with_heavy_edges(strokes: Strokes) -> Strokes:
    """The strokes with such edges as visible ones, such curves as hidden ones, and views as large as the edges make
    them."""
    fine, heavy = (_pen_of(strokes, roles) for roles in (FINE, (Role.VISIBLE,)))
    if fine is None or heavy is None or heavy.seen_px < TWO_PENS * fine.seen_px:
        return strokes
    splines = tuple(
        replace(each, role=Role.HIDDEN) if TWO_PENS * each.width_px <= heavy.seen_px else each
        for each in strokes.splines
    )
    strokes, reach = replace(strokes, splines=splines), MEETS_PX * heavy.seen_px / 2
    maybe = {
        n: _path(each)
        for n, each in enumerate(strokes.lines)
        if each.role is Role.EXTENSION and strokes.pen_of(each) == heavy
    }
    sure = [_path(each) for each in _edges(strokes)]
    while alone := [n for n in maybe if not _between_edges(n, maybe, sure, reach)]:
        maybe = {n: path for n, path in maybe.items() if n not in alone}
    if not maybe:
        return strokes
    owners = _owners(maybe, [(each.view, _path(each)) for each in _edges(strokes)], reach)
    lines = tuple(
        replace(each, role=Role.VISIBLE, view=owners.get(n, each.view)) if n in maybe else each
        for n, each in enumerate(strokes.lines)
    )
    views = tuple(_grown(each, [lines[n] for n in maybe if lines[n].view == each.id]) for each in strokes.views)
    return replace(strokes, lines=lines, views=views)


def _owners(
    maybe: dict[int, LineString], edges: Sequence[tuple[str | None, LineString]], reach: float
) -> dict[int, str]:
    """The view of each line that is an edge after all: of the edges that it and those it hangs together with meet; as
    an extension line it was given to whatever lay nearest."""
    owners: dict[int, str] = {}
    left = dict(maybe)
    while left:
        chain = [next(iter(left))]
        for n in chain:
            path = left.pop(n)
            chain += [each for each in left if each not in chain and _meetings(path, left[each], reach)]
        met = Counter(view for n in chain for view, edge in edges if view and _meetings(maybe[n], edge, reach))
        owners |= dict.fromkeys(chain, met.most_common(1)[0][0]) if met else {}
    return owners


def views_in_touch(strokes: Strokes, before: Strokes) -> list[tuple[str, str]]:
    """Pairs of views of which an edge of one, not taken for one before, meets an edge of the other."""
    heavy = _pen_of(strokes, (Role.VISIBLE,))
    every = zip(strokes.lines, before.lines, strict=True)
    regained = [(now.view, _path(now)) for now, then in every if now.role is not then.role]
    if heavy is None or not regained:
        return []
    reach = MEETS_PX * heavy.seen_px / 2
    edges = [(each.view, _path(each)) for each in _edges(strokes)]
    return sorted(
        {
            (mine, theirs)
            for mine, path in regained
            for theirs, other in edges
            if mine and theirs and mine != theirs and _meetings(path, other, reach)
        }
    )


def _edges(strokes: Strokes) -> list[Line | Arc]:
    every: tuple[Line | Arc, ...] = (*strokes.lines, *strokes.arcs)
    return [each for each in every if each.role is Role.VISIBLE]


def _path(stroke: Line | Arc) -> LineString:
    if isinstance(stroke, Line):
        return LineString((stroke.start, stroke.end))
    turns = np.radians(
        np.linspace(0.0, stroke.sweep_deg, max(2, round(stroke.sweep_deg / _STEP_DEG))) + stroke.start_deg
    )
    return LineString(stroke.centre + stroke.radius_px * np.column_stack([np.cos(turns), -np.sin(turns)]))


def _meetings(path: LineString, other: LineString, reach: float) -> list[float]:
    """How far along a path one of the two ends at the other."""
    theirs = [Spot(end) for end in (other.coords[0], other.coords[-1])]
    mine = [Spot(end) for end in (path.coords[0], path.coords[-1])]
    met = [end for end in theirs if path.dwithin(end, reach)] + [end for end in mine if other.dwithin(end, reach)]
    return [path.project(end) for end in met]


def _between_edges(number: int, maybe: dict[int, LineString], sure: Sequence[LineString], reach: float) -> bool:
    """Whether a line goes from one edge, or line that may be one, to another; it may run on as their extension line."""
    others = (*sure, *(path for n, path in maybe.items() if n != number))
    places = [at for other in others for at in _meetings(maybe[number], other, reach)]
    return bool(places) and max(places) - min(places) > 2 * reach


def _pen_of(strokes: Strokes, roles: tuple[Role, ...]) -> Pen | None:
    """The pen that drew most of some roles."""
    drawn: dict[Pen, float] = {}
    for each in strokes.lines:
        pen = strokes.pen_of(each) if each.role in roles else None
        if pen is not None:
            drawn[pen] = drawn.get(pen, 0.0) + math.dist(each.start, each.end)
    return max(drawn, key=drawn.__getitem__, default=None)


def _grown(view: View, edges: Iterable[Line]) -> View:
    left, top, right, bottom = view.box
    for (x0, y0), (x1, y1) in ((each.start, each.end) for each in edges):
        left, top = min(left, x0, x1), min(top, y0, y1)
        right, bottom = max(right, x0, x1), max(bottom, y0, y1)
    return replace(view, box=(left, top, right, bottom))
