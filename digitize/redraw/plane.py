"""Strokes of one view as a plane graph: what meets where, and the pieces between.

Glossary
--------
level
    A place that level or upright straight strokes share: one y for level strokes, one x for upright ones.
straight, round
    A stroke of the graph: a straight one, on a level or slanted, or one along a circle.
meeting
    A point where two strokes cross, touch, or end so near each other that the drafter meant them to.
node
    Meetings that are one point to the pen.
piece
    A stroke between two neighbouring nodes.
stub
    The end of a stroke beyond its last node: an overshoot where it is short, dropped.

Coordinates are part mm, y up. Tolerances are in mm of paper, since it is the pen that errs.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from itertools import combinations, pairwise, takewhile

from digitize.redraw.bent import Bent, ends_on
from digitize.redraw.curve import FULL_TURN_DEG, Circular
from digitize.strokes.primitives import Point

PENS = 5.0  # what was meant to be one place may be drawn so many of the pen's standard errors apart
LEVEL_MM = (0.15, 0.7)  # strokes of one level: no trace is so far off, and no step beyond it is lost in a pen's error
RISE_MM = 0.25  # a level stroke's ends differ by no more ...
RISE = math.tan(math.radians(0.25))  # ... or it is off by less than this: the stroke stage's error on a long line
GAP_MM = 0.8  # corners are left open or overshot by no more
SNAP_MM = 0.4  # meetings nearer to each other are one node: about a pen's width
DOUBLE_MM = 0.35  # a short stroke no further than this from longer ones, all the way, is their ink taken twice ...
DOUBLE_LENGTH_MM = 8.0  # ... and short is up to this
_DOUBLE_SAMPLES = 6
EYE_MM = 1.6  # a circle no wider that meets other strokes is the ink round the paper left in a corner
TANGENT_MM = (0.35, 0.7)  # a line that misses a circle or cuts it by no more touches it
SLANTING_SINE = 0.5  # strokes that meet at a slant are left open further along themselves, down to this sine


@dataclass(frozen=True)
class Pen:
    """The drafter's accuracy: part mm in one mm of paper, and the pen's standard error in mm of paper."""

    paper_mm: float
    error_mm: float = 0.0

    def slack(self, limits: tuple[float, float]) -> float:
        """Part mm that what is meant to be one place may be apart: `PENS` errors, within limits in mm of paper."""
        return min(max(PENS * self.error_mm, limits[0]), limits[1]) * self.paper_mm


class Axis(Enum):
    """Along which coordinate a level has its place."""

    X = 0
    Y = 1

    def laid(self, point: Point, position: float) -> Point:
        """A point moved along the axis to a place on it."""
        return (position, point[1]) if self is Axis.X else (point[0], position)


@dataclass(frozen=True)
class Level:
    """A shared place on one axis; ``weight`` is the length of its strokes, ``spread`` how far apart they were drawn."""

    axis: Axis
    position: float
    weight: float
    spread: float = 0.0


@dataclass(frozen=True)
class Straight:
    """A straight stroke; ``level`` is an index into the levels, None where it is slanted."""

    start: Point
    end: Point
    level: int | None = None

    @property
    def length(self) -> float:
        """Length in mm."""
        return math.dist(self.start, self.end)

    @property
    def direction(self) -> Point:
        """Unit vector from start to end."""
        return (self.end[0] - self.start[0]) / self.length, (self.end[1] - self.start[1]) / self.length

    def along(self, point: Point) -> float:
        """Distance of a point from the start, along the stroke."""
        (dx, dy), (x, y) = self.direction, self.start
        return (point[0] - x) * dx + (point[1] - y) * dy


@dataclass(frozen=True)
class Round:
    """A stroke along a circle; ``arc`` is its index in `Strokes.arcs`."""

    curve: Circular
    arc: int

    @property
    def length(self) -> float:
        """Length in mm."""
        return math.radians(self.curve.sweep_deg) * self.curve.radius

    def along(self, point: Point) -> float:
        """Distance of a point from the start, along the arc; a point just before the start is below 0."""
        turn = self.turn_deg(point)
        spare = FULL_TURN_DEG - self.curve.sweep_deg
        if not self.curve.full and turn > self.curve.sweep_deg + spare / 2:
            turn -= FULL_TURN_DEG
        return math.radians(turn) * self.curve.radius

    def turn_deg(self, point: Point) -> float:
        """Angle of a point about the centre, from the arc's start, 0 to 360."""
        (x, y), curve = point, self.curve
        angle = math.degrees(math.atan2(y - curve.centre[1], x - curve.centre[0]))
        return (angle - curve.start_deg) % FULL_TURN_DEG


