"""What the ink of a corner shows: a bevel and a rounding, laid on the grey picture as the pen would have drawn them.

Glossary
--------
bow
    A small arc between the ends of two lines.
corner
    Where the two lines would meet; ``cuts`` are the lengths from there to the ends of the bow, along either line.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from digitize.strokes.centre_lines.fit import ARC
from digitize.strokes.compiled import compiled
from digitize.strokes.ground import FULL_DARKNESS, Ground
from digitize.strokes.primitives import Point
from digitize.strokes.table import Table

FloatArray = NDArray[np.float64]

SEEN, BESIDE_PX = 1.5, 3.0
"""Pixels count up to so many pen widths along the lines from the bow, and so far beside the ink."""
OTHER_PX = 2.0
"""Pixels so near to the ink of other strokes do not count."""
LEAST_FREE = 0.5
"""Where less of the pixels is free of other ink, the bow stays what it was."""
BLUR_PX, LEAST_BLUR_PX, MOST_BLUR_PX = 0.7, 0.2, 2.5
BLUR_REACH = 4.0
"""Blur is carried so many times its own spread."""
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
    off = _to_segments(points, np.array([chord, [chord[0], seen[0]], [chord[1], seen[1]]]))
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
    straight, cuts = _least(view, bow, np.array(bow.cuts), width)
    round_, _ = _least(view, bow, np.array([0.5 * sum(bow.cuts)]), width)
    first, second = (np.array(bow.corner) + cut * u for cut, u in zip(cuts, bow.away, strict=True))
    return Costs(straight, round_, ((float(first[0]), float(first[1])), (float(second[0]), float(second[1]))))


def _least(view: View, bow: Bow, start: FloatArray, width: float) -> tuple[float, FloatArray]:
    """What the best of a kind of shapes leaves, with the pen's width, blackness and blur free; and its numbers.

    A bevel has two cuts, a rounding one.
    """
    places = np.array([bow.corner, *bow.away, *bow.far])
    value = view.dark[view.counts]

    def left(numbers: FloatArray) -> FloatArray:
        return (_seen(view.points, view.counts, places, bow.half_angle, numbers) - value) / ASTRAY

    first = np.array([*start, width, 1.0, 0.0, BLUR_PX])
    low = np.array([*(0.0 * start), 0.5 * width, 0.2, -0.2, LEAST_BLUR_PX])
    high = np.array([*(4.0 * start + 2.0 * width), 1.5 * width, 1.5, 0.5, MOST_BLUR_PX])
    found = least_squares(
        left, first, bounds=(low, high), diff_step=np.full(len(first), 1e-3), loss="soft_l1", max_nfev=20
    )
    return float(found.cost), np.asarray(found.x[:-4])


@compiled
def _seen(
    points: FloatArray, counts: NDArray[np.bool_], places: FloatArray, half_angle: float, numbers: FloatArray
) -> FloatArray:
    """Darkness that a shape leaves on pixels that count; ``places`` are corner, directions and far ends of a bow."""
    corner, u, v, a, b = places
    cuts, (pen, black, paper, blur) = numbers[:-4], numbers[-4:]
    first, second = corner + cuts[0] * u, corner + cuts[-1] * v
    radius = cuts[0] * math.tan(half_angle)
    middle = u + v
    centre = corner + middle * (radius / math.sin(half_angle) / math.hypot(middle[0], middle[1]))
    rows, columns = counts.shape
    cover = np.empty((rows, columns))
    for row in range(rows):
        for column in range(columns):
            p = points[row, column]
            off = min(_to_segment(p, a, first), _to_segment(p, b, second))
            if len(cuts) == 2:
                off = min(off, _to_segment(p, first, second))
            else:
                x, y = p[0] - centre[0], p[1] - centre[1]
                if x * u[0] + y * u[1] < 0.0 and x * v[0] + y * v[1] < 0.0:
                    off = min(off, abs(math.sqrt(x * x + y * y) - radius))
            cover[row, column] = min(max(0.5 * pen + 0.5 - off, 0.0), 1.0)
    blurred = _blurred_down(_blurred_down(cover, blur).T.copy(), blur).T
    seen, n = np.empty(counts.sum()), 0
    for row in range(rows):
        for column in range(columns):
            if counts[row, column]:
                seen[n] = paper + black * blurred[row, column]
                n += 1
    return seen


@compiled
def _blurred_down(image: FloatArray, blur: float) -> FloatArray:
    """A picture blurred along its columns by a Gaussian, mirrored beyond its edges."""
    reach, (rows, columns) = int(BLUR_REACH * blur + 0.5), image.shape
    weights = np.exp(-0.5 * (np.arange(reach + 1) / blur) ** 2)
    weights /= 2.0 * weights.sum() - weights[0]
    out = np.empty((rows, columns))
    for row in range(rows):
        out[row] = image[row] * weights[0]
        for k in range(1, reach + 1):
            above, below = (row - k) % (2 * rows), (row + k) % (2 * rows)
            above, below = min(above, 2 * rows - 1 - above), min(below, 2 * rows - 1 - below)
            for column in range(columns):
                out[row, column] += weights[k] * (image[above, column] + image[below, column])
    return out


@compiled
def _to_segment(point: FloatArray, p: FloatArray, q: FloatArray) -> float:
    """Distance of a point to a segment."""
    dx, dy, x, y = q[0] - p[0], q[1] - p[1], point[0] - p[0], point[1] - p[1]
    share = min(max((x * dx + y * dy) / max(dx * dx + dy * dy, 1e-12), 0.0), 1.0)
    x, y = x - share * dx, y - share * dy
    return math.sqrt(x * x + y * y)


@compiled
def _to_segments(points: FloatArray, ends: FloatArray) -> FloatArray:
    """Distance of each of the points of a picture, shape (H, W, 2), to the nearest of segments, shape (N, 2, 2)."""
    rows, columns, _ = points.shape
    found = np.empty((rows, columns))
    for row in range(rows):
        for column in range(columns):
            off = np.inf
            for n in range(len(ends)):
                off = min(off, _to_segment(points[row, column], ends[n, 0], ends[n, 1]))
            found[row, column] = off
    return found
