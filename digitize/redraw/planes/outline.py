"""Closed outlines of a plane graph: what lies outermost, and what is closed within it.

Glossary
--------
ring
    Pieces that follow one another round a closed region.
bulge
    Tangent of a quarter of the angle that a piece sweeps, 0 where it is straight: how DXF keeps true arcs.
outer, inner
    A ring that lies within no other, and one that does.
cut
    A face in a sectional view that the section plane goes through: it is hatched.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import Point as Spot
from shapely import Polygon

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.faces import Step, faces, simple_cycles
from digitize.redraw.planes.pieces import piece_angles, piece_points
from digitize.redraw.planes.plane import LOOSE, Plane
from digitize.redraw.planes.plane_strokes import Level, Round, Straight
from digitize.strokes.primitives import Point

FEWEST_HATCHES = 2  # hatch lines in a face, for it to be cut: one may have been taken for something else
MIXED_MM = 0.3  # of paper: strokes of one level further apart than most pens err may be two
SMALLEST_MM = 1.0  # of paper: a closed shape no wider is a dot or a crumb of lettering
_DIGITS = 6  # of a mm: what crosses or falls together to within that does in any file


@dataclass(frozen=True)
class Ring:
    """A closed outline of a plane graph. ``within`` is the index of the outer ring round it; None if it is outer."""

    steps: tuple[Step, ...]
    within: int | None = None

    @property
    def circle(self) -> bool:
        """True for a circle that meets nothing."""
        return len(self.steps) == 1 and self.steps[0].piece.first == LOOSE

    def nodes(self) -> list[int]:
        """Its nodes in order; none for a lone circle."""
        return [] if self.circle else [step.start for step in self.steps]

    def corners(self) -> list[int]:
        """Nodes where it goes over to another stroke; where something else meets one stroke it has no corner."""
        before = (self.steps[-1], *self.steps[:-1])
        pairs = zip(before, self.steps, strict=True)
        return [] if self.circle else [step.start for last, step in pairs if last.piece.stroke != step.piece.stroke]


def open_corner(plane: Plane, ring: Ring) -> Point | None:
    """A corner of which both strokes stop short, so that a small bevel or rounding may hide there; None without one."""
    for last, step in zip((ring.steps[-1], *ring.steps[:-1]), ring.steps, strict=True):
        sides = {last.piece.stroke, step.piece.stroke}
        if not ring.circle and len(sides) > 1 and sides <= plane.nodes[step.start].short:
            return plane.nodes[step.start].at
    return None


def mixed_level(plane: Plane, ring: Ring, paper_mm: float) -> Level | None:
    """A level of the ring whose strokes lie so far apart that a finer pen would have made a step; None without one."""
    strokes = (plane.strokes[step.piece.stroke] for step in ring.steps)
    numbers = (each.level for each in strokes if isinstance(each, Straight))
    levels = (plane.levels[number] for number in numbers if number is not None)
    return next((each for each in levels if each.spread > MIXED_MM * paper_mm), None)


def rings(plane: Plane, paper_mm: float) -> list[Ring]:
    """Find the outlines: of each connected part of the graph the outermost ring, largest first.

    Dangling pieces bound nothing and are passed over. A shape narrower than `SMALLEST_MM` of paper is no outline.
    """
    found = [Ring((Step(piece, True),)) for piece in plane.pieces if piece.first == LOOSE]
    found += [Ring(steps) for steps in _outer_cycles(plane)]
    shapes = [(ring_polygon(plane, ring), ring) for ring in found]
    wide = [(shape, ring) for shape, ring in shapes if shape.is_valid and _width(shape) >= SMALLEST_MM * paper_mm]
    wide.sort(key=lambda each: (-each[0].area, each[0].bounds))
    return [
        replace(ring, within=next((i for i, (other, _) in enumerate(wide[:index]) if _within(shape, other)), None))
        for index, (shape, ring) in enumerate(wide)
    ]


def _width(shape: Polygon) -> float:
    """Twice the area over half the perimeter: about the width of a long strip, the diameter of a circle."""
    return float(4 * shape.area / shape.length)


def _within(shape: Polygon, other: Polygon) -> bool:
    return bool(other.contains(shape.representative_point()))


def _outer_cycles(plane: Plane) -> list[tuple[Step, ...]]:
    """Outermost rings of the graph's connected parts, counter-clockwise.

    Notes
    -----
    Round the unbounded face of a connected part the walk is clockwise, so that face alone has a negative area. Where
    that walk passes a node twice it is split into rings.
    """
    cycles: list[tuple[Step, ...]] = []
    for face in faces(plane):
        if signed_area(plane, face) < 0:
            outside = [replace(step, forward=not step.forward) for step in reversed(face)]
            cycles += [cycle for cycle in simple_cycles(outside) if signed_area(plane, cycle) > 0]
    return cycles


def cut_faces(plane: Plane, hatching: Sequence[Point], paper_mm: float) -> list[Ring]:
    """Faces that the section plane cuts: those that hatching lies in, largest first.

    Parameters
    ----------
    plane : Plane
    hatching : sequence of Point
        Middles of the hatch lines.
    paper_mm : float
        Part mm in one mm of paper.
    """
    spots = [Spot(point) for point in hatching]
    found = []
    for face in faces(plane):
        if signed_area(plane, face) <= 0:  # the outside, or a line there and back along its double
            continue
        ring = Ring(tuple(face))
        shape = ring_polygon(plane, ring)
        if not shape.is_valid or _width(shape) < SMALLEST_MM * paper_mm:
            continue
        if sum(shape.contains(spot) for spot in spots) >= FEWEST_HATCHES:
            found.append((shape, ring))
    return [ring for _, ring in sorted(found, key=lambda each: (-each[0].area, each[0].bounds))]


def bulged(plane: Plane, steps: Sequence[Step]) -> list[tuple[float, float, float]]:
    """Corners of a ring as (x, y, bulge), in the order of its steps; a bent curve gives one for each chord."""
    corners: list[tuple[float, float, float]] = []
    for step in steps:
        stroke, bulge = plane.strokes[step.piece.stroke], 0.0
        if isinstance(stroke, Bent):
            chain = piece_points(plane, step.piece)
            corners += [(x, y, 0.0) for x, y in (chain if step.forward else chain[::-1])[:-1]]
            continue
        if isinstance(stroke, Round):
            bulge = math.tan(math.radians(piece_angles(stroke.curve, plane, step.piece)[1] / 4))
        x, y = plane.nodes[step.start].at
        corners.append((x, y, bulge if step.forward else -bulge))
    return corners


def signed_area(plane: Plane, steps: Sequence[Step]) -> float:
    """Area within a closed walk with true arcs, in square mm; negative where it goes clockwise.

    Notes
    -----
    Shoelace formula on the corners, plus for each arc its circular segment r^2 (sweep - sin sweep) / 2, with the
    sign of its bulge.
    """
    corners = np.array(bulged(plane, steps))
    following = np.roll(corners, -1, axis=0)
    twice = corners[:, 0] * following[:, 1] - following[:, 0] * corners[:, 1]
    sweep = 4 * np.arctan(corners[:, 2])
    chord = np.hypot(*(following - corners)[:, :2].T)
    curved = sweep != 0
    radius = np.divide(chord / 2, np.sin(sweep / 2), out=np.zeros_like(chord), where=curved)
    segments = radius**2 * (sweep - np.sin(sweep)) / 2
    return float(twice.sum() / 2 + segments.sum())


def ring_area(plane: Plane, ring: Ring) -> float:
    """Area that a ring encloses, in square mm."""
    if ring.circle:
        return math.pi * ring_circle(plane, ring).radius ** 2
    return signed_area(plane, ring.steps)


def ring_circle(plane: Plane, ring: Ring) -> Circular:
    """The circle of a lone circle's ring."""
    stroke = plane.strokes[ring.steps[0].piece.stroke]
    assert isinstance(stroke, Round)
    return stroke.curve


def ring_polygon(plane: Plane, ring: Ring) -> Polygon:
    """A ring as a polygon with its arcs sampled, to ask what lies in it and whether it crosses itself.

    Its corners are rounded, so that two which a solution has at one place, but for its own rounding, make no crossing.
    """
    if ring.circle:
        return _rounded(piece_points(plane, ring.steps[0].piece))
    points: list[Point] = []
    for step in ring.steps:
        chain = piece_points(plane, step.piece)
        points += chain[:-1] if step.forward else chain[:0:-1]
    return _rounded(points)


def _rounded(points: Sequence[Point]) -> Polygon:
    return Polygon(np.round(points, _DIGITS))


def has_bent(plane: Plane, ring: Ring) -> bool:
    """Whether a ring goes along a bent curve, which no figure shapes."""
    return any(isinstance(plane.strokes[step.piece.stroke], Bent) for step in ring.steps)
