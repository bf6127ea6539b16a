"""Edges that were taken for extension lines, told by the pen that drew them.

An extension line is drawn with the fine pen and ends in the open or at an edge. What the edges' own pen drew from an
edge to another is one of them.
"""

import math
from collections.abc import Iterable
from dataclasses import replace

from shapely import LineString
from shapely import Point as Spot

from digitize.strokes.primitives import Line, Pen, Role, Strokes, View

FINE = (Role.DIMENSION, Role.CENTRE, Role.HATCH)  # by the fine pen, and not taken for edges
TWO_PENS = 1.5  # times as wide as seen: less may be one pen (ISO 128-2 and ASME Y14.2 have 2)
MEETS_PX = 3.0  # strokes that meet end no further apart than this many of the heavy pen's half widths


def with_heavy_edges(strokes: Strokes) -> Strokes:
    """The strokes with such edges as visible ones, and their views as large as these make them."""
    fine, heavy = (_pen_of(strokes, roles) for roles in (FINE, (Role.VISIBLE,)))
    if fine is None or heavy is None or heavy.seen_px < TWO_PENS * fine.seen_px:
        return strokes
    reach = MEETS_PX * heavy.seen_px / 2
    maybe = {n for n, each in enumerate(strokes.lines) if each.role is Role.EXTENSION and strokes.pen_of(each) == heavy}
    while alone := {n for n in maybe if not _between_edges(n, strokes, maybe, reach)}:
        maybe -= alone
    lines = tuple(replace(each, role=Role.VISIBLE) if n in maybe else each for n, each in enumerate(strokes.lines))
    views = tuple(_grown(each, [lines[n] for n in maybe if lines[n].view == each.id]) for each in strokes.views)
    return replace(strokes, lines=lines, views=views)


def _pen_of(strokes: Strokes, roles: tuple[Role, ...]) -> Pen | None:
    """The pen that drew most of some roles."""
    drawn: dict[Pen, float] = {}
    for each in strokes.lines:
        pen = strokes.pen_of(each) if each.role in roles else None
        if pen is not None:
            drawn[pen] = drawn.get(pen, 0.0) + math.dist(each.start, each.end)
    return max(drawn, key=drawn.__getitem__, default=None)


def _between_edges(number: int, strokes: Strokes, maybe: set[int], reach: float) -> bool:
    """Whether a line goes from one edge, or line that may be one, to another."""
    line = strokes.lines[number]
    others = [each for n, each in enumerate(strokes.lines) if n != number and (n in maybe or each.role is Role.VISIBLE)]
    paths = [LineString((each.start, each.end)) for each in others]
    return all(any(path.dwithin(Spot(end), reach) for path in paths) for end in (line.start, line.end))


def _grown(view: View, edges: Iterable[Line]) -> View:
    left, top, right, bottom = view.box
    for (x0, y0), (x1, y1) in ((each.start, each.end) for each in edges):
        left, top = min(left, x0, x1), min(top, y0, y1)
        right, bottom = max(right, x0, x1), max(bottom, y0, y1)
    return replace(view, box=(left, top, right, bottom))
