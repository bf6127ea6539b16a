"""A side view that is symmetric about its centre line, and what the sheet says of it is round."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely.affinity import scale as stretched

from digitize.dimensions.table import Reconciled, State
from digitize.lettering.text import Kind
from digitize.redraw.dxf import Corner
from digitize.redraw.solids.solid_shape import Corners
from digitize.redraw.solids.view_outlines import PAIR_MM, SAME, outer_ring, polygon_of, ring_corners
from digitize.redraw.solving.solved import SolvedView
from digitize.strokes.primitives import Role

ROOT_SHARE = 0.7  # of the least radius: a thread's root lies further out (ISO 68-1 and ASME B1.1: 0.7 from M2.5 up)
ROUND = (Kind.DIAMETER, Kind.THREAD)  # figures of what is round: a thread's is its diameter over the crests


@dataclass(frozen=True)
class Spindle:
    """A side view that is symmetric about a level or upright centre line; ``axis`` is 0 where this runs along x."""

    view: SolvedView
    axis: int
    middle: float

    def laid(self, corners: Sequence[Corner]) -> Corners:
        """Corners in (z, radius), counter-clockwise."""
        if self.axis == 0:
            return tuple((x, y - self.middle, bulge) for x, y, bulge in corners)
        return tuple((y, self.middle - x, bulge) for x, y, bulge in corners)

    def radii(self) -> list[float]:
        """Distances from the centre line of the outline's edges along it."""
        return radii_of([self.laid(ring_corners(self.view.profile, outer_ring(self.view)))])


def radii_of(faces: Sequence[Corners]) -> list[float]:
    """Distances from the axis of the faces' edges along it, above it."""
    found: list[float] = []
    for corners in faces:
        for (z, r, bulge), (next_z, next_r, _) in zip(corners, [*corners[1:], corners[0]], strict=True):
            if not bulge and abs(next_r - r) <= SAME * abs(r) and abs(next_z - z) > SAME and r > SAME:
                found.append(r)
    return found


def spindle_of(view: SolvedView) -> Spindle | None:
    """The view about the centre line in which its outline is symmetric; None without one."""
    shape = polygon_of(view, outer_ring(view))
    for start, end in view.profile.centre_lines:
        axis = 0 if abs(end[0] - start[0]) > abs(end[1] - start[1]) else 1
        middle = start[1 - axis]
        mirrored = stretched(shape, -1 if axis else 1, 1 if axis else -1, origin=(middle, middle))
        if shape.symmetric_difference(mirrored).area <= SAME * shape.area:
            return Spindle(view, axis, middle)
    return None


def round_radii(spindle: Spindle, others: Sequence[SolvedView], reconciled: Reconciled) -> list[float]:
    """Radii that a diameter across the side view, or a circle of another view, says are round."""
    found = given_radii(spindle, reconciled)
    for view in others:
        visible = {index for index, arc in view.view.arcs if arc.role is Role.VISIBLE}
        found += [circle.radius for index, circle in view.profile.circles.items() if index in visible and circle.full]
    return found


def given_radii(spindle: Spindle, reconciled: Reconciled) -> list[float]:
    """Radii that an agreed diameter across the side view gives."""
    ends = spindle.view.profile.ends
    across = 1 - spindle.axis
    found = []
    for each in reconciled.dimensions:
        if each.kind in ROUND and each.state is State.AGREED and each.id in ends:
            first, second = ends[each.id].first, ends[each.id].second
            if abs((first[across] + second[across]) / 2 - spindle.middle) <= SAME * math.dist(first, second):
                found.append(math.dist(first, second) / 2)
    return found


def called_radii(spindle: Spindle, reconciled: Reconciled) -> list[float]:
    """Radii, as drawn, of what a figure across the side view calls round though its size is not agreed."""
    point, across = spindle.view.view.frame.point, 1 - spindle.axis
    slack = PAIR_MM * spindle.view.view.frame.paper_mm
    found = []
    for each in reconciled.dimensions:
        of_view = each.view == spindle.view.view.name and each.geometry is not None and not each.geometry.arcs
        if of_view and each.kind in ROUND and each.state is State.UNPROVEN:
            assert each.geometry is not None
            first, second = point(each.geometry.first), point(each.geometry.second)
            if abs((first[across] + second[across]) / 2 - spindle.middle) <= slack:
                found.append(abs(first[across] - second[across]) / 2)
    return found


def hidden_bore(spindle: Spindle) -> float | None:
    """How far from the axis hidden edges run along it on both its sides, which is a bore; None without them.

    Those near the outside are a thread's root.
    """
    point, slack = spindle.view.view.frame.point, PAIR_MM * spindle.view.view.frame.paper_mm
    heights = []
    for line in spindle.view.view.lines:
        if line.role is Role.HIDDEN:
            (z0, r0, _), (z1, r1, _) = spindle.laid([(*point(end), 0.0) for end in (line.start, line.end)])
            if abs(r1 - r0) <= slack < abs(z1 - z0):
                heights.append((r0 + r1) / 2)
    most = ROOT_SHARE * min(spindle.radii(), default=0.0)
    return next((a for a in heights for b in heights if abs(a + b) <= slack < a < most), None)
