"""Edges that were traced as one stroke with the extension line that goes on from them.

Section lines end at edges and never at an extension line. Where some end on one, the stretch of it round them, from
one visible stroke's end or another such line to the next, is an edge of the part; and so is a stretch without section
lines between two with some where a centre line passes its middle: the rim of a hole. So is the outermost stretch, next
to one with some, that a centre line passes: the teeth of a gear, which are not cut. The mouth of a recess is none.
Beyond the last visible stroke's end it goes as far as the image of one, on the other side of the main centre line.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from digitize.redraw.planes.levels import axis_of
from digitize.redraw.planes.outline import FEWEST_HATCHES
from digitize.redraw.planes.plane_strokes import GAP_MM, Straight, crossing
from digitize.strokes.primitives import Point

HATCH_END_MM = 0.5  # of paper: a section line ends no further from its edge, about a pen's width
CORNER_SHARE = 0.1  # of a stretch: a section line that ends this near to its end is drawn into the corner beside it
OVERRUN_MM = 1.5  # of paper: a section line traced over its edge ends on what lies no further beyond it
SIDES = 2  # of a centre line: what the first look finds on one is an image for the other
STUB_MM = 2.0  # of paper: a shorter visible stroke may be a crumb of hatching and ends no stretch


def edges_under(
    extensions: Sequence[Straight],
    hatches: Sequence[Straight],
    visible: Sequence[Straight],
    centres: Sequence[Straight],
    paper_mm: float,
) -> list[Straight]:
    """The stretches of extension lines that are edges.

    Parameters
    ----------
    extensions, hatches, visible, centres : sequence of Straight
        Strokes of one view, in part mm.
    paper_mm : float
        Part mm in one mm of paper.
    """
    walls = [each for each in visible if each.length >= STUB_MM * paper_mm]
    walls += [each for each in visible if STUB_MM * paper_mm > each.length > 0 and _bevels(each, walls, paper_mm)]
    hatched = {line: _hatched(line, hatches, walls, paper_mm) for line in extensions if line.length}
    borders = {line: places for line, places in hatched.items() if len(places) >= FEWEST_HATCHES}
    main = sorted((each for each in centres if each.length), key=lambda each: -each.length)[:1]
    middles = [*centres, *(_image(each, main[0]) for each in centres if each.length and each is not main[0])]
    found: list[Straight] = []
    for _ in range(SIDES):
        images = [_image(wall, centre) for wall in (*walls, *found) for centre in main]
        found = [
            edge
            for line, places in borders.items()
            for edge in _edges(line, places, _stops(line, walls, list(borders), images, paper_mm), middles, paper_mm)
        ]
    return found


def _bevels(short: Straight, walls: Sequence[Straight], paper_mm: float) -> bool:
    """Whether a short slant goes on from a wall's end, as a bevel does and no crumb of hatching."""
    if axis_of(short, paper_mm) is not None:
        return False
    ends = [end for wall in walls for end in (wall.start, wall.end)]
    near = GAP_MM / 2 * paper_mm
    return any(math.dist(end, at) <= near for end in ends for at in (short.start, short.end))


def _image(wall: Straight, centre: Straight) -> Straight:
    """A wall on the other side of a centre line."""
    (dx, dy), (x, y) = centre.direction, centre.start

    def thrown(at: Point) -> Point:
        off = (at[0] - x) * dy - (at[1] - y) * dx
        return at[0] - 2 * off * dy, at[1] + 2 * off * dx

    return Straight(thrown(wall.start), thrown(wall.end))


def _hatched(line: Straight, hatches: Sequence[Straight], walls: Sequence[Straight], paper_mm: float) -> list[float]:
    """Where along a line section lines end that have not run over an edge beside it."""
    beside = [wall for wall in walls if not crossing(line, wall)]
    stopped = (each for each in hatches if not any(_overrun(each, line, wall, paper_mm) for wall in beside))
    return sorted(_ends_on(line, stopped, HATCH_END_MM * paper_mm))


def _overrun(hatch: Straight, line: Straight, wall: Straight, paper_mm: float) -> bool:
    """Whether a section line crosses a wall just before it comes to a line."""
    passed, reached = crossing(hatch, wall), crossing(hatch, line)
    if not passed or not reached or not _reaches(wall, passed[0], 0.0):
        return False
    short = math.dist(passed[0], reached[0])
    return HATCH_END_MM / 2 * paper_mm < short <= OVERRUN_MM * paper_mm and _reaches(hatch, passed[0], 0.0)


def _stops(
    line: Straight,
    walls: Sequence[Straight],
    borders: Sequence[Straight],
    images: Sequence[Straight],
    paper_mm: float,
) -> list[float]:
    """Where along a line an edge may end: at a wall's end, or at another line that section lines end on; beyond all of
    these at the end of a wall's image."""
    slack = GAP_MM * paper_mm
    corners = [line.along(at) for other in borders for at in crossing(line, other) if _reaches(other, at, slack)]
    drawn = [*_ends_on(line, walls, slack), *(at for at in corners if -slack <= at <= line.length + slack)]
    low, high = min(drawn, default=math.inf), max(drawn, default=-math.inf)
    beyond = (at for at in _ends_on(line, images, slack) if at < low - slack or at > high + slack)
    return sorted([*drawn, *beyond])


def _edges(
    line: Straight, hatched: Sequence[float], stops: Sequence[float], centres: Sequence[Straight], paper_mm: float
) -> Iterator[Straight]:
    """Stretches of a line between neighbouring stops that are edges."""
    slack = GAP_MM * paper_mm
    middles = [at for centre in centres if centre.length for at in _crossed(line, centre)]
    stretches = [(low, high) for low, high in pairwise(stops) if high - low > slack]
    cut = [any(_inside(at, each) for at in hatched) for each in stretches]
    for n, (low, high) in enumerate(stretches):
        corner = CORNER_SHARE * (high - low)
        between = hatched[0] < low + corner and high - corner < hatched[-1]
        hole = between and any(abs(at - (low + high) / 2) <= slack for at in middles)
        outermost = n in (0, len(stretches) - 1) and any(cut[max(n - 1, 0) : n + 2])
        teeth = outermost and any(_inside(at, (low, high)) for at in middles)
        if cut[n] or hole or teeth:
            yield Straight(_at(line, low), _at(line, high))


def _inside(at: float, stretch: tuple[float, float]) -> bool:
    """Whether a place lies within a stretch and not at a corner of it."""
    low, high = stretch
    corner = CORNER_SHARE * (high - low)
    return low + corner <= at <= high - corner


def _crossed(line: Straight, centre: Straight) -> Iterator[float]:
    """Where along a line a centre line crosses it."""
    yield from (line.along(at) for at in crossing(line, centre) if _reaches(centre, at, 0.0))


def _reaches(line: Straight, at: Point, slack: float) -> bool:
    return -slack <= line.along(at) <= line.length + slack


def _ends_on(line: Straight, strokes: Iterable[Straight], slack: float) -> Iterator[float]:
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
