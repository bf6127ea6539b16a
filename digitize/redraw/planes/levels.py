"""Level and upright strokes laid on the places that they share."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType

from digitize.redraw.planes.plane_strokes import GAP_MM, Axis, Level, Pen, Straight

LEVEL_MM = (0.15, 0.7)  # strokes of one level: no trace is so far off, and no step beyond it is lost in a pen's error
RISE_MM = 0.25  # a level stroke's ends differ by no more ...
RISE = math.tan(math.radians(0.25))  # ... or it is off by less than this: the stroke stage's error on a long line


def axis_of(straight: Straight, paper_mm: float) -> Axis | None:
    """The axis on which a stroke has one place; None where it is slanted."""
    wide, high = (abs(b - a) for a, b in zip(straight.start, straight.end, strict=True))
    if high <= max(RISE_MM * paper_mm, RISE * wide) and high < wide:
        return Axis.Y
    if wide <= max(RISE_MM * paper_mm, RISE * high) and wide < high:
        return Axis.X
    return None


def find_levels(
    straights: Sequence[Straight], pen: Pen, apart: Mapping[int, int] = MappingProxyType({})
) -> tuple[tuple[Level, ...], list[Straight]]:
    """Gather level and upright strokes into levels, and lay the strokes on them.

    Parameters
    ----------
    straights : sequence of Straight
    pen : Pen
    apart : mapping of int to int
        Group of strokes, by their index, that share a level with their own group alone.

    Returns
    -------
    levels : tuple of Level
    straights : list of Straight
        In the order given, each exactly on its level.
    """
    levels: list[Level] = []
    placed: list[Straight] = list(straights)
    for axis in Axis:
        mine = [i for i, each in enumerate(straights) if axis_of(each, pen.paper_mm) is axis]
        middle = {i: (straights[i].start[axis.value] + straights[i].end[axis.value]) / 2 for i in mine}
        for group in _parted(sorted(mine, key=middle.__getitem__), middle, pen.slack(LEVEL_MM), apart):
            weight = sum(straights[i].length for i in group)
            position = sum(middle[i] * straights[i].length for i in group) / weight
            for i in group:
                placed[i] = _laid(straights[i], axis, position, len(levels))
            levels.append(Level(axis, position, weight, middle[group[-1]] - middle[group[0]]))
    return tuple(levels), placed


def _parted(
    order: Sequence[int], place: dict[int, float], most: float, apart: Mapping[int, int]
) -> Iterator[list[int]]:
    """Groups that span no more than ``most``, parted further by ``apart``."""
    for group in _near_groups(order, place, most):
        parts: dict[int | None, list[int]] = {}
        for i in group:
            parts.setdefault(apart.get(i), []).append(i)
        yield from parts.values()


def _near_groups(order: Sequence[int], place: dict[int, float], most: float) -> list[list[int]]:
    """Split a sorted sequence into groups that span no more than ``most``."""
    groups: list[list[int]] = []
    for i in order:
        if groups and place[i] - place[groups[-1][0]] <= most:
            groups[-1].append(i)
        else:
            groups.append([i])
    return groups


def _laid(straight: Straight, axis: Axis, position: float, level: int) -> Straight:
    return Straight(axis.laid(straight.start, position), axis.laid(straight.end, position), level)


def joined(straights: Iterable[Straight], levels: Sequence[Level], paper_mm: float) -> list[Straight]:
    """Join strokes of one level that overlap or nearly touch; slanted ones are left as they are."""
    slanted = [each for each in straights if each.level is None]
    joined = []
    for index, level in enumerate(levels):
        other = 1 - level.axis.value
        spans = sorted(sorted((each.start[other], each.end[other])) for each in straights if each.level == index)
        for low, high in _joined_spans(spans, GAP_MM * paper_mm):
            ends = ((level.position, low), (level.position, high))
            start, end = (place if level.axis is Axis.X else place[::-1] for place in ends)
            joined.append(Straight(start, end, index))
    return joined + slanted


def _joined_spans(spans: Sequence[Sequence[float]], gap: float) -> list[list[float]]:
    joined: list[list[float]] = []
    for low, high in spans:
        if joined and low <= joined[-1][1] + gap:
            joined[-1][1] = max(joined[-1][1], high)
        else:
            joined.append([low, high])
    return joined
