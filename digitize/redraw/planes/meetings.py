"""Where two strokes of a view meet, and the nodes that meetings make.

Glossary
--------
meeting
    A point where two strokes cross, touch, or end so near each other that the drafter meant them to.
node
    Meetings that are one point to the pen.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, takewhile

from digitize.redraw.planes.bent import Bent, ends_on
from digitize.redraw.planes.curve import Circular
from digitize.redraw.planes.plane_strokes import (
    GAP_MM,
    Axis,
    Level,
    Pen,
    Round,
    Straight,
    Stroke,
    crossing,
    ends_of,
    foot_on,
)
from digitize.strokes.primitives import Point

SNAP_MM = 0.4  # meetings nearer to each other are one node: about a pen's width
TANGENT_MM = (0.35, 0.7)  # a line that misses a circle or cuts it by no more touches it
SLANTING_SINE = 0.5  # strokes that meet at a slant are left open further along themselves, down to this sine


@dataclass(frozen=True)
class Node:
    """A point and the strokes (indices) that meet there; ``touching`` pairs are tangent there, and ``short`` ones cross
    others there only where they are made longer."""

    at: Point
    strokes: frozenset[int]
    touching: frozenset[tuple[int, int]] = frozenset()
    short: frozenset[int] = frozenset()


@dataclass(frozen=True)
class _Meeting:
    at: Point
    first: int
    second: int
    touching: bool = False


def nodes_of(strokes: Sequence[Stroke], pen: Pen, levels: Sequence[Level]) -> list[Node]:
    """Nodes of some strokes; none lies on two levels of one axis, however near they are."""
    meetings: list[_Meeting] = []
    touch = pen.slack(TANGENT_MM)
    bevelled = set(_bevelled(strokes, SNAP_MM * pen.paper_mm))
    for (i, one), (j, other) in combinations(enumerate(strokes), 2):
        for at, touching in meeting_points(one, other, touch, GAP_MM * pen.paper_mm):
            gap = gap_between(one, other, touching, pen)
            cut_off = (i, j) in bevelled and not (reaches(one, at, 0.0) or reaches(other, at, 0.0))
            if not cut_off and reaches(one, at, gap) and reaches(other, at, gap):
                meetings.append(_Meeting(at, i, j, touching))
    snap = SNAP_MM * pen.paper_mm
    lying = [_lies_on(each, levels) for each in strokes]
    return [_node(group, strokes, snap) for group in _snapped(meetings, snap, lying)]


def _bevelled(strokes: Sequence[Stroke], snap: float) -> Iterator[tuple[int, int]]:
    """Pairs of straight edges between whose ends a slanted one runs: they meet at its ends, not at a corner beyond."""
    straights = [(number, each) for number, each in enumerate(strokes) if isinstance(each, Straight)]
    for bevel in (each for _, each in straights if each.level is None):
        first, second = (
            [number for number, each in straights if each.level is not None and _ends_at(each, at, snap)]
            for at in (bevel.start, bevel.end)
        )
        yield from ((min(a, b), max(a, b)) for a in first for b in second if a != b)


def _ends_at(stroke: Straight, at: Point, snap: float) -> bool:
    return min(math.dist(stroke.start, at), math.dist(stroke.end, at)) <= snap


def _lies_on(stroke: Stroke, levels: Sequence[Level]) -> dict[Axis, int]:
    """The level of a stroke, by its axis; none where it has none."""
    if not isinstance(stroke, Straight) or stroke.level is None:
        return {}
    return {levels[stroke.level].axis: stroke.level}


def gap_between(one: Stroke, other: Stroke, touching: bool, pen: Pen) -> float:
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


def reaches(stroke: Stroke, at: Point, gap: float) -> bool:
    """True where a stroke, made longer by a gap, comes to a point."""
    if isinstance(stroke, Bent):
        return stroke.miss(at) <= gap
    if isinstance(stroke, Round) and stroke.curve.full:
        return True
    return -gap <= stroke.along(at) <= stroke.length + gap


def meeting_points(one: Stroke, other: Stroke, touch: float, gap: float) -> list[tuple[Point, bool]]:
    """Points where two strokes, extended, meet, and whether they touch there rather than cross."""
    if isinstance(one, Bent) or isinstance(other, Bent):
        return [(at, False) for at in _ends_met(one, other, gap)]
    if isinstance(one, Straight) and isinstance(other, Straight):
        return [(at, False) for at in crossing(one, other)]
    if isinstance(one, Straight) and isinstance(other, Round):
        return _line_circle(one, other.curve, touch)
    if isinstance(one, Round) and isinstance(other, Round):
        return _circle_circle(one.curve, other.curve, touch)
    return meeting_points(other, one, touch, gap)


def _ends_met(one: Stroke, other: Stroke, gap: float) -> list[Point]:
    """Where a bent curve ends on another stroke, or the other on it."""
    if not isinstance(one, Bent):
        return _ends_met(other, one, gap)
    met = [foot_on(other, end) for end in ends_of(one)]
    found = [at for at, end in zip(met, ends_of(one), strict=True) if math.dist(at, end) <= gap]
    ends = [] if isinstance(other, Round) and other.curve.full else ends_of(other)
    return found + [at for at in ends_on(one, ends, gap) if all(math.dist(at, each) > gap for each in found)]


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


def _snapped(meetings: Sequence[_Meeting], snap: float, lying: Sequence[dict[Axis, int]]) -> list[list[_Meeting]]:
    """Group meetings that are one point to the pen, each within ``snap`` of its group's first."""

    def one(group: Sequence[_Meeting], meeting: _Meeting) -> bool:
        on = [lying[stroke] for each in (*group, meeting) for stroke in (each.first, each.second)]
        single = all(len({mine[axis] for mine in on if axis in mine}) <= 1 for axis in Axis)
        return single and _one_point(group[0], meeting, snap)

    groups: list[list[_Meeting]] = []
    for meeting in sorted(meetings, key=lambda each: each.at):
        group = next((each for each in _beside(groups, meeting, snap) if one(each, meeting)), None)
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
    short = frozenset(index for index in crossing if not reaches(strokes[index], best.at, snap))
    return Node(best.at, met, touching, short)


def _slack(meeting: _Meeting, strokes: Sequence[Stroke]) -> int:
    """0 for a crossing of two levels, more for each slanted or round stroke and for a touch."""
    on_level = sum(
        isinstance(stroke, Straight) and stroke.level is not None
        for stroke in (strokes[meeting.first], strokes[meeting.second])
    )
    return 2 - on_level + 2 * meeting.touching
