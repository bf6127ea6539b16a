"""Lengths of an outline that no figure gives, by name, and how far its area may be off for them.

Glossary
--------
free direction
    A way in which the unknowns of a view can still move without breaking a figure or a relation kept.
told
    A length that the lengths named before it give.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from calibrate.sheet import FloatArray
from digitize.redraw.planes.outline import Ring
from digitize.redraw.planes.plane import Piece, Plane
from digitize.redraw.planes.plane_strokes import Axis, Straight
from digitize.redraw.solving.profile import DrawnView, ScaledLength
from digitize.redraw.solving.unknowns import Unknowns

TRACE_MM = 0.02  # of paper: standard error of a traced line, whatever the pen (a twelfth of a pixel at 100 to the cm)
CORNER_MM = 0.1  # of paper: the same of a slanted edge's corner, which its pen blunts (61 drawn chamfers: rms .11)
TOLD = 1e-6  # part of a length's gradient, relative, that must be new for the length to be named


@dataclass(frozen=True)
class Play:
    """What the free directions leave to the drawing.

    ``free`` has the shape (N, K), ``weights`` and ``values`` (N,). ``errors_mm``, shape (N,), are the standard errors
    of the drawn places in mm of part, ``scale_error`` is that of the scale, relative.
    """

    free: FloatArray
    weights: FloatArray
    values: FloatArray
    errors_mm: FloatArray
    scale_error: float

    def std(self, gradient: FloatArray) -> float:
        """Standard error of a quantity whose derivatives by the free directions are given, shape (K,).

        Notes
        -----
        The solution takes of all moves the least from the drawing, c = pinv(W^1/2 F) W^1/2 n for errors n of the drawn
        places, so that the quantity errs by h . n with h = W^1/2 pinv(W^1/2 F)^T g; the scale's error is common to all.
        """
        sensitivity = self._shares @ gradient
        common = float(sensitivity @ self.values) * self.scale_error
        return math.hypot(float(np.linalg.norm(self.errors_mm * sensitivity)), common)

    @cached_property
    def _shares(self) -> FloatArray:
        """W^1/2 pinv(W^1/2 F)^T."""
        root = np.sqrt(self.weights)[:, None]
        return np.asarray(root * np.linalg.pinv(root * self.free, TOLD).T)


def play_of(
    view: DrawnView, plane: Plane, rings: Sequence[Ring], unknowns: Unknowns, values: FloatArray, free: FloatArray
) -> Play:
    """The play of a view that was solved."""
    errors = np.full(len(values), math.hypot(view.pen_mm, TRACE_MM))
    told = {*unknowns.levels, *(unknown for _, unknown in unknowns.axes)}
    for piece in _slants(rings, plane):
        mine = {unknown for node in (piece.first, piece.last) for unknown in unknowns.nodes[node]} - told
        errors[list(mine)] = math.hypot(view.pen_mm, CORNER_MM)
    return Play(free, unknowns.weights, values, errors * view.frame.paper_mm, view.scale_error)


def _slants(rings: Sequence[Ring], plane: Plane) -> list[Piece]:
    """The slanted edges of some rings."""
    pieces = {step.piece for ring in rings for step in ring.steps}
    found = [(each, plane.strokes[each.stroke]) for each in pieces]
    slanted = (each for each, of in found if isinstance(of, Straight) and of.level is None)
    return sorted(slanted, key=lambda each: (each.stroke, each.first, each.last))


def scaled_lengths(rings: Sequence[Ring], plane: Plane, unknowns: Unknowns, play: Play) -> Iterator[ScaledLength]:
    """The lengths that are scaled from the print: as many as leave nothing else of the outlines open, where edges and
    circles make them; a bent edge may leave more.

    Parameters
    ----------
    rings : sequence of Ring
    plane : Plane
        As solved.
    unknowns : Unknowns
    play : Play
    """
    basis, count = np.empty((play.free.shape[1],) * 2), 0
    for terms, length in _candidates(rings, plane, unknowns, play.values):
        gradient = sum(factor * play.free[unknown] for unknown, factor in terms.items())
        known = basis[:count]
        left = gradient - known.T @ (known @ gradient)
        size = float(np.linalg.norm(left))
        if size > TOLD * sum(map(abs, terms.values())) and count < len(basis):
            basis[count] = left / size
            count += 1
            yield ScaledLength(*length, play.std(np.asarray(gradient)))


def _candidates(
    rings: Sequence[Ring], plane: Plane, unknowns: Unknowns, values: FloatArray
) -> Iterator[tuple[dict[int, float], tuple[str, float, tuple[float, float]]]]:
    """Lengths that a figure might have given, as unknowns and factors: diameters, steps from edge to edge, where
    between edges a middle lies, and how far a slanted edge runs across and up."""
    strokes = sorted({step.piece.stroke for ring in rings for step in ring.steps})
    circles = [unknowns.circles[unknowns.rounds[index]] for index in strokes if index in unknowns.rounds]
    for circle in circles:
        x, y, radius = (float(values[u]) for u in (circle.x, circle.y, circle.radius))
        yield {circle.radius: 2.0}, ("diameter", 2 * radius, (x, y))
    edges = [plane.strokes[index] for index in strokes]
    levels = {each.level for each in edges if isinstance(each, Straight) and each.level is not None}
    for middles, names in (((), ("width", "height")), (circles, ("middle across", "middle up"))):
        for axis, name in zip(Axis, names, strict=True):
            marks = {unknowns.levels[n] for n in levels if plane.levels[n].axis is axis}
            marks |= {(each.x, each.y)[axis.value] for each in middles}
            for low, high in pairwise(sorted(marks, key=lambda u: values[u])):
                ends = float(values[low]), float(values[high])
                yield {high: 1.0, low: -1.0}, (name, ends[1] - ends[0], ends)
    for piece in _slants(rings, plane):
        xs, ys = zip(*(unknowns.nodes[node] for node in (piece.first, piece.last)), strict=True)
        middle = float(values[list(xs)].mean()), float(values[list(ys)].mean())
        for name, pair in (("slant across", xs), ("slant up", ys)):
            low, high = sorted(pair, key=lambda u: values[u])
            yield {high: 1.0, low: -1.0}, (name, float(values[high] - values[low]), middle)
