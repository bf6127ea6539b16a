"""The unknowns of one view, and the relations that the drawing itself shows.

Kept without an equation, by sharing an unknown: strokes on one level; circles about one centre; circles on a centre
line. Kept by a relation: a node lies on its circles and slanted strokes; strokes that touch go on touching; levels
and circles mirrored in a centre line; holes spaced evenly on a pitch circle.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np

from calibrate.sheet import FloatArray
from digitize.redraw.curve import FULL_TURN_DEG, Circular
from digitize.redraw.outline import Ring
from digitize.redraw.plane import Axis, Level, Node, Pen, Plane, Round, Straight
from digitize.redraw.solve import Relation, Values, linear
from digitize.strokes.primitives import Point

# In mm of paper, for the finest and for the worst pen; between, `plane.PENS` times the pen's error.
CONCENTRIC_MM = (0.4, 1.0)  # centres no further apart are one: the compass was put down once
MIRROR_MM = (0.25, 0.8)  # a pair whose middle lies no further from a centre line is meant to mirror in it
EQUAL_MM = (0.2, 0.8)  # holes of one pitch circle that differ no more in radius are one size
ONE_CIRCLE_MM = (0.15, 0.4)  # concentric arcs that differ no more in radius are one circle
ON_PITCH_MM = (0.4, 1.2)  # a hole whose centre is no further from the pitch circle lies on it
FEWEST_HOLES = 3  # on one pitch circle, for their spacing to be a pattern
NODE_WEIGHT = 1e-3  # of a place that only strokes' crossings give; strokes weigh by their length
_LEAST_DIRECTION_MM = 1e-3  # nodes nearer than this, in part mm, give no direction
_SYMMETRIC_DEG = 1.0  # a pattern turned by no more from a symmetric position stands in it


@dataclass(frozen=True)
class CircleUnknowns:
    """Indices of a circle's centre and radius among the unknowns, and the circle as drawn."""

    x: int
    y: int
    radius: int
    drawn: Circular

    def moved(self, values: FloatArray) -> Circular:
        """The circle with other values of the unknowns."""
        centre = float(values[self.x]), float(values[self.y])
        return replace(self.drawn, centre=centre, radius=float(values[self.radius]))


@dataclass
class Unknowns:
    """Grows while a view is described; `values` and `weights` are then arrays over all unknowns.

    Attributes
    ----------
    levels, level_axes : list of int, list of Axis
        Unknown of each level of the plane, and its axis.
    axes : list of (Axis, int)
        Unknown of each centre line that lies level or upright.
    nodes : list of (int, int)
        Unknowns of each node.
    circles : dict of int to CircleUnknowns
        By index into `Strokes.arcs`.
    rounds : dict of int to int
        That index for each round stroke of the plane.
    """

    drawn: list[float] = field(default_factory=list)
    weight: list[float] = field(default_factory=list)
    levels: list[int] = field(default_factory=list)
    level_axes: list[Axis] = field(default_factory=list)
    axes: list[tuple[Axis, int]] = field(default_factory=list)
    nodes: list[tuple[int, int]] = field(default_factory=list)
    circles: dict[int, CircleUnknowns] = field(default_factory=dict)
    rounds: dict[int, int] = field(default_factory=dict)

    def add(self, value: float, weight: float) -> int:
        """Add an unknown and give its index."""
        self.drawn.append(value)
        self.weight.append(weight)
        return len(self.drawn) - 1

    def shared(self, candidates: Iterable[int], value: float, weight: float, most: float) -> int:
        """The nearest of some unknowns, which then carries ``value`` too, or a new one where none is near."""
        near = min(candidates, key=lambda index: abs(self.drawn[index] - value), default=None)
        if near is None or abs(self.drawn[near] - value) > most:
            return self.add(value, weight)
        total = self.weight[near] + weight
        self.drawn[near] += (value - self.drawn[near]) * weight / total
        self.weight[near] = total
        return near

    @property
    def values(self) -> FloatArray:
        """Values on the drawing, shape (N,)."""
        return np.array(self.drawn)

    @property
    def weights(self) -> FloatArray:
        """Weights of the squared movements, shape (N,)."""
        return np.array(self.weight)