Stroke = Straight | Round | Bent


@dataclass(frozen=True)
class Node:
    """A point and the strokes (indices) that meet there; ``touching`` pairs are tangent there, and ``short`` ones cross
    others there only where they are made longer."""

    at: Point
    strokes: frozenset[int]
    touching: frozenset[tuple[int, int]] = frozenset()
    short: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Piece:
    """Part of a stroke between two nodes (indices), counter-clockwise on a round one.

    ``first`` and ``last`` are equal for a circle that meets nothing; both are then -1.
    """

    stroke: int
    first: int
    last: int


@dataclass(frozen=True)
class Plane:
    """The graph of one view."""

    strokes: tuple[Stroke, ...]
    levels: tuple[Level, ...]
    nodes: tuple[Node, ...]
    pieces: tuple[Piece, ...]


LOOSE = -1  # node index of a circle that meets nothing


def build(straights: Sequence[Straight], rounds: Sequence[Round], pen: Pen, bents: Sequence[Bent] = ()) -> Plane:
    """Make the plane graph of one view.

    Parameters
    ----------
    straights : sequence of Straight
        As drawn, levels not yet known.
    rounds : sequence of Round
    pen : Pen
    bents : sequence of Bent
    """
    paper_mm = pen.paper_mm
    levels, levelled = find_levels(straights, pen)
    strokes = _without_doubles((*_joined(levelled, levels, paper_mm), *rounds, *bents), paper_mm)
    strokes = _without_eyes(strokes, pen)
    nodes, pieces = _pieces(strokes, _nodes(strokes, pen), paper_mm)
    return Plane(strokes, levels, nodes, pieces)


def axis_of(straight: Straight, paper_mm: float) -> Axis | None:
    """The axis on which a stroke has one place; None where it is slanted."""
    wide, high = (abs(b - a) for a, b in zip(straight.start, straight.end, strict=True))
    if high <= max(RISE_MM * paper_mm, RISE * wide) and high < wide:
        return Axis.Y
    if wide <= max(RISE_MM * paper_mm, RISE * high) and wide < high:
        return Axis.X
    return None


def find_levels(straights: Sequence[Straight], pen: Pen) -> tuple[tuple[Level, ...], list[Straight]]:
    """Gather level and upright strokes into levels, and lay the strokes on them.

    Returns
    -------
    levels : tuple of Level
    straights : list of Straight
        In the order given, each exactly on its level.
    """
    levels: list[Level] = []
    placed: list[Straight] = list(straights)
    for axis in Axis:
        mine = [i for i, each in enumerate(straights) if axis_of(each, pen.paper_mm) is axis]
        middle = {i: (straights[i].start[axis.value] + straights[i].end[axis.value]) / 2 for i in mine}
        for group in _near_groups(sorted(mine, key=middle.__getitem__), middle, pen.slack(LEVEL_MM)):
            weight = sum(straights[i].length for i in group)
            position = sum(middle[i] * straights[i].length for i in group) / weight
            for i in group:
                placed[i] = _laid(straights[i], axis, position, len(levels))
            levels.append(Level(axis, position, weight, middle[group[-1]] - middle[group[0]]))
    return tuple(levels), placed


def _near_groups(order: Sequence[int], place: dict[int, float], most: float) -> list[list[int]]:
    """Split a sorted sequence into groups that span no more than ``most``."""
    groups: list[list[int]] = []
    for i in order:
        if groups and place[i] - place[groups[-1][0]] <= most:
            groups[-1].append(i)
        else:
            groups.append([i])
    return groups


