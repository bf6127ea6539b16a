"""Strokes of one view as a plane graph: what meets where, and the pieces between.

Glossary
--------
piece
    A stroke between two neighbouring nodes.
stub
    The end of a stroke beyond its last node: an overshoot where it is short, dropped. Where it touches another there it
    runs on beside that by far more than a pen errs.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from types import MappingProxyType

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.curve import FULL_TURN_DEG, Circular
from digitize.redraw.planes.doubles import without_chords, without_doubles, without_eyes
from digitize.redraw.planes.levels import find_levels, joined
from digitize.redraw.planes.meetings import Node, gap_between, nodes_of
from digitize.redraw.planes.plane_strokes import GAP_MM, Level, Pen, Round, Straight, Stroke, ends_of
from digitize.strokes.primitives import Point

LOOSE = -1  # node index of a circle that meets nothing


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


def build(
    straights: Sequence[Straight],
    rounds: Sequence[Round],
    pen: Pen,
    bents: Sequence[Bent] = (),
    apart: Mapping[int, int] = MappingProxyType({}),
) -> Plane:
    """Make the plane graph of one view.

    Parameters
    ----------
    straights : sequence of Straight
        As drawn, levels not yet known.
    rounds : sequence of Round
    pen : Pen
    bents : sequence of Bent
    apart : mapping of int to int
        As of `find_levels`.
    """
    paper_mm = pen.paper_mm
    levels, levelled = find_levels(straights, pen, apart)
    strokes = without_doubles((*joined(levelled, levels, paper_mm), *rounds, *bents), paper_mm)
    strokes = without_chords(without_eyes(strokes, pen), pen)
    return graph(strokes, levels, pen)


def graph(strokes: Sequence[Stroke], levels: tuple[Level, ...], pen: Pen) -> Plane:
    """The plane graph of strokes that lie on their levels."""
    nodes, pieces = _pieces(strokes, nodes_of(strokes, pen, levels), pen)
    return Plane(tuple(strokes), levels, nodes, pieces)


def _pieces(strokes: Sequence[Stroke], nodes: Sequence[Node], pen: Pen) -> tuple[tuple[Node, ...], tuple[Piece, ...]]:
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
            longest = {number: _longest_stub(index, nodes[number], strokes, pen) for number in at_stroke[index]}
            pieces += _open_pieces(index, stroke, longest, all_nodes)
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


def _longest_stub(index: int, node: Node, strokes: Sequence[Stroke], pen: Pen) -> float:
    """How far a stroke may run on beyond one of its nodes for no more than an overshoot, in mm."""
    touched = [pair for pair in node.touching if index in pair]
    beside = (gap_between(strokes[one], strokes[other], True, pen) for one, other in touched)
    return max(beside, default=GAP_MM * pen.paper_mm)


def _open_pieces(index: int, stroke: Stroke, longest_stubs: Mapping[int, float], nodes: list[Node]) -> list[Piece]:
    """Pieces of an open stroke between its nodes, which are given with the longest stub beyond each."""
    places = {number: stroke.along(nodes[number].at) for number in longest_stubs}
    order = sorted(places, key=places.__getitem__)
    start, end = ends_of(stroke)
    if not order or places[order[0]] > longest_stubs[order[0]]:
        order.insert(0, _add_node(nodes, start, index))
    last = order[-1]
    if len(order) == 1 or stroke.length - places.get(last, 0.0) > longest_stubs.get(last, 0.0):
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
    first, last = carriers(plane, index)
    return stroke.carried((plane.nodes[first].at, plane.nodes[last].at), (nodes[first], nodes[last]))


def carriers(plane: Plane, index: int) -> tuple[int, int]:
    """The outermost nodes of a stroke that is bent, which carry it along."""
    stroke = plane.strokes[index]
    assert not isinstance(stroke, Round)
    mine = [number for number, node in enumerate(plane.nodes) if index in node.strokes]
    mine.sort(key=lambda number: stroke.along(plane.nodes[number].at))
    return mine[0], mine[-1]
