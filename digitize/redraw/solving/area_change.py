"""How the area of an outline changes with the unknowns that its edges hang on."""

import math

import numpy as np

from calibrate.sheet import FloatArray
from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.faces import Step
from digitize.redraw.planes.outline import Ring, ring_circle
from digitize.redraw.planes.pieces import piece_angles, piece_points
from digitize.redraw.planes.plane import Plane, carriers
from digitize.redraw.planes.plane_strokes import Round
from digitize.redraw.solving.unknowns import Unknowns


def area_gradient(plane: Plane, ring: Ring, unknowns: Unknowns) -> FloatArray:
    """Derivatives of a ring's area by all unknowns, in mm of part, shape (N,).

    They hold for moves that leave the nodes on their strokes, as those of a solution do.

    Notes
    -----
    An area changes by the integral of how far its border moves along the outward normal (Reynolds). Over a piece from
    p to q, walked with the area on its left, the normals sum up to n = (q_y - p_y, p_x - q_x), be it straight or bent.
    A straight piece moves by the mean of its ends; an arc by its centre, and outwards by its radius.
    """
    gradient = np.zeros(len(unknowns.drawn))
    if ring.circle:
        circle = unknowns.circles[unknowns.rounds[ring.steps[0].piece.stroke]]
        gradient[circle.radius] = math.tau * ring_circle(plane, ring).radius
        return gradient
    for step in ring.steps:
        _add_piece(gradient, plane, step, unknowns)
    return gradient


def _add_piece(gradient: FloatArray, plane: Plane, step: Step, unknowns: Unknowns) -> None:
    piece, sense = step.piece, 1.0 if step.forward else -1.0
    stroke, ends = plane.strokes[piece.stroke], (piece.first, piece.last)
    (x0, y0), (x1, y1) = (plane.nodes[node].at for node in ends)
    normal = sense * complex(y1 - y0, x0 - x1)
    if isinstance(stroke, Round):
        circle = unknowns.circles[unknowns.rounds[piece.stroke]]
        _add(gradient, (circle.x, circle.y), normal)
        sweep = math.radians(piece_angles(stroke.curve, plane, piece)[1])
        gradient[circle.radius] += sense * sweep * stroke.curve.radius
    elif isinstance(stroke, Bent):
        _add_bent(gradient, plane, step, unknowns)
    else:
        for node in ends:
            _add(gradient, unknowns.nodes[node], normal / 2)


def _add_bent(gradient: FloatArray, plane: Plane, step: Step, unknowns: Unknowns) -> None:
    """A bent piece's chain of chords, which is carried along by the outermost nodes of its curve."""
    piece, sense = step.piece, 1.0 if step.forward else -1.0
    chain = np.array([complex(x, y) for x, y in piece_points(plane, piece)])
    chords = -1j * sense * np.diff(chain) / 2
    normals = np.concatenate([chords, [0.0]]) + np.concatenate([[0.0], chords])
    _add(gradient, unknowns.nodes[piece.first], normals[0])
    _add(gradient, unknowns.nodes[piece.last], normals[-1])
    first, last = carriers(plane, piece.stroke)
    start, end = (complex(*plane.nodes[node].at) for node in (first, last))
    shares = (chain[1:-1] - start) / (end - start) if start != end else np.zeros(len(chain) - 2, dtype=np.complex128)
    _add(gradient, unknowns.nodes[first], complex(normals[1:-1] @ (1 - shares).conj()))
    _add(gradient, unknowns.nodes[last], complex(normals[1:-1] @ shares.conj()))


def _add(gradient: FloatArray, place: tuple[int, int], along: complex) -> None:
    """Add what a place contributes that moves the border along a normal."""
    gradient[place[0]] += along.real
    gradient[place[1]] += along.imag
