"""What a drafter keeps without a figure: equal holes evenly spaced on a pitch circle, and levels and circles mirrored
in a centre line. These relations give way to the figures.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from itertools import combinations

import numpy as np
from shapely import MultiLineString

from digitize.redraw.planes.curve import FULL_TURN_DEG, Circular
from digitize.redraw.planes.plane import Plane
from digitize.redraw.planes.plane_strokes import Axis, Pen, Round, Straight, Stroke
from digitize.redraw.solving.hole_rows import EQUAL_MM
from digitize.redraw.solving.solve import Relation, Values, linear
from digitize.redraw.solving.unknowns import CircleUnknowns, Unknowns
from digitize.strokes.primitives import Point

# In mm of paper, for the finest and for the worst pen; between, `plane_strokes.PENS` times the pen's error.
MIRROR_MM = (0.25, 0.8)  # a pair whose middle lies no further from a centre line is meant to mirror in it
BLUNT_MM = (0.5, 0.8)  # the same of a slanted edge's corner, which the pen blunts
ON_PITCH_MM = (0.4, 1.2)  # a hole whose centre is no further from the pitch circle lies on it
SHARED_SPAN = 0.5  # of the stretch that mirrored edges cover between them both cover; chamfers and steps take the rest
FEWEST_HOLES = 3  # on one pitch circle, for their spacing to be a pattern
_SYMMETRIC_DEG = 1.0  # a pattern turned by no more from a symmetric position stands in it


def mirrors(unknowns: Unknowns, plane: Plane, pen: Pen) -> list[Relation]:
    """Pairs of levels, and of equal circles' centres, mirrored in a centre line.

    A level mirrors that level alone which comes nearest to it: of two steps of nearly one height each keeps its own.
    Mirrored edges run side by side: a hub and a rim that lie about as far from a hole's centre line are none.
    """
    most = pen.slack(MIRROR_MM)
    edges = {u: _spans(plane, number) for number, u in enumerate(unknowns.levels)}
    relations = []
    for axis, middle in unknowns.axes:
        levels = [u for u, level in zip(unknowns.levels, plane.levels, strict=True) if level.axis is axis]
        places = [(u, None) for u in levels] + [
            (each.x if axis is Axis.X else each.y, each) for each in unknowns.circles.values()
        ]
        for (one, circle), (other, twin) in combinations(places, 2):
            if one == other or middle in (one, other) or not _twins(circle, twin, axis, most):
                continue
            off = (unknowns.drawn[one] + unknowns.drawn[other]) / 2 - unknowns.drawn[middle]
            if abs(off) > most:
                continue
            if circle is not None or (
                _side_by_side(edges[one], edges[other]) and _mutual(unknowns, one, other, middle, levels, edges)
            ):
                relations.append(linear({one: 1.0, other: 1.0, middle: -2.0}, 0.0))
    return relations


def _spans(plane: Plane, level: int) -> MultiLineString:
    """Where along itself a level has strokes."""
    along = 1 - plane.levels[level].axis.value
    strokes = (each for each in plane.strokes if isinstance(each, Straight) and each.level == level)
    return MultiLineString([((each.start[along], 0.0), (each.end[along], 0.0)) for each in strokes])


def _side_by_side(one: MultiLineString, other: MultiLineString) -> bool:
    both = one.union(other).length
    return bool(both) and one.intersection(other).length >= SHARED_SPAN * both


def _mutual(
    unknowns: Unknowns,
    one: int,
    other: int,
    middle: int,
    levels: Sequence[int],
    edges: Mapping[int, MultiLineString],
) -> bool:
    """Whether each of two levels is, of those that run beside it, the one nearest to the other's mirror image."""
    place, axis = unknowns.drawn, unknowns.drawn[middle]

    def nearest(mine: int) -> int:
        beside = (u for u in levels if u != mine and _side_by_side(edges[mine], edges[u]))
        return min(beside, key=lambda u: abs(place[u] + place[mine] - 2 * axis))

    return nearest(one) == other and nearest(other) == one


def _twins(one: CircleUnknowns | None, other: CircleUnknowns | None, axis: Axis, most: float) -> bool:
    """Two levels, or two circles of one size at one height, may mirror each other; a level and a circle may not."""
    if one is None or other is None:
        return one is other
    across = 1 - axis.value
    level = abs(one.drawn.centre[across] - other.drawn.centre[across]) <= most
    return level and abs(one.drawn.radius - other.drawn.radius) <= most


