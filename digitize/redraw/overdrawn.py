"""Edges that were traced as one stroke with the extension line that goes on from them.

Section lines end at edges and never at an extension line. Where some end on one, the stretch of it round them, from
one visible stroke's end or another such line to the next, is an edge of the part.
"""

from collections.abc import Iterator, Sequence

from digitize.redraw.outline import FEWEST_HATCHES
from digitize.redraw.plane import GAP_MM, Straight, crossing
from digitize.strokes.primitives import Point

HATCH_END_MM = 0.5  # of paper: a section line ends no further from its edge, about a pen's width
STUB_MM = 2.0  # of paper: a shorter visible stroke may be a crumb of hatching and ends no stretch


def edges_under(
    extensions: Sequence[Straight], hatches: Sequence[Straight], visible: Sequence[Straight], paper_mm: float
) -> list[Straight]:
    """The stretches of extension lines that are edges.

    Parameters
    ----------
    extensions, hatches, visible : sequence of Straight
        Strokes of one view, in part mm.
    paper_mm : float
        Part mm in one mm of paper.
    """
    walls = [each for each in visible if each.length >= STUB_MM * paper_mm]
    hatched = {line: sorted(_ends_on(line, hatches, HATCH_END_MM * paper_mm)) for line in extensions if line.length}
    borders = {line: places for line, places in hatched.items() if len(places) >= FEWEST_HATCHES}
    stretches = (_stretch(line, places, walls, list(borders), paper_mm) for line, places in borders.items())
    return [each for each in stretches if each is not None]


def _stretch(
    line: Straight, hatched: Sequence[float], walls: Sequence[Straight], borders: Sequence[Straight], paper_mm: float
) -> Straight | None:
    """The part of a line round the places where section lines end on it: up to a wall's end or another such line."""
    slack = GAP_MM * paper_mm
    corners = [line.along(at) for other in borders for at in crossing(line, other) if _reaches(other, at, slack)]
    stops = [*_ends_on(line, walls, slack), *(at for at in corners if -slack <= at <= line.length + slack)]
    low = max((at for at in stops if at <= hatched[0] + slack), default=None)
    high = min((at for at in stops if at >= hatched[-1] - slack), default=None)
    if low is None or high is None or high - low <= slack:
        return None
    return Straight(_at(line, low), _at(line, high))


def _reaches(line: Straight, at: Point, slack: float) -> bool:
    return -slack <= line.along(at) <= line.length + slack


def _ends_on(line: Straight, strokes: Sequence[Straight], slack: float) -> Iterator[float]:
    """Where along a line strokes end that end on it."""
    (dx, dy), (x, y) = line.direction, line.start
    for each in strokes:
        for end in (each.start, each.end):
            along, off = line.along(end), (end[0] - x) * dy - (end[1] - y) * dx
            if abs(off) <= slack and _reaches(line, end, slack):
                yield along


def _at(line: Straight, along: float) -> Point:
    (dx, dy), (x, y) = line.direction, line.start
    return x + along * dx, y + along * dy
