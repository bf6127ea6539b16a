"""Strokes of the fine pen that were traced as edges.

ISO 128 and ASME Y14.2 draw edges with a pen twice as wide as that of centre, extension and section lines. A solid
stroke that no rule of the tracing knows counts as an edge; where it is drawn too finely for one it is none.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from shapely import LineString, MultiLineString, get_parts
from shapely.geometry.base import BaseGeometry

from digitize.redraw.planes.curve import FULL_TURN_DEG
from digitize.strokes.primitives import Arc, Line, Pen, Role, Strokes

FINE = math.sqrt(0.5)
"""Of the edges' pen, midway between one and a half: of 2,400 drawn edges the trace had one finer, and of 230 centre,
extension and section lines by a fine pen none wider."""
OVERHANG_MM = (0.8, 6.0)  # of paper: so far a centre line stands out beyond the edges that it crosses
ALIKE_MM = 1.0  # of paper: by how much its two ends may differ in that


def fine_lines_told(strokes: Strokes, px_per_paper_mm: float) -> Strokes:
    """Strokes of which those drawn too finely for an edge are none, each in its place.

    Parameters
    ----------
    strokes : Strokes
    px_per_paper_mm : float

    Returns
    -------
    Strokes
        A fine line that stands out alike beyond the edges that it crosses is a centre line, as is a fine circle; other
        fine strokes count as extension lines, which an edge may have been traced as one with.
    """
    pen = _edges_pen(strokes)
    if pen is None:
        return strokes
    most_px = FINE * pen.seen_px
    edges = MultiLineString(
        [(a.start, a.end) for a in strokes.lines if a.role is Role.VISIBLE and a.width_px >= most_px]
    )

    def role_of_line(line: Line) -> Role:
        if line.role is not Role.VISIBLE or line.width_px >= most_px:
            return line.role
        return Role.CENTRE if _stands_out_alike(line, edges, px_per_paper_mm) else Role.EXTENSION

    def role_of_arc(arc: Arc) -> Role:
        if arc.role is not Role.VISIBLE or arc.width_px >= most_px:
            return arc.role
        return Role.CENTRE if arc.sweep_deg >= FULL_TURN_DEG else Role.EXTENSION

    return replace(
        strokes,
        lines=tuple(replace(each, role=role_of_line(each)) for each in strokes.lines),
        arcs=tuple(replace(each, role=role_of_arc(each)) for each in strokes.arcs),
    )


def _edges_pen(strokes: Strokes) -> Pen | None:
    """The pen that drew most of what was traced as edges; None where no pen is known."""
    drawn: dict[Pen, float] = {}
    for stroke, length_px in _edges(strokes.lines, strokes.arcs):
        pen = strokes.pen_of(stroke)
        if pen is not None:
            drawn[pen] = drawn.get(pen, 0.0) + length_px
    return max(drawn, key=drawn.__getitem__, default=None)


def _edges(lines: Sequence[Line], arcs: Sequence[Arc]) -> Iterator[tuple[Line | Arc, float]]:
    yield from ((a, math.dist(a.start, a.end)) for a in lines if a.role is Role.VISIBLE and a.view)
    yield from ((a, math.radians(a.sweep_deg) * a.radius_px) for a in arcs if a.role is Role.VISIBLE and a.view)


def _stands_out_alike(line: Line, edges: BaseGeometry, px_per_paper_mm: float) -> bool:
    """Whether a line crosses edges and ends in the open beyond them, at both ends alike."""
    drawn = LineString([line.start, line.end])
    along = [drawn.project(each) for each in get_parts(drawn.intersection(edges))]
    if len(along) < 2:
        return False
    near, far = min(along) / px_per_paper_mm, (drawn.length - max(along)) / px_per_paper_mm
    least, most = OVERHANG_MM
    return bool(least <= min(near, far) and max(near, far) <= most and abs(near - far) <= ALIKE_MM)
