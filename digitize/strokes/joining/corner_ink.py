"""What the ink of a corner shows: a bevel and a rounding, laid on the grey picture as the pen would have drawn them.

Glossary
--------
bow
    A small arc between the ends of two lines.
corner
    Where the two lines would meet; ``cuts`` are the lengths from there to the ends of the bow, along either line.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter
from scipy.optimize import least_squares

from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.ground import FULL_DARKNESS, Ground
from digitize.strokes.primitives import Point
from digitize.strokes.table import Table

FloatArray = NDArray[np.float64]
Shape = Callable[[FloatArray], FloatArray]

SEEN, BESIDE_PX = 1.5, 3.0
"""Pixels count up to so many pen widths along the lines from the bow, and so far beside the ink."""
OTHER_PX = 2.0
"""Pixels so near to the ink of other strokes do not count."""
LEAST_FREE = 0.5
"""Where less of the pixels is free of other ink, the bow stays what it was."""
BLUR_PX, LEAST_BLUR_PX, MOST_BLUR_PX = 0.7, 0.2, 2.5
ASTRAY = 0.15
"""A pixel that differs by more of full darkness shows something else, and weighs less (soft L1)."""


@dataclass(frozen=True)
class Bow:
    """A small arc and the two lines that it ends on.

    Attributes
    ----------
    arc : int
    lines : tuple of int
        Numbers of the lines at the arc's start and end.
    far : tuple of Point
        The other end of either line.
    corner : Point
    away : ndarray, shape (2, 2)
        Unit directions of the lines, away from the corner.
    cuts : tuple of float
        As the arc has them, in px.
    """

    arc: int
    lines: tuple[int, int]
    far: tuple[Point, Point]
    corner: Point
    away: FloatArray
    cuts: tuple[float, float]

    @property
    def half_angle(self) -> float:
        """Half the angle between the lines, in radians."""
        return 0.5 * math.acos(float(np.clip(self.away[0] @ self.away[1], -1.0, 1.0)))


@dataclass(frozen=True)
class View:
    """Pixels round a bow: where they lie in the frame of the pieces, how dark they are, and which of them count."""

    points: FloatArray
    dark: FloatArray
    counts: NDArray[np.bool_]


def view_of(ground: Ground, table: Table, bow: Bow) -> View | None:
    """What is seen of a bow; None where other ink hides most of it."""
    width = table.pieces[bow.arc].width
    reach = np.array(bow.cuts) + SEEN * width
    seen = [np.array(bow.corner) + t * u for t, u in zip(reach, bow.away, strict=True)]
    margin = 0.5 * width + 2.0 * BESIDE_PX
    box = ground.in_picture(np.array([bow.corner, *seen]))
    left, top = np.maximum(np.floor(box.min(axis=0) - margin), 0).astype(int)
    right, bottom = np.ceil(box.max(axis=0) + margin).astype(int)
    dark = ground.dark[top : bottom + 1, left : right + 1] / FULL_DARKNESS
    rows, columns = np.indices(dark.shape)
    points = np.stack([columns + left, rows + top], axis=-1) @ np.linalg.inv(ground.picture_from_round).T
    chord = [np.array(bow.corner) + t * u for t, u in zip(bow.cuts, bow.away, strict=True)]
    off = np.minimum(to_segment(points, chord[0], chord[1]), to_segment(points, chord[0], seen[0]))
    off = np.minimum(off, to_segment(points, chord[1], seen[1]))
    past = np.max([(points - end) @ u for end, u in zip(seen, bow.away, strict=True)], axis=0)
    near = (off <= 0.5 * width + BESIDE_PX) & (past <= 0.0)
    counts = near & ~_others_ink(table, bow, points, float(reach.max()) + margin)
    return View(points, dark, counts) if counts.sum() >= LEAST_FREE * max(near.sum(), 1) else None


def _others_ink(table: Table, bow: Bow, points: FloatArray, reach: float) -> NDArray[np.bool_]:
    """Which points lie on or near the ink of other pieces."""
    found = np.zeros(points.shape[:-1], bool)
    for n in table.near(*bow.corner, reach).tolist():
        piece = table.pieces[n]
        if n in (bow.arc, *bow.lines):
            continue
        s, off = piece.track.place(points)
        middle, half = 0.5 * (piece.s0 + piece.s1), 0.5 * piece.length
        along = s - middle
        if piece.track.kind == ARC:
            along = (along + 0.5 * piece.track.period) % piece.track.period - 0.5 * piece.track.period
        rim = 0.5 * piece.width + OTHER_PX
        found |= (np.abs(off) <= rim) & (np.abs(along) <= half + rim)
    return found


@dataclass(frozen=True)
class Costs:
    """What either shape leaves of the picture unexplained, and the ends of the best bevel."""

    bevel: float
    rounding: float
    ends: tuple[Point, Point]


def costs_of(view: View, bow: Bow, width: float) -> Costs:
    """Lay both shapes on the picture."""
    corner, (u, v), (a, b) = np.array(bow.corner), bow.away, bow.far

    def off_lines(points: FloatArray, first: FloatArray, second: FloatArray) -> FloatArray:
        return np.minimum(to_segment(points, np.array(a), first), to_segment(points, np.array(b), second))

    def bevel(cuts: FloatArray) -> FloatArray:
        first, second = corner + cuts[0] * u, corner + cuts[1] * v
        return np.minimum(off_lines(view.points, first, second), to_segment(view.points, first, second))

    slope = math.tan(bow.half_angle)
    middle = (u + v) / np.linalg.norm(u + v)

    def rounding(cut: FloatArray) -> FloatArray:
        first, second = corner + cut[0] * u, corner + cut[0] * v
        radius = cut[0] * slope
        centre = corner + middle * radius / math.sin(bow.half_angle)
        x = view.points - centre
        between = (x @ u < 0.0) & (x @ v < 0.0)
        off = np.where(between, np.abs(np.hypot(x[..., 0], x[..., 1]) - radius), np.inf)
        return np.minimum(off_lines(view.points, first, second), off)

    mean = 0.5 * sum(bow.cuts)
    straight, cuts = _least(view, bevel, np.array(bow.cuts), width)
    round_, _ = _least(view, rounding, np.array([mean]), width)
    first, second = corner + cuts[0] * u, corner + cuts[1] * v
    return Costs(straight, round_, ((float(first[0]), float(first[1])), (float(second[0]), float(second[1]))))


def _least(view: View, shape: Shape, start: FloatArray, width: float) -> tuple[float, FloatArray]:
    """What the best of a kind of shapes leaves, with the pen's width, blackness and blur free; and its numbers."""
    value = view.dark[view.counts]

    def left(numbers: FloatArray) -> FloatArray:
        pen, black, paper, blur = numbers[-4:]
        cover = np.clip(0.5 * pen + 0.5 - shape(numbers[:-4]), 0.0, 1.0)
        return np.asarray((paper + black * gaussian_filter(cover, blur)[view.counts] - value) / ASTRAY)

    first = np.array([*start, width, 1.0, 0.0, BLUR_PX])
    low = np.array([*(0.0 * start), 0.5 * width, 0.2, -0.2, LEAST_BLUR_PX])
    high = np.array([*(4.0 * start + 2.0 * width), 1.5 * width, 1.5, 0.5, MOST_BLUR_PX])
    found = least_squares(
        left, first, bounds=(low, high), diff_step=np.full(len(first), 1e-3), loss="soft_l1", max_nfev=20
    )
    return float(found.cost), np.asarray(found.x[:-4])


def to_segment(points: FloatArray, p: FloatArray, q: FloatArray) -> FloatArray:
    """Distance of points, shape (..., 2), to a segment."""
    d = q - p
    t = np.clip((points - p) @ d / max(float(d @ d), 1e-12), 0.0, 1.0)
    x = points - p - t[..., None] * d
    return np.asarray(np.hypot(x[..., 0], x[..., 1]))