def describe(
    plane: Plane, rings: Sequence[Ring], axes: Sequence[Level], pitch_circles: Sequence[Round], pen: Pen
) -> tuple[Unknowns, list[Relation], list[Relation]]:
    """Set up the unknowns and relations of one view.

    Parameters
    ----------
    plane : Plane
        Of the visible strokes.
    rings : sequence of Ring
        What is to stay closed; strokes and nodes of no ring follow their levels but demand nothing.
    axes : sequence of Level
        Centre lines that lie level or upright.
    pitch_circles : sequence of Round
        Circles drawn as centre lines.
    pen : Pen

    Returns
    -------
    unknowns : Unknowns
    joints : list of Relation
        What the outline needs to stay closed; these come before the dimensions.
    habits : list of Relation
        Symmetry and spacing; these give way to the dimensions.
    """
    unknowns = Unknowns()
    unknowns.axes = [(axis.axis, unknowns.add(axis.position, axis.weight)) for axis in axes]
    unknowns.levels = [unknowns.add(level.position, level.weight) for level in plane.levels]
    unknowns.level_axes = [level.axis for level in plane.levels]
    visible = [(index, each) for index, each in enumerate(plane.strokes) if isinstance(each, Round)]
    _add_circles(unknowns, [each for _, each in visible], pitch_circles, pen)
    unknowns.rounds = {index: each.arc for index, each in visible}
    joints = _joints(unknowns, plane, rings)
    habits = [*_patterns(unknowns, [each for _, each in visible], pitch_circles, pen)]
    return unknowns, joints, habits + _mirrors(unknowns, plane, pen)


def _add_circles(unknowns: Unknowns, visible: Sequence[Round], pitch_circles: Sequence[Round], pen: Pen) -> None:
    """Add circles, largest first; centres are shared with earlier circles, or coordinates with centre lines."""
    near = pen.slack(CONCENTRIC_MM)
    for each in sorted((*visible, *pitch_circles), key=lambda one: (-one.length, one.arc)):
        curve = each.curve
        concentric = [c for c in unknowns.circles.values() if math.dist(c.drawn.centre, curve.centre) <= near]
        if concentric:
            x, y = concentric[0].x, concentric[0].y
        else:
            x, y = (
                unknowns.shared((u for axis, u in unknowns.axes if axis is mine), at, each.length, near)
                for mine, at in zip(Axis, curve.centre, strict=True)
            )
        radius = unknowns.shared((c.radius for c in concentric), curve.radius, each.length, pen.slack(ONE_CIRCLE_MM))
        unknowns.circles[each.arc] = CircleUnknowns(x, y, radius, curve)


def _joints(unknowns: Unknowns, plane: Plane, rings: Sequence[Ring]) -> list[Relation]:
    joints: list[Relation] = []
    for node in plane.nodes:
        unknowns.nodes.append(_node_unknowns(unknowns, plane, node))
    nodes = {number for ring in rings for number in ring.nodes()}
    strokes = {step.piece.stroke for ring in rings for step in ring.steps}
    for number in sorted(nodes):
        joints += _node_joints(unknowns, plane, number, strokes)
    for index in sorted(strokes):
        stroke = plane.strokes[index]
        if isinstance(stroke, Straight) and stroke.level is None:
            joints += _collinear(unknowns, plane, index, nodes)
    return joints


def _node_unknowns(unknowns: Unknowns, plane: Plane, node: Node) -> tuple[int, int]:
    """A node's coordinates: those of the levels it lies on, or its own."""
    found: dict[Axis, int] = {}
    for index in sorted(node.strokes):
        stroke = plane.strokes[index]
        if isinstance(stroke, Straight) and stroke.level is not None:
            found.setdefault(plane.levels[stroke.level].axis, unknowns.levels[stroke.level])
    x, y = (
        found[axis] if axis in found else unknowns.add(at, NODE_WEIGHT) for axis, at in zip(Axis, node.at, strict=True)
    )
    return x, y


def _node_joints(unknowns: Unknowns, plane: Plane, number: int, strokes: set[int]) -> list[Relation]:
    node, (x, y) = plane.nodes[number], unknowns.nodes[number]
    joints = []
    for index in sorted(node.strokes & strokes & unknowns.rounds.keys()):
        circle = unknowns.circles[unknowns.rounds[index]]
        joints.append(Relation((x, y, circle.x, circle.y, circle.radius), _off_circle))
    for pair in sorted(node.touching):
        if strokes.issuperset(pair):
            joints += _touch(unknowns, plane, number, pair)
    return joints


def _off_circle(values: Values) -> complex:
    x, y, centre_x, centre_y, radius = values
    return complex(np.sqrt((x - centre_x) ** 2 + (y - centre_y) ** 2) - radius)


