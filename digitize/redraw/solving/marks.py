"""What the extension lines of a figure start from.

Glossary
--------
mark
    What an extension line can start from: a level, a centre line, a circle's centre, its rim, a corner.
foot
    Where an extension line starts, a little off its mark.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from calibrate.sheet import FloatArray
from digitize.redraw.planes.plane_strokes import Axis
from digitize.redraw.solving.unknowns import Unknowns
from digitize.strokes.primitives import Line, Point

MARK_MM = 0.8  # of paper: an extension line lies no further beside what it is drawn from
LONE_MM = 1.6  # of paper: ... but where it is the only place so near that it could be drawn from, since heads run over,
ALONE_MM = 2 * LONE_MM  # of paper: and no other lies within this
FOOT_MM = 3.0  # of paper: and starts no further from it (ISO 129-1 and ASME Y14.5 leave a gap of 1 to 2)
SQUARE = math.sin(math.radians(2.0))  # an extension line leans no more from square to its dimension line
_CENTRE_MM, _RIM_MM, _CORNER_MM = 0.1, 0.2, 0.6  # of paper: how much nearer a less likely mark must be
_ELSEWHERE_MM = 0.5  # of paper: the same of one that the foot is far from, so that a corner there goes before a rim

Feet = tuple[Point | None, Point | None]
"""Of the two ends of a figure; None where no extension line leads to one."""


@dataclass(frozen=True)
class Mark:
    """What has a place on an axis, as unknowns and factors, and where it can be touched on the other axis.

    ``across`` are the unknowns of those places; an extension line may start as far as ``reach`` from one of them, from
    a centre line anywhere.
    """

    place: float
    terms: dict[int, float]
    penalty: float
    across: tuple[int, ...]
    reach: float = 0.0

    def foot(self, values: FloatArray, line: float) -> tuple[float, float]:
        """Place on the axis, and on the other axis the place nearest to the dimension line's."""
        place = sum(factor * float(values[unknown]) for unknown, factor in self.terms.items())
        return place, min(
            (float(values[unknown]) for unknown in self.across), key=lambda at: abs(at - line), default=line
        )

    def starts(self, at: float, unknowns: Unknowns, gap: float) -> bool:
        """Whether an extension line that starts at a place on the other axis can start from it."""
        return math.isinf(self.reach) or any(
            abs(unknowns.drawn[unknown] - at) <= self.reach + gap for unknown in self.across
        )

    def lies_under(self, line: float, unknowns: Unknowns, gap: float) -> bool:
        """Whether a dimension line at a place on the other axis runs over it, as one without extension lines does.

        Of a centre line that says nothing: an extension line may have been taken for it.
        """
        places = [unknowns.drawn[unknown] for unknown in self.across]
        if not places or math.isinf(self.reach):
            return False
        return min(places) - self.reach - gap <= line <= max(places) + self.reach + gap


def feet_of(first: Point, second: Point, lines: Sequence[Line]) -> Feet:
    """Where the extension lines start that lead to a dimension line's two ends.

    Parameters
    ----------
    first, second : Point
        The ends.
    lines : sequence of Line
        The figure's extension lines, in the same frame.
    """
    length = math.dist(first, second) or 1.0
    along = ((second[0] - first[0]) / length, (second[1] - first[1]) / length)

    def foot(end: Point) -> Point | None:
        leading = (each for each in lines if _leads(each, end, along, length))
        starts = (max(each.start, each.end, key=lambda at: math.dist(at, end)) for each in leading)
        return max(starts, key=lambda at: math.dist(at, end), default=None)

    return foot(first), foot(second)


def _leads(line: Line, end: Point, along: Point, length: float) -> bool:
    """Whether a line is square to a dimension line and ends nearer to this end of it than to the other."""
    dx, dy = line.end[0] - line.start[0], line.end[1] - line.start[1]
    beside = (line.start[0] - end[0]) * along[0] + (line.start[1] - end[1]) * along[1]
    return abs(dx * along[0] + dy * along[1]) <= SQUARE * math.hypot(dx, dy) and abs(beside) < length / 2


def nearest(end: Point, foot: Point | None, axis: Axis, unknowns: Unknowns, paper_mm: float) -> Mark | None:
    """The mark at an end of a figure on an axis: the nearest, those before others that an extension line with this foot
    can start from; without a foot those that the dimension line itself runs over."""
    place, line, gap = end[axis.value], end[1 - axis.value], FOOT_MM * paper_mm

    def cost(mark: Mark) -> float:
        off = abs(mark.place - place) + mark.penalty
        here = (
            mark.lies_under(line, unknowns, gap) if foot is None else mark.starts(foot[1 - axis.value], unknowns, gap)
        )
        return off if here else off + _ELSEWHERE_MM * paper_mm

    near = [each for each in _marks(axis, unknowns, paper_mm) if abs(each.place - place) <= ALONE_MM * paper_mm]
    good = [each for each in near if abs(each.place - place) <= MARK_MM * paper_mm]
    alone = [each for each in near if abs(each.place - place) <= LONE_MM * paper_mm]
    one_place = all(abs(each.place - near[0].place) <= _CORNER_MM * paper_mm for each in near)
    return min(good or (alone if one_place else []), key=cost, default=None)


def _marks(axis: Axis, unknowns: Unknowns, paper_mm: float) -> Iterator[Mark]:
    """Everything that has a place on an axis, the likeliest starts of extension lines without a penalty."""
    here, there = axis.value, 1 - axis.value
    touched: dict[int, set[int]] = defaultdict(set)
    for node in unknowns.nodes:
        touched[node[here]].add(node[there])
    for circle in unknowns.circles.values():
        centre = (circle.x, circle.y)
        touched[centre[here]].add(centre[there])

    def single(unknown: int, penalty_mm: float, reach: float = 0.0) -> Mark:
        across = tuple(sorted(touched[unknown]))
        return Mark(unknowns.drawn[unknown], {unknown: 1.0}, penalty_mm * paper_mm, across, reach)

    yield from (single(u, 0.0) for a, u in zip(unknowns.level_axes, unknowns.levels, strict=True) if a is axis)
    yield from (single(u, _CENTRE_MM, math.inf) for a, u in unknowns.axes if a is axis)
    yield from (single(node[here], _CORNER_MM) for node in unknowns.nodes)
    for circle in unknowns.circles.values():
        place, across = (circle.x, circle.y) if axis is Axis.X else (circle.y, circle.x)
        yield single(place, _CENTRE_MM, unknowns.drawn[circle.radius])
        for sign in (-1.0, 1.0):
            rim = unknowns.drawn[place] + sign * unknowns.drawn[circle.radius]
            yield Mark(rim, {place: 1.0, circle.radius: sign}, _RIM_MM * paper_mm, (across,))
