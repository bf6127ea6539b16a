"""Walks round the faces of a plane graph.

Glossary
--------
step
    A piece as a walk passes it, forward or backward.
dangle
    A piece of which an end meets nothing; it bounds no face.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from digitize.redraw.planes.pieces import piece_at, piece_length
from digitize.redraw.planes.plane import Piece, Plane

_LOOK_AHEAD = 0.3  # of the shortest piece at a node: how far along each the headings are compared


@dataclass(frozen=True)
class Step:
    """A piece as a ring passes it; ``forward`` is False where it is walked from its last node to its first."""

    piece: Piece
    forward: bool

    @property
    def start(self) -> int:
        """Node it sets out from."""
        return self.piece.first if self.forward else self.piece.last

    @property
    def end(self) -> int:
        """Node it comes to."""
        return self.piece.last if self.forward else self.piece.first


def faces(plane: Plane) -> Iterator[list[Step]]:
    """Every face of the graph as the walk round it.

    Notes
    -----
    Every piece is walked once each way. Turning at each node to the next piece clockwise from the one just walked
    goes round a face with the face on the left. An arc both of whose ends were moved to one side of its centre has no
    length any more and bounds nothing.
    """
    leaving = _leaving(plane, _without_dangles([piece for piece in plane.pieces if piece_length(plane, piece) > 0]))
    turn = {step: order[i - 1] for order in leaving.values() for i, step in enumerate(order)}
    unwalked = dict.fromkeys(turn)
    while unwalked:
        face = _face(next(iter(unwalked)), turn)
        for step in face:
            del unwalked[step]
        yield face


def _without_dangles(pieces: Sequence[Piece]) -> list[Piece]:
    kept = [piece for piece in pieces if piece.first != piece.last]
    while True:
        degree = Counter(end for piece in kept for end in (piece.first, piece.last))
        fewer = [piece for piece in kept if degree[piece.first] > 1 and degree[piece.last] > 1]
        if len(fewer) == len(kept):
            return kept
        kept = fewer


def _leaving(plane: Plane, pieces: Sequence[Piece]) -> dict[int, list[Step]]:
    """The steps that leave each node, counter-clockwise by the direction in which they set out."""
    leaving: dict[int, list[Step]] = defaultdict(list)
    for piece in pieces:
        for forward in (True, False):
            step = Step(piece, forward)
            leaving[step.start].append(step)
    for node, steps in leaving.items():
        reach = _LOOK_AHEAD * min(piece_length(plane, step.piece) for step in steps)
        heading = {step: _heading(plane, step, reach) for step in steps}
        leaving[node] = sorted(steps, key=heading.__getitem__)
    return leaving


def _heading(plane: Plane, step: Step, reach: float) -> float:
    """Direction from a step's start to the point that it has come to after a length ``reach``, so that pieces which
    touch at the node are told apart by their curvature."""
    share = reach / piece_length(plane, step.piece)
    x, y = plane.nodes[step.start].at
    to_x, to_y = piece_at(plane, step.piece, share if step.forward else 1 - share)
    return math.atan2(to_y - y, to_x - x)


def _face(first: Step, turn: dict[Step, Step]) -> list[Step]:
    face: list[Step] = []
    step = first
    while not face or step != first:
        face.append(step)
        step = turn[replace(step, forward=not step.forward)]
    return face


def simple_cycles(walk: Sequence[Step]) -> list[tuple[Step, ...]]:
    """Split a closed walk wherever it comes back to a node."""
    cycles, path, place = [], list[Step](), dict[int, int]()
    for step in walk:
        place[step.start] = len(path)
        path.append(step)
        if step.end in place:
            cut = place[step.end]
            cycles.append(tuple(path[cut:]))
            for passed in path[cut:]:
                place.pop(passed.start, None)
            del path[cut:]
    return cycles
