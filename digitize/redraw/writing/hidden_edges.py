"""Hidden edges of a solved view: as drawn, but carried along with the edges that figures have moved.

They bound no outline and no figure is tied to them. What lies where an edge lies is there exactly; between edges it is
as far from them, in proportion, as the print has it, and stands on a layer for what is scaled.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, unary_union
from shapely import Point as Spot
from shapely.geometry.base import BaseGeometry

from digitize.redraw.planes import outline
from digitize.redraw.planes.levels import LEVEL_MM, axis_of
from digitize.redraw.planes.pieces import piece_line
from digitize.redraw.planes.plane import LOOSE
from digitize.redraw.planes.plane_strokes import GAP_MM, Axis, Pen, Straight
from digitize.redraw.solving.profile import DrawnView, Profile
from digitize.strokes.primitives import Point, Role

LEAST_MM = 2.0  # of paper: a shorter one may be a crumb, and shows no dash


@dataclass(frozen=True)
class _Places:
    """Places along an axis where edges were drawn, rising, and where they are."""

    drawn: tuple[float, ...]
    solved: tuple[float, ...]
    slack: float

    def carried(self, at: float) -> tuple[float, bool]:
        """Where a drawn place is, and whether an edge lies there."""
        if not self.drawn:
            return at, False
        off = np.abs(np.array(self.drawn) - at)
        nearest = int(off.argmin())
        if off[nearest] <= self.slack:
            return self.solved[nearest], True
        shifts = np.array(self.solved) - np.array(self.drawn)
        return at + float(np.interp(at, self.drawn, shifts)), False


def hidden_edges(
    view: DrawnView, shape: Profile, beside: Sequence[tuple[Point, Point]]
) -> Iterator[tuple[Point, Point, bool]]:
    """Ends of a view's level and upright hidden edges in part mm, and whether each lies where edges tell.

    Parameters
    ----------
    view : DrawnView
    shape : Profile
        As solved.
    beside : sequence of (Point, Point)
        Centre lines, some of which the trace may have as hidden.
    """
    pen = Pen(view.frame.paper_mm, view.pen_mm)
    gap, slack = GAP_MM * pen.paper_mm, pen.slack(LEVEL_MM)
    places = {axis: _places(shape, axis, slack) for axis in Axis}
    edges = [piece_line(shape.plane, piece) for piece in shape.plane.pieces]
    outers = [outline.ring_polygon(shape.plane, ring) for ring in shape.rings if ring.within is None]
    within = unary_union(outers).buffer(gap)
    moved = [line for each in _drawn(view) if (line := _moved(each, places, pen)) is not None]
    lines = [LineString(ends) for *ends, _ in moved]
    taken: list[BaseGeometry] = [*edges, *map(LineString, beside)]
    for (start, end, told), line in sorted(zip(moved, lines, strict=True), key=lambda each: -each[1].length):
        others = unary_union([*edges, *(each for each in lines if each is not line)])
        ended = all(others.distance(Spot(at)) <= gap for at in (start, end))
        doubled = any(each.buffer(slack).intersection(line).length > line.length / 2 for each in taken)
        if ended and not doubled and within.covers(line):
            taken.append(line)
            yield start, end, told


def _drawn(view: DrawnView) -> list[Straight]:
    least = LEAST_MM * view.frame.paper_mm
    lines = (Straight(view.frame.point(a.start), view.frame.point(a.end)) for a in view.lines if a.role is Role.HIDDEN)
    return [each for each in lines if each.length >= least]


def _places(shape: Profile, axis: Axis, slack: float) -> _Places:
    """Where the levels of a view's plane were drawn and are."""
    plane, found = shape.plane, dict[float, float]()
    for piece in plane.pieces:
        stroke = plane.strokes[piece.stroke]
        if isinstance(stroke, Straight) and stroke.level is not None and piece.first != LOOSE:
            level = plane.levels[stroke.level]
            if level.axis is axis:
                found[level.position] = plane.nodes[piece.first].at[axis.value]
    return _Places(tuple(sorted(found)), tuple(found[each] for each in sorted(found)), slack)


def _moved(line: Straight, places: dict[Axis, _Places], pen: Pen) -> tuple[Point, Point, bool] | None:
    axis = axis_of(line, pen.paper_mm)
    if axis is None:
        return None
    along = Axis.X if axis is Axis.Y else Axis.Y
    place, told = places[axis].carried((line.start[axis.value] + line.end[axis.value]) / 2)
    ends = [axis.laid(at, place) for at in (line.start, line.end)]
    start, end = (along.laid(at, places[along].carried(at[along.value])[0]) for at in ends)
    return (start, end, told) if start != end else None