def corners_mirrored(unknowns: Unknowns, plane: Plane, pen: Pen) -> list[Relation]:
    """Corners of chamfers mirrored in a centre line: those of a turned part have one size above and below.

    Such a corner is where a slanted edge meets a level or upright one; each of the two comes nearest to the other's
    image.
    """
    most, levels = pen.slack(BLUNT_MM), set(unknowns.levels)
    corners = [
        n
        for n, each in enumerate(plane.nodes)
        if len(levels.intersection(unknowns.nodes[n])) == 1
        and any(_is_slanted(plane.strokes[index]) for index in each.strokes)
    ]
    places = {n: _drawn_at(unknowns, n) for n in corners}
    relations = []
    for axis, middle in unknowns.axes:
        images = {n: axis.laid(at, 2 * unknowns.drawn[middle] - at[axis.value]) for n, at in places.items()}
        nearest = {n: min(places, key=lambda other: math.dist(images[n], places[other])) for n in places}
        for one, other in nearest.items():
            if one < other and nearest[other] == one and math.dist(images[one], places[other]) <= most:
                a, b = unknowns.nodes[one], unknowns.nodes[other]
                relations.append(linear({a[axis.value]: 1.0, b[axis.value]: 1.0, middle: -2.0}, 0.0))
                if a[1 - axis.value] != b[1 - axis.value]:
                    relations.append(linear({a[1 - axis.value]: 1.0, b[1 - axis.value]: -1.0}, 0.0))
    return relations


def _drawn_at(unknowns: Unknowns, node: int) -> Point:
    x, y = unknowns.nodes[node]
    return unknowns.drawn[x], unknowns.drawn[y]


def _is_slanted(stroke: Stroke) -> bool:
    return isinstance(stroke, Straight) and stroke.level is None


def patterns(unknowns: Unknowns, visible: Sequence[Round], pitch_circles: Sequence[Round], pen: Pen) -> list[Relation]:
    relations: list[Relation] = []
    for pitch in pitch_circles:
        holes = _holes_on(pitch.curve, visible, pen)
        if len(holes) >= FEWEST_HOLES:
            relations += _pattern(unknowns, pitch, holes, pen)
    return relations


def _holes_on(pitch: Circular, visible: Sequence[Round], pen: Pen) -> list[Round]:
    """Holes of one size on a pitch circle, by their angle; none where the sizes differ."""
    holes = [
        each
        for each in visible
        if each.curve.full
        and each.curve.radius < pitch.radius / 2
        and abs(math.dist(each.curve.centre, pitch.centre) - pitch.radius) <= pen.slack(ON_PITCH_MM)
    ]
    radii = [each.curve.radius for each in holes]
    if not radii or max(radii) - min(radii) > pen.slack(EQUAL_MM):
        return []
    return sorted(holes, key=lambda each: _angle_deg(pitch.centre, each.curve.centre))


def _angle_deg(centre: Point, point: Point) -> float:
    return math.degrees(math.atan2(point[1] - centre[1], point[0] - centre[0])) % FULL_TURN_DEG


def _pattern(unknowns: Unknowns, pitch: Round, holes: Sequence[Round], pen: Pen) -> list[Relation]:
    """One size for all holes; and even spacing where they are drawn so."""
    first, *rest = (unknowns.circles[hole.arc] for hole in holes)
    relations = [linear({first.radius: 1.0, other.radius: -1.0}, 0.0) for other in rest]
    step = FULL_TURN_DEG / len(holes)
    turns = [_angle_deg(pitch.curve.centre, hole.curve.centre) - i * step for i, hole in enumerate(holes)]
    turn = sum(turns) / len(turns)
    loose_deg = math.degrees(pen.slack(ON_PITCH_MM) / pitch.curve.radius)
    if max(abs(each - turn) for each in turns) > loose_deg:
        return relations
    return relations + _even_spacing(unknowns, pitch, holes, turn, step)


def _even_spacing(
    unknowns: Unknowns, pitch: Round, holes: Sequence[Round], turn_deg: float, step_deg: float
) -> list[Relation]:
    ring = unknowns.circles[pitch.arc]
    turn = unknowns.add(math.radians(turn_deg), pitch.length)
    relations = []
    positions = [_symmetric_deg(turn_deg, step_deg, about) for about in (0.0, 90.0)]
    symmetric = min(positions, key=lambda each: abs(each - turn_deg))
    if abs(turn_deg - symmetric) <= _SYMMETRIC_DEG:
        relations.append(linear({turn: 1.0}, math.radians(symmetric)))
    for i, hole in enumerate(holes):
        circle = unknowns.circles[hole.arc]
        angle = math.radians(i * step_deg)
        relations += [
            Relation((circle.x, ring.x, ring.radius, turn), _off_spoke(angle, np.cos)),
            Relation((circle.y, ring.y, ring.radius, turn), _off_spoke(angle, np.sin)),
        ]
    return relations


def _off_spoke(angle: float, part: np.ufunc) -> Callable[[Values], complex]:
    """How far a coordinate is from the end of a spoke at an angle from the pattern's own turn."""

    def residual(values: Values) -> complex:
        place, centre, radius, turn = values
        return complex(place - centre - radius * part(turn + angle))

    return residual


def _symmetric_deg(turn_deg: float, step_deg: float, about_deg: float) -> float:
    """The turn nearest to the one given at which a pattern is symmetric about a line through its centre.

    Examples
    --------
    >>> _symmetric_deg(89.0, 120.0, 90.0), _symmetric_deg(31.0, 60.0, 0.0)
    (90.0, 30.0)
    """
    half = step_deg / 2
    return about_deg + round((turn_deg - about_deg) / half) * half