def _laid(straight: Straight, axis: Axis, position: float, level: int) -> Straight:
    return Straight(axis.laid(straight.start, position), axis.laid(straight.end, position), level)


def _joined(straights: Iterable[Straight], levels: Sequence[Level], paper_mm: float) -> list[Straight]:
    """Join strokes of one level that overlap or nearly touch; slanted ones are left as they are."""
    slanted = [each for each in straights if each.level is None]
    joined = []
    for index, level in enumerate(levels):
        other = 1 - level.axis.value
        spans = sorted(sorted((each.start[other], each.end[other])) for each in straights if each.level == index)
        for low, high in _joined_spans(spans, GAP_MM * paper_mm):
            ends = ((level.position, low), (level.position, high))
            start, end = (place if level.axis is Axis.X else place[::-1] for place in ends)
            joined.append(Straight(start, end, index))
    return joined + slanted


def _joined_spans(spans: Sequence[Sequence[float]], gap: float) -> list[list[float]]:
    joined: list[list[float]] = []
    for low, high in spans:
        if joined and low <= joined[-1][1] + gap:
            joined[-1][1] = max(joined[-1][1], high)
        else:
            joined.append([low, high])
    return joined


def _without_doubles(strokes: Sequence[Stroke], paper_mm: float) -> tuple[Stroke, ...]:
    """Drop short strokes that lie along longer ones all the way: the same ink taken twice."""
    return tuple(
        stroke
        for stroke in strokes
        if stroke.length > DOUBLE_LENGTH_MM * paper_mm
        or not _lies_along(stroke, [each for each in strokes if each.length > stroke.length], DOUBLE_MM * paper_mm)
    )


def _without_eyes(strokes: Sequence[Stroke], pen: Pen) -> tuple[Stroke, ...]:
    """Drop the rings of ink round the speck of paper that a hatch line cuts off in a corner."""
    eyes = [
        each
        for each in strokes
        if isinstance(each, Round)
        and each.curve.sweep_deg > FULL_TURN_DEG / 2
        and 2 * each.curve.radius <= EYE_MM * pen.paper_mm
        and any(_meets(each, other, pen) for other in strokes if other is not each)
    ]
    return tuple(each for each in strokes if each not in eyes)


def _meets(one: Stroke, other: Stroke, pen: Pen) -> bool:
    touch, gap = pen.slack(TANGENT_MM), GAP_MM * pen.paper_mm
    meetings = _meetings(one, other, touch, gap)
    return any(_reaches(other, at, _gap(one, other, touching, pen)) for at, touching in meetings)


def _lies_along(stroke: Stroke, others: Sequence[Stroke], slack: float) -> bool:
    beside = [other for other in others if not _across(stroke, other)]
    return all(any(is_on(other, at, slack) for other in beside) for at in _samples(stroke))


def _across(one: Stroke, other: Stroke) -> bool:
    """Whether two straight strokes run across each other: the riser of a small step lies near its two treads."""
    if not (isinstance(one, Straight) and isinstance(other, Straight)):
        return False
    (ax, ay), (bx, by) = one.direction, other.direction
    return abs(ax * by - ay * bx) > SLANTING_SINE


def _samples(stroke: Stroke) -> list[Point]:
    shares = [i / _DOUBLE_SAMPLES for i in range(_DOUBLE_SAMPLES + 1)]
    if isinstance(stroke, Bent):
        return [stroke.at(share * stroke.length) for share in shares]
    if isinstance(stroke, Round):
        return [stroke.curve.at(stroke.curve.start_deg + share * stroke.curve.sweep_deg) for share in shares]
    (x0, y0), (x1, y1) = stroke.start, stroke.end
    return [(x0 + (x1 - x0) * share, y0 + (y1 - y0) * share) for share in shares]


def is_on(stroke: Stroke, at: Point, slack: float) -> bool:
    """Whether a point lies on a stroke, or within ``slack`` of it."""
    if isinstance(stroke, Bent):
        return stroke.miss(at) <= slack
    if not -slack <= stroke.along(at) <= stroke.length + slack:
        return False
    if isinstance(stroke, Round):
        return abs(math.dist(at, stroke.curve.centre) - stroke.curve.radius) <= slack
    (dx, dy), (x, y) = stroke.direction, stroke.start
    return abs((at[0] - x) * dy - (at[1] - y) * dx) <= slack


