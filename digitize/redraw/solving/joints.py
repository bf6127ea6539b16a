"""What keeps outlines closed: a node lies on its circles and slanted strokes; what touches goes on touching."""

import math
from collections.abc import Sequence

import numpy as np

from digitize.redraw.planes.meetings import Node
from digitize.redraw.planes.outline import Ring
from digitize.redraw.planes.plane import Plane
from digitize.redraw.planes.plane_strokes import Axis, Straight
from digitize.redraw.solving.solve import Relation, Values, linear
from digitize.redraw.solving.unknowns import NODE_WEIGHT, Unknowns

_LEAST_DIRECTION_MM = 1e-3  # nodes nearer than this, in part mm, give no direction


def joints_of(unknowns: Unknowns, plane: Plane, rings: Sequence[Ring]) -> list[Relation]:
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
    straight, rounded = sorted(pair, key=lambda index: index in unknowns.rounds)
    return _touching_line(unknowns, plane, number, straight, rounded)


def _touching_line(unknowns: Unknowns, plane: Plane, number: int, straight: int, rounded: int) -> list[Relation]:
    circle = unknowns.circles[unknowns.rounds[rounded]]
    stroke, (x, y) = plane.strokes[straight], unknowns.nodes[number]
    assert isinstance(stroke, Straight)
    if stroke.level is not None:
        level_x = plane.levels[stroke.level].axis is Axis.X
        pair = (y, circle.y) if level_x else (x, circle.x)
        return [] if pair[0] == pair[1] else [linear({pair[0]: 1.0, pair[1]: -1.0}, 0.0)]
    others = [n for n, node in enumerate(plane.nodes) if straight in node.strokes and n != number]
    far = max(others, key=lambda n: math.dist(plane.nodes[n].at, plane.nodes[number].at), default=number)
    if not _apart(unknowns, far, number) or rounded in plane.nodes[far].strokes:  # a chord touches nothing
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
