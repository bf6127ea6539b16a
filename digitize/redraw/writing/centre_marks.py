"""Centre lines of holes that the trace has as other lines: run into an extension line, or taken for hidden edges.

A drafter crosses each hole with its two centre lines; `part.dxf` has both wherever the print has a thin line there.
"""

import math
from collections.abc import Iterator

from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.plane_strokes import Axis, Straight
from digitize.redraw.solving.marks import MARK_MM
from digitize.redraw.solving.profile import DrawnView, Profile
from digitize.strokes.primitives import Point, Role

THIN = (Role.EXTENSION, Role.HIDDEN, Role.CENTRE)
BEYOND_MM = 3.0  # of paper, by which a centre line leaves the circle: common practice, no source
ALONG = math.cos(math.radians(2.0))  # a line nearer to an axis than this runs along it


def centre_marks(view: DrawnView, shape: Profile) -> Iterator[tuple[Point, Point]]:
    """Ends of the centre lines that the circular outlines of a solved view lack and the print shows, in part mm."""
    slack = MARK_MM * view.frame.paper_mm
    thin = [
        Straight(view.frame.point(line.start), view.frame.point(line.end)) for line in view.lines if line.role in THIN
    ]
    thin = [each for each in thin if each.length]
    drawn = {index: view.frame.arc(arc) for index, arc in view.arcs if arc.role is Role.VISIBLE}
    circles = {index: circle for index, circle in shape.circles.items() if index in drawn and circle.full}
    for index, circle in circles.items():
        if any(_within(circle, other, slack) for other in circles.values()):
            continue
        for axis in Axis:
            has = any(_crosses(Straight(*line), circle, axis, slack) for line in shape.centre_lines)
            if not has and any(_crosses(line, drawn[index], axis, slack) for line in thin):
                reach = circle.radius + BEYOND_MM * view.frame.paper_mm
                low, high = (circle.centre[axis.value] + side * reach for side in (-1, 1))
                yield axis.laid(circle.centre, low), axis.laid(circle.centre, high)


def _within(circle: Circular, other: Circular, slack: float) -> bool:
    """Whether a circle lies in a larger one about its centre, whose centre lines are its own."""
    return circle.radius < other.radius and math.dist(circle.centre, other.centre) <= slack


def _crosses(line: Straight, circle: Circular, axis: Axis, slack: float) -> bool:
    """Whether a line along an axis, level with a circle's middle, crosses its rim."""
    (dx, dy), middle = line.direction, circle.centre
    aside = abs((middle[0] - line.start[0]) * dy - (middle[1] - line.start[1]) * dx)
    if abs(line.direction[axis.value]) < ALONG or aside > slack:
        return False
    low, high = sorted(end[axis.value] - middle[axis.value] for end in (line.start, line.end))
    return any(low < rim < high for rim in (-circle.radius, circle.radius))