@dataclass(frozen=True)
class _Meeting:
    at: Point
    first: int
    second: int
    touching: bool = False


def _nodes(strokes: Sequence[Stroke], pen: Pen) -> list[Node]:
    meetings: list[_Meeting] = []
    touch = pen.slack(TANGENT_MM)
    for (i, one), (j, other) in combinations(enumerate(strokes), 2):
        for at, touching in _meetings(one, other, touch, GAP_MM * pen.paper_mm):
            gap = _gap(one, other, touching, pen)
            if _reaches(one, at, gap) and _reaches(other, at, gap):
                meetings.append(_Meeting(at, i, j, touching))
    snap = SNAP_MM * pen.paper_mm
    return [_node(group, strokes, snap) for group in _snapped(meetings, snap)]


def _gap(one: Stroke, other: Stroke, touching: bool, pen: Pen) -> float:
    """How far from a point two strokes may end that are meant to meet there."""
    gap = GAP_MM * pen.paper_mm
    if touching:
        # Where strokes touch, pen error shifts the end of either along them by far more than across.
        reach = min(each.curve.radius if isinstance(each, Round) else each.length for each in (one, other))
        return gap + math.sqrt(reach * pen.slack(TANGENT_MM))
    if isinstance(one, Straight) and isinstance(other, Straight):
        (ax, ay), (bx, by) = one.direction, other.direction
        return gap / max(abs(ax * by - ay * bx), SLANTING_SINE)
    return gap


def _reaches(stroke: Stroke, at: Point, gap: float) -> bool:
    """True where a stroke, made longer by a gap, comes to a point."""
    if isinstance(stroke, Bent):
        return stroke.miss(at) <= gap
    if isinstance(stroke, Round) and stroke.curve.full:
        return True
    return -gap <= stroke.along(at) <= stroke.length + gap


def _meetings(one: Stroke, other: Stroke, touch: float, gap: float) -> list[tuple[Point, bool]]:
    """Points where two strokes, extended, meet, and whether they touch there rather than cross."""
    if isinstance(one, Bent) or isinstance(other, Bent):
        return [(at, False) for at in _ends_met(one, other, gap)]
    if isinstance(one, Straight) and isinstance(other, Straight):
        return [(at, False) for at in crossing(one, other)]
    if isinstance(one, Straight) and isinstance(other, Round):
        return _line_circle(one, other.curve, touch)
    if isinstance(one, Round) and isinstance(other, Round):
        return _circle_circle(one.curve, other.curve, touch)
    return _meetings(other, one, touch, gap)


def _ends_met(one: Stroke, other: Stroke, gap: float) -> list[Point]:
    """Where a bent curve ends on another stroke, or the other on it."""
    if not isinstance(one, Bent):
        return _ends_met(other, one, gap)
    met = [_foot(other, end) for end in ends_of(one)]
    found = [at for at, end in zip(met, ends_of(one), strict=True) if math.dist(at, end) <= gap]
    ends = [] if isinstance(other, Round) and other.curve.full else ends_of(other)
    return found + [at for at in ends_on(one, ends, gap) if all(math.dist(at, each) > gap for each in found)]


def _foot(stroke: Stroke, at: Point) -> Point:
    """The place nearest to a point on a stroke: of a straight or round one made longer, of another bent one its end."""
    if isinstance(stroke, Round):
        (x, y), r = stroke.curve.centre, stroke.curve.radius
        away = math.dist(stroke.curve.centre, at) or 1.0
        return x + (at[0] - x) * r / away, y + (at[1] - y) * r / away
    if isinstance(stroke, Straight):
        (dx, dy), (x, y), along = stroke.direction, stroke.start, stroke.along(at)
        return x + along * dx, y + along * dy
    return min(ends_of(stroke), key=lambda end: math.dist(end, at))


PARALLEL_SINE = math.sin(math.radians(2.0))  # lines nearer to parallel than this do not make a corner