def _touch(unknowns: Unknowns, plane: Plane, number: int, pair: tuple[int, int]) -> list[Relation]:
    """A line touches a circle where the radius is square to it; two circles, where the centres and the node align."""
    circles = [unknowns.circles[unknowns.rounds[index]] for index in pair if index in unknowns.rounds]
    if len(circles) == 2:
        if (circles[0].x, circles[0].y) == (circles[1].x, circles[1].y):
            return []
        x, y = unknowns.nodes[number]
        ends = (x, y, circles[0].x, circles[0].y, circles[1].x, circles[1].y)
        return [Relation(ends, _out_of_line)]
    straight = next(index for index in pair if index not in unknowns.rounds)
    return _touching_line(unknowns, plane, number, straight, circles[0])


def _touching_line(
    unknowns: Unknowns, plane: Plane, number: int, straight: int, circle: CircleUnknowns
) -> list[Relation]:
    stroke, (x, y) = plane.strokes[straight], unknowns.nodes[number]
    assert isinstance(stroke, Straight)
    if stroke.level is not None:
        level_x = plane.levels[stroke.level].axis is Axis.X
        pair = (y, circle.y) if level_x else (x, circle.x)
        return [] if pair[0] == pair[1] else [linear({pair[0]: 1.0, pair[1]: -1.0}, 0.0)]
    others = [n for n, node in enumerate(plane.nodes) if straight in node.strokes and n != number]
    if not others:
        return []
    far = max(others, key=lambda n: math.dist(plane.nodes[n].at, plane.nodes[number].at))
    if not _apart(unknowns, far, number):
        return []
    return [Relation((x, y, circle.x, circle.y, *unknowns.nodes[far]), _out_of_square)]


def _out_of_square(values: Values) -> complex:
    x, y, centre_x, centre_y, far_x, far_y = values
    along_x, along_y = far_x - x, far_y - y
    along = np.sqrt(along_x**2 + along_y**2)
    return complex(((x - centre_x) * along_x + (y - centre_y) * along_y) / along)


def _out_of_line(values: Values) -> complex:
    """How far the first of three points lies off the line through the others."""
    x, y, from_x, from_y, to_x, to_y = values
    along_x, along_y = to_x - from_x, to_y - from_y
    length = np.sqrt(along_x**2 + along_y**2)
    return complex(((x - from_x) * along_y - (y - from_y) * along_x) / length)


def _collinear(unknowns: Unknowns, plane: Plane, straight: int, nodes: set[int]) -> list[Relation]:
    stroke = plane.strokes[straight]
    assert isinstance(stroke, Straight)
    mine = [n for n in nodes if straight in plane.nodes[n].strokes]
    mine.sort(key=lambda n: (stroke.along(plane.nodes[n].at), n))
    first, *between, last = mine
    if not _apart(unknowns, first, last):
        return []
    ends = (*unknowns.nodes[first], *unknowns.nodes[last])
    return [Relation((*unknowns.nodes[n], *ends), _out_of_line) for n in between]


def _apart(unknowns: Unknowns, one: int, other: int) -> bool:
    """Whether two nodes are far enough apart to give a direction; those of one crossing of levels are one place."""
    ends = ([unknowns.drawn[u] for u in unknowns.nodes[node]] for node in (one, other))
    return math.dist(*ends) > _LEAST_DIRECTION_MM


def _mirrors(unknowns: Unknowns, plane: Plane, pen: Pen) -> list[Relation]:
    """Pairs of levels, and of equal circles' centres, mirrored in a centre line.

    A level mirrors that level alone which comes nearest to it: of two steps of nearly one height each keeps its own.
    """
    most = pen.slack(MIRROR_MM)
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
            if abs(off) <= most and (circle is not None or _mutual(unknowns, one, other, middle, levels)):
                relations.append(linear({one: 1.0, other: 1.0, middle: -2.0}, 0.0))
    return relations


def _mutual(unknowns: Unknowns, one: int, other: int, middle: int, levels: Sequence[int]) -> bool:
    """Whether each of two levels is the one that lies nearest to the other's mirror image."""
    place, axis = unknowns.drawn, unknowns.drawn[middle]

    def nearest(mine: int) -> int:
        return min((u for u in levels if u != mine), key=lambda u: abs(place[u] + place[mine] - 2 * axis))

    return nearest(one) == other and nearest(other) == one


def _twins(one: CircleUnknowns | None, other: CircleUnknowns | None, axis: Axis, most: float) -> bool:
    """Two levels, or two circles of one size at one height, may mirror each other; a level and a circle may not."""
    if one is None or other is None:
        return one is other
    across = 1 - axis.value
    level = abs(one.drawn.centre[across] - other.drawn.centre[across]) <= most
    return level and abs(one.drawn.radius - other.drawn.radius) <= most


def _patterns(unknowns: Unknowns, visible: Sequence[Round], pitch_circles: Sequence[Round], pen: Pen) -> list[Relation]:
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
