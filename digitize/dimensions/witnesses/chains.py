"""Chains: lengths on one axis that together make another length.

Found from where the lengths lie, never from what their figures say.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from digitize.dimensions.linking.directions import along, fold_deg
from digitize.strokes.primitives import Point

SAME_PLACE_MM = 0.6
"""Two ends are at one station along an axis when they are this close, in mm of paper."""
LONGEST_CHAIN = 12
"""More links than this are not looked for."""


@dataclass(frozen=True)
class Interval:
    """One measured length: ``index`` of its figure, its ends in level pixels, and the view it belongs to."""

    index: int
    first: Point
    second: Point
    view: str | None


@dataclass(frozen=True)
class Chain:
    """Figures ``parts`` that, end to end, span figure ``total``."""

    parts: tuple[int, ...]
    total: int


def find_chains(intervals: Sequence[Interval], mm_per_px: float) -> tuple[Chain, ...]:
    """Every interval that a row of shorter ones fills without gap or overlap.

    Parameters
    ----------
    intervals : sequence of Interval
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    tuple of Chain
        For each total the chain with the fewest links; a repeated length is no chain.
    """
    tolerance_px = SAME_PLACE_MM / mm_per_px
    chains = []
    for total in intervals:
        parts = _fill(total, intervals, tolerance_px)
        if parts is not None:
            chains.append(Chain(parts, total.index))
    return tuple(chains)


def _fill(total: Interval, intervals: Sequence[Interval], tolerance_px: float) -> tuple[int, ...] | None:
    length = math.dist(total.first, total.second)
    if length < 2 * tolerance_px:
        return None
    axis = (total.second[0] - total.first[0]) / length, (total.second[1] - total.first[1]) / length
    inside: list[tuple[float, float, int]] = []
    for other in intervals:
        if other.index == total.index or other.view != total.view or not _parallel(other, axis):
            continue
        low, high = sorted((along(other.first, total.first, axis), along(other.second, total.first, axis)))
        if low > -tolerance_px and high < length + tolerance_px and high - low < length - tolerance_px:
            inside.append((low, high, other.index))
    return _walk(sorted(inside), length, tolerance_px)


def _parallel(interval: Interval, axis: Point) -> bool:
    angle_deg = math.degrees(
        math.atan2(interval.second[1] - interval.first[1], interval.second[0] - interval.first[0])
        - math.atan2(axis[1], axis[0])
    )
    return abs(fold_deg(angle_deg)) < 1.5


def _walk(pieces: Sequence[tuple[float, float, int]], length: float, tolerance_px: float) -> tuple[int, ...] | None:
    """Fewest pieces that lead from 0 to ``length``, breadth first."""
    frontier: list[tuple[float, tuple[int, ...]]] = [(0.0, ())]
    for _ in range(LONGEST_CHAIN):
        following: list[tuple[float, tuple[int, ...]]] = []
        for reached, path in frontier:
            if abs(reached - length) < tolerance_px and len(path) > 1:
                return path
            following += [(high, (*path, index)) for low, high, index in pieces if abs(low - reached) < tolerance_px]
        frontier = sorted(following)[:64]
    return None