def crossing(one: Straight, other: Straight) -> list[Point]:
    """The point where two straight strokes, extended, cross; none where they are nearly parallel."""
    (ax, ay), (bx, by) = one.direction, other.direction
    sine = ax * by - ay * bx
    if abs(sine) < PARALLEL_SINE:
        return []
    dx, dy = other.start[0] - one.start[0], other.start[1] - one.start[1]
    reach = (dx * by - dy * bx) / sine
    return [(one.start[0] + reach * ax, one.start[1] + reach * ay)]


def _line_circle(line: Straight, circle: Circular, touch: float) -> list[tuple[Point, bool]]:
    (dx, dy), (x, y) = line.direction, line.start
    along = line.along(circle.centre)
    foot = (x + along * dx, y + along * dy)
    distance = math.dist(foot, circle.centre)
    if abs(distance - circle.radius) < touch and circle.radius > touch:
        return [(foot, True)]
    if distance > circle.radius:
        return []
    half = math.sqrt(circle.radius**2 - distance**2)
    return [((foot[0] + sign * half * dx, foot[1] + sign * half * dy), False) for sign in (-1, 1)]


def _circle_circle(one: Circular, other: Circular, touch: float) -> list[tuple[Point, bool]]:
    apart = math.dist(one.centre, other.centre)
    if apart < touch:
        return []
    ux, uy = ((b - a) / apart for a, b in zip(one.centre, other.centre, strict=True))
    along = (apart**2 + one.radius**2 - other.radius**2) / (2 * apart)
    inner, outer = abs(one.radius - other.radius), one.radius + other.radius
    if min(abs(apart - inner), abs(apart - outer)) < touch:
        reach = math.copysign(one.radius, along)
        return [((one.centre[0] + reach * ux, one.centre[1] + reach * uy), True)]
    if not inner < apart < outer:
        return []
    half = math.sqrt(max(one.radius**2 - along**2, 0.0))
    base = one.centre[0] + along * ux, one.centre[1] + along * uy
    return [((base[0] - sign * half * uy, base[1] + sign * half * ux), False) for sign in (-1, 1)]


def _snapped(meetings: Sequence[_Meeting], snap: float) -> list[list[_Meeting]]:
    """Group meetings that are one point to the pen, each within ``snap`` of its group's first."""
    groups: list[list[_Meeting]] = []
    for meeting in sorted(meetings, key=lambda each: each.at):
        group = next((each for each in _beside(groups, meeting, snap) if _one_point(each[0], meeting, snap)), None)
        if group is None:
            groups.append([meeting])
        else:
            group.append(meeting)
    return groups


def _beside(groups: Sequence[list[_Meeting]], meeting: _Meeting, snap: float) -> Iterator[list[_Meeting]]:
    """Groups, in order of x, that begin no further to the left of a meeting than ``snap``."""
    left = meeting.at[0] - snap
    return takewhile(lambda each: each[0].at[0] >= left, reversed(groups))


def _one_point(one: _Meeting, other: _Meeting, snap: float) -> bool:
    return math.dist(one.at, other.at) <= snap


def _node(group: Sequence[_Meeting], strokes: Sequence[Stroke], snap: float) -> Node:
    """One node; it lies where the straightest evidence puts it: on a crossing of levels, if there is one."""
    met = frozenset(index for each in group for index in (each.first, each.second))
    best = min(group, key=lambda each: (_slack(each, strokes), each.at))
    touching = frozenset((each.first, each.second) for each in group if each.touching)
    crossing = {index for each in group if not each.touching for index in (each.first, each.second)}
    short = frozenset(index for index in crossing if not _reaches(strokes[index], best.at, snap))
    return Node(best.at, met, touching, short)


def _slack(meeting: _Meeting, strokes: Sequence[Stroke]) -> int:
    """0 for a crossing of two levels, more for each slanted or round stroke and for a touch."""
    on_level = sum(
        isinstance(stroke, Straight) and stroke.level is not None
        for stroke in (strokes[meeting.first], strokes[meeting.second])
    )
    return 2 - on_level + 2 * meeting.touching


