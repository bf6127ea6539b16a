"""Overall sizes of views that neither a figure nor a row of figures end to end gives."""

import math
from collections.abc import Iterator

from digitize.dimensions.linking.bolt_circles import WHOLE_DEG
from digitize.dimensions.scales.projection import Extent, view_extents
from digitize.dimensions.states.drawn_sizes import LEAST_EDGE_MM, MEETS_MM, Drawing, as_lacking, error_mm
from digitize.dimensions.states.round_sizes import ROUND_DEG
from digitize.dimensions.table import Lacking
from digitize.dimensions.witnesses.chains import SAME_PLACE_MM
from digitize.lettering.text import Kind
from digitize.strokes.primitives import Point, Role

FLAT = 0.02
"""Sine of the slope up to which a length counts as level or upright."""


def overall_sizes(sheet: Drawing) -> Iterator[Lacking]:
    """Width and height of each view that no figure and no row of figures gives."""
    for view, extent in view_extents(sheet.strokes).items():
        scale = sheet.scales.get(view)
        if scale is None:
            continue
        for word, (first, second), per_px in zip(
            ("width", "height"), _sides(extent), (scale.x_mm_per_px, scale.y_mm_per_px), strict=True
        ):
            size_mm = math.dist(first, second) * per_px
            std_mm = error_mm(size_mm, scale, 1.0)
            edged = all(_is_edged(end, word == "width", view, sheet) for end in (first, second))
            edged = edged and not _is_round(first, second, word == "width", view, sheet)
            if edged and not sheet.is_given(size_mm, std_mm) and not _rowed(first, second, view, sheet):
                yield as_lacking(f"overall {word}", view, size_mm, std_mm, (first, second), sheet.unit)


def _is_edged(side: Point, upright: bool, view: str, sheet: Drawing) -> bool:
    """Does an edge, or the pole of a circle, lie along this side of a view? Else the side is that of a stray stroke."""
    axis, slack = (0 if upright else 1), MEETS_MM / sheet.mm_per_px
    edges = (line for line in sheet.strokes.lines if line.view == view and line.role is Role.VISIBLE)
    if any(
        max(abs(line.start[axis] - side[axis]), abs(line.end[axis] - side[axis])) < slack
        and math.dist(line.start, line.end) * sheet.mm_per_px > LEAST_EDGE_MM
        for line in edges
    ):
        return True
    rounds = (arc for arc in sheet.strokes.arcs if arc.view == view and arc.role is Role.VISIBLE)
    wide = (arc for arc in rounds if arc.sweep_deg >= WHOLE_DEG / 2)
    return any(abs(abs(arc.centre[axis] - side[axis]) - arc.radius_px) < slack for arc in wide)


def _is_round(first: Point, second: Point, across: bool, view: str, sheet: Drawing) -> bool:
    """Does a circle reach from side to side? Then the view is as large as its circle, though a keyseat cuts into it."""
    axis, slack = (0 if across else 1), MEETS_MM / sheet.mm_per_px
    low, high = sorted((first[axis], second[axis]))
    return any(
        arc.centre[axis] - arc.radius_px < low + slack and arc.centre[axis] + arc.radius_px > high - slack
        for arc in sheet.strokes.arcs
        if arc.view == view and arc.role is Role.VISIBLE and arc.sweep_deg >= ROUND_DEG
    )


def _sides(extent: Extent) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    left, top, right, bottom = extent
    return ((left, bottom), (right, bottom)), ((left, bottom), (left, top))


def _rowed(first: Point, second: Point, view: str, sheet: Drawing) -> bool:
    """Do measured lengths of the view, end to end, lead from one side to the other?"""
    axis = 0 if abs(first[0] - second[0]) > abs(first[1] - second[1]) else 1
    slack = SAME_PLACE_MM / sheet.mm_per_px
    steps = list(_steps(axis, view, sheet))
    reached, frontier = [first[axis]], [first[axis]]
    while frontier:
        at = frontier.pop()
        for one, other in (*steps, *((b, a) for a, b in steps)):
            if abs(one - at) < slack and all(abs(other - been) >= slack for been in reached):
                reached.append(other)
                frontier.append(other)
    return any(abs(at - second[axis]) < slack for at in reached)


def _steps(axis: int, view: str, sheet: Drawing) -> Iterator[tuple[float, float]]:
    for row in sheet.rows:
        if row.geometry is None or row.view != view or row.kind not in (Kind.LINEAR, Kind.DIAMETER):
            continue
        (x0, y0), (x1, y1) = row.geometry.first, row.geometry.second
        run, rise = (x1 - x0, y1 - y0) if axis == 0 else (y1 - y0, x1 - x0)
        if abs(rise) <= FLAT * abs(run):
            yield (x0, x1) if axis == 0 else (y0, y1)
