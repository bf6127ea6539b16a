"""Section lines gathered to the regions that they hatch: an outline, an angle and a spacing.

Lines of one field lie side by side at even steps. A region is a run of them, each beside the last; its outline passes
through their ends.
"""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.primitives import HatchedRegion, Line, Point, Role

FloatArray = NDArray[np.float64]

ANGLE_DEG = 3.0
LEAST_LINES = 4
STEP_SHARES = 0.5, 1.6
"""Neighbours lie between these shares of the field's usual step apart."""
LEAST_OVERLAP = 0.5
"""Neighbours run beside each other over this share of the shorter one."""


def hatched_regions(lines: Sequence[Line]) -> tuple[HatchedRegion, ...]:
    """Gather the section lines of a sheet; lines that stand alone belong to no region.

    Parameters
    ----------
    lines : sequence of Line
        All of a sheet; `HatchedRegion.lines` are places in it.
    """
    left = [k for k, line in enumerate(lines) if line.role is Role.HATCH]
    found = []
    while left:
        seed = lines[left[0]]
        field = [k for k in left if lines[k].view == seed.view and _turn(lines[k], seed) <= ANGLE_DEG]
        left = [k for k in left if k not in set(field)]
        angle = math.radians(float(np.median([_angle_deg(lines[k], seed) for k in field])))
        found += [_region(lines, run, angle) for run in _runs(lines, field, angle)]
    return tuple(sorted(found, key=lambda region: region.lines))


def _angle_deg(line: Line, like: Line | None = None) -> float:
    """Counter-clockwise as seen, 0 to 180, or within 90 of another line's."""
    (x0, y0), (x1, y1) = line.start, line.end
    angle = math.degrees(math.atan2(y0 - y1, x1 - x0)) % 180.0
    if like is None:
        return angle
    base = _angle_deg(like)
    return base + (angle - base + 90.0) % 180.0 - 90.0


def _turn(first: Line, second: Line) -> float:
    return abs(_angle_deg(first, second) - _angle_deg(second))


def _placed(lines: Sequence[Line], numbers: list[int], angle: float) -> FloatArray:
    """For each line how far across it lies, and from where to where along, shape (N, 3)."""
    along, across = np.array([math.cos(angle), -math.sin(angle)]), np.array([math.sin(angle), math.cos(angle)])
    ends = np.array([[lines[k].start, lines[k].end] for k in numbers])
    s = np.sort(ends @ along, axis=1)
    return np.column_stack([(ends @ across).mean(axis=1), s])


def _runs(lines: Sequence[Line], field: list[int], angle: float) -> list[list[int]]:
    """Runs of lines of which each lies a step beside the last."""
    place = _placed(lines, field, angle)
    share, step = _overlaps(place), place[None, :, 0] - place[:, None, 0]
    beside = share >= LEAST_OVERLAP
    least = np.where(beside, step, np.inf).min(axis=1)
    usual = float(np.median(least[np.isfinite(least)])) if beside.any() else 0.0
    low, high = (part * usual for part in STEP_SHARES)
    first, second = np.nonzero(beside & (step >= low) & (step <= high))
    following: dict[int, int] = {}
    led_to: set[int] = set()
    for k in np.lexsort([second, first, -share[first, second]]):
        a, b = int(first[k]), int(second[k])
        if a not in following and b not in led_to:
            following[a] = b
            led_to.add(b)
    runs = []
    for start in [k for k in np.argsort(place[:, 0], kind="stable").tolist() if k not in led_to]:
        run = [start]
        while run[-1] in following:
            run.append(following[run[-1]])
        if len(run) >= LEAST_LINES:
            runs.append([field[k] for k in run])
    return runs


def _overlaps(place: FloatArray) -> FloatArray:
    """Share of the shorter of two lines that lies beside the other, shape (N, N); 0 where the second is not further."""
    across, start, end = place.T
    common = np.minimum(end[:, None], end) - np.maximum(start[:, None], start)
    shorter = np.maximum(np.minimum((end - start)[:, None], end - start), 1e-9)
    return np.where(across > across[:, None], common / shorter, 0.0)


def _region(lines: Sequence[Line], run: list[int], angle: float) -> HatchedRegion:
    """The region of one run of lines."""
    place = _placed(lines, run, angle)
    along = np.array([math.cos(angle), -math.sin(angle)])
    ends = np.array([sorted((lines[k].start, lines[k].end), key=lambda end: float(along @ end)) for k in run])
    outline: tuple[Point, ...] = tuple((float(x), float(y)) for x, y in np.vstack([ends[:, 0], ends[::-1, 1]]))
    step = float(np.median([b - a for a, b in pairwise(place[:, 0])]))
    return HatchedRegion(outline, math.degrees(angle) % 180.0, step, tuple(run), lines[run[0]].view)