def _pieces(
    strokes: Sequence[Stroke], nodes: Sequence[Node], paper_mm: float
) -> tuple[tuple[Node, ...], tuple[Piece, ...]]:
    """Cut the strokes at their nodes; ends further than a gap from any node get a node of their own."""
    all_nodes = list(nodes)
    at_stroke: list[list[int]] = [[] for _ in strokes]
    for number, node in enumerate(nodes):
        for met in node.strokes:
            at_stroke[met].append(number)
    pieces: list[Piece] = []
    for index, stroke in enumerate(strokes):
        if isinstance(stroke, Round) and stroke.curve.full:
            pieces += _ring_pieces(index, stroke, at_stroke[index], all_nodes)
        else:
            pieces += _open_pieces(index, stroke, at_stroke[index], all_nodes, GAP_MM * paper_mm)
    return tuple(all_nodes), tuple(_single(pieces, strokes))


def _single(pieces: Sequence[Piece], strokes: Sequence[Stroke]) -> Iterator[Piece]:
    """Pieces without those that lie on an earlier one: straight ones between the same two nodes."""
    seen: set[frozenset[int]] = set()
    for piece in pieces:
        ends = frozenset((piece.first, piece.last))
        if isinstance(strokes[piece.stroke], Straight):
            if ends in seen:
                continue
            seen.add(ends)
        yield piece


def _open_pieces(index: int, stroke: Stroke, mine: list[int], nodes: list[Node], gap: float) -> list[Piece]:
    places = {number: stroke.along(nodes[number].at) for number in mine}
    order = sorted(mine, key=places.__getitem__)
    start, end = ends_of(stroke)
    if not order or places[order[0]] > gap:
        order.insert(0, _add_node(nodes, start, index))
    if len(order) == 1 or stroke.length - places.get(order[-1], 0.0) > gap:
        order.append(_add_node(nodes, end, index))
    return [Piece(index, first, last) for first, last in pairwise(order)]


def _ring_pieces(index: int, ring: Round, mine: list[int], nodes: list[Node]) -> list[Piece]:
    if not mine:
        return [Piece(index, LOOSE, LOOSE)]
    order = sorted(mine, key=lambda number: ring.turn_deg(nodes[number].at))
    if len(order) == 1:
        opposite = ring.curve.start_deg + ring.turn_deg(nodes[order[0]].at) + FULL_TURN_DEG / 2
        order.append(_add_node(nodes, ring.curve.at(opposite), index))
    return [Piece(index, first, last) for first, last in pairwise([*order, order[0]])]


def ends_of(stroke: Stroke) -> tuple[Point, Point]:
    """First and last point of a stroke."""
    if isinstance(stroke, Bent):
        return stroke.points[0], stroke.points[-1]
    if isinstance(stroke, Round):
        return stroke.curve.start, stroke.curve.end
    return stroke.start, stroke.end


def _add_node(nodes: list[Node], at: Point, stroke: int) -> int:
    nodes.append(Node(at, frozenset({stroke})))
    return len(nodes) - 1


def moved(plane: Plane, nodes: Sequence[Point], rounds: dict[int, Circular]) -> Plane:
    """The same graph with its nodes and circles elsewhere; straight strokes follow their nodes."""
    placed = tuple(replace(node, at=at) for node, at in zip(plane.nodes, nodes, strict=True))
    strokes = tuple(_moved(plane, index, nodes, rounds) for index in range(len(plane.strokes)))
    return replace(plane, nodes=placed, strokes=strokes)


def _moved(plane: Plane, index: int, nodes: Sequence[Point], rounds: dict[int, Circular]) -> Stroke:
    stroke = plane.strokes[index]
    if isinstance(stroke, Round):
        return replace(stroke, curve=rounds[index])
    if isinstance(stroke, Straight):
        return stroke
    mine = [number for number, node in enumerate(plane.nodes) if index in node.strokes]
    mine.sort(key=lambda number: stroke.along(plane.nodes[number].at))
    first, last = mine[0], mine[-1]
    return stroke.carried((plane.nodes[first].at, plane.nodes[last].at), (nodes[first], nodes[last]))
