"""Dimension lines of angles whose heads were missed, in part or all: thin arcs from one leg to another.

Glossary
--------
leg
    A line that leads to an arc's centre and reaches the arc, or begins at its centre: what the angle is measured from
    or to.
circle
    Thin arcs that lie on one: a figure breaks the dimension line of an angle, and a crossing may.
"""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.joining.crossings import holds, meets
from digitize.strokes.page import Page
from digitize.strokes.primitives import Role
from digitize.strokes.roles.dimensioning import heads_along_arcs
from digitize.strokes.table import X, Y, s_at
from digitize.strokes.tracks import Track

CHAINS = ("chain", "double_chain")
RADII_MM = 3.0, 150.0
TOUCH_MM = 0.6
MOST_TURN = math.radians(200.0)
"""Arcs that go round further are a circle, of holes or of pitch. Damage may leave less of one: what runs round a drawn
circle, or through holes, is the dimension line of an angle only with a head."""
SAME_LEG, WIDEST = math.radians(2.0), math.radians(180.0)
HEAD_MM, LEAST_DRAWN = 5.0, 0.3
"""A head that was missed took no more of its arc than this, and the figure left this share of it."""
LEAST_RADIAL = math.cos(math.radians(3.0))
"""A short arc tells its centre no better than this."""
FIGURE_MM = 8.0
"""The figure of an angle breaks its arc or stands so near to it."""
CENTRE_MM, LEAST_LEG_MM = 1.0, 3.0
"""A side of a corner leads to an arc round it though it ends sooner."""
OVERRUN_MM = 6.0
"""An extension line ends so far beyond its arc at most."""
NO_LEG = (Role.DIMENSION, Role.LEADER, Role.HATCH, Role.BORDER, Role.TABLE)


@dataclass(frozen=True)
class _Circle:
    """The longest of some arcs on one circle, and what each of them covers in px along it, with its number."""

    longest: int
    covered: tuple[tuple[float, float, int], ...]

    @property
    def numbers(self) -> set[int]:
        """Its arcs."""
        return {k for _, _, k in self.covered}


@dataclass(frozen=True)
class _Leg:
    """Where a leg reaches a circle, and the lines that it was traced as."""

    s: float
    lines: tuple[int, ...]


def find_angle_arcs(page: Page) -> None:
    """Give the dimension role to thin arcs that run from leg to leg, and the extension role to legs that end there."""
    if page.pens.parting is None:
        return
    left = {k for k in range(len(page.pieces)) if _may_be_drawn_from_leg_to_leg(page, k)}
    headed = {e.piece for e in heads_along_arcs(page)}
    for k in sorted(left, key=lambda k: (-page.pieces[k].length, k)):
        if k in left:
            circle = _circle_of(page, k, left)
            left -= circle.numbers
            if _turn(page, circle) <= MOST_TURN and (headed & circle.numbers or not _is_of_the_part(page, circle)):
                _tell(page, circle)


def _may_be_drawn_from_leg_to_leg(page: Page, k: int) -> bool:
    piece, (least, most) = page.pieces[k], RADII_MM
    if piece.track.kind != ARC or piece.closed or piece.dash in CHAINS or not page.is_thin(k):
        return False
    return page.roles[k] in (None, Role.DIMENSION) and page.px(least) <= piece.track.radius <= page.px(most)


def _circle_of(page: Page, longest: int, left: set[int]) -> _Circle:
    """The arcs left that lie on the circle of one."""
    piece, row = page.pieces[longest], page.table.rows[longest]
    track, covered = piece.track, []
    for k in page.table.along(replace(piece, s0=0.0, s1=track.period), page.px(TOUCH_MM)):
        other = page.pieces[k]
        places = (other.start, other.middle, other.end)
        off = max(abs(math.dist(place, (track.x, track.y)) - track.radius) for place in places)
        if k == longest or (k in left and off <= page.px(TOUCH_MM)):
            middle = s_at(row, *other.middle, 0.5 * track.period)
            covered.append((middle - 0.5 * other.length, middle + 0.5 * other.length, k))
    return _Circle(longest, tuple(covered))


def _turn(page: Page, circle: _Circle) -> float:
    return sum(end - start for start, end, _ in circle.covered) / page.pieces[circle.longest].track.radius


def _is_of_the_part(page: Page, circle: _Circle) -> bool:
    """Whether arcs may be what is left of a circle of pitch or of holes, whose axes lead to the centre too."""
    track, near = page.pieces[circle.longest].track, page.px(TOUCH_MM)
    whole = [piece.track for piece in page.pieces if piece.closed]
    away = [math.dist((other.x, other.y), (track.x, track.y)) for other in whole]
    return any(distance <= near or abs(distance - track.radius) <= near for distance in away)


def _tell(page: Page, circle: _Circle) -> None:
    """Give their roles to the arcs of a circle and to their legs."""
    legs, track = _legs(page, circle), page.pieces[circle.longest].track
    for first, second in pairwise((*legs, *(replace(leg, s=leg.s + track.period) for leg in legs[:1]))):
        spans = [(a + turn, b + turn, k) for a, b, k in circle.covered for turn in (-track.period, 0.0, track.period)]
        within = sorted((max(a, first.s), min(b, second.s), k) for a, b, k in spans if a < second.s and b > first.s)
        is_angle = SAME_LEG * track.radius < second.s - first.s <= WIDEST * track.radius
        if not is_angle or not _runs_between(first.s, second.s, within, page.px(HEAD_MM)):
            continue
        if _has_figure(page, track, first.s, second.s):
            page.give([k for _, _, k in within], Role.DIMENSION)
            page.give([k for leg in (first, second) for k in leg.lines if _ends_at(page, k, track.point(leg.s))],
                      Role.EXTENSION)  # fmt: skip


def _legs(page: Page, circle: _Circle) -> list[_Leg]:
    """The legs of a circle, in order along it."""
    piece, row, slack = page.pieces[circle.longest], page.table.rows[circle.longest], page.px(TOUCH_MM)
    found = []
    for k in page.table.along(replace(piece, s0=0.0, s1=piece.track.period), slack):
        line = page.table.rows[k]
        if page.pieces[k].track.kind != LINE or page.roles[k] in NO_LEG:
            continue
        found += [
            (s_at(row, x, y, 0.5 * piece.track.period), k)
            for x, y, sine in meets(row, line).tolist()
            if sine >= LEAST_RADIAL and holds(line, x, y, slack)
        ]
    for k in page.table.near(row[X], row[Y], page.px(CENTRE_MM)).tolist():
        place = _far_end(page, k, row[X], row[Y])
        if place is not None:
            found.append((s_at(row, *place, 0.5 * piece.track.period), k))
    legs: list[_Leg] = []
    for s, k in sorted(found):
        if legs and s - legs[-1].s <= SAME_LEG * piece.track.radius:
            legs[-1] = replace(legs[-1], lines=(*legs[-1].lines, k))
        else:
            legs.append(_Leg(s, (k,)))
    return legs


def _has_figure(page: Page, track: Track, first: float, second: float) -> bool:
    """Whether lettering stands on or beside a stretch of a circle."""
    reach, ground = page.px(FIGURE_MM), page.ground
    s, aside = np.meshgrid(np.arange(first, second), np.linspace(-reach, reach, 1 + 2 * math.ceil(FIGURE_MM / 0.5)))
    x, y = np.rint(ground.in_picture(track.at(s.ravel(), aside.ravel()))).astype(int).T
    rows, columns = ground.lettering.shape
    inside = (x >= 0) & (x < columns) & (y >= 0) & (y < rows)
    return bool(ground.lettering[y[inside], x[inside]].any())


def _far_end(page: Page, k: int, x: float, y: float) -> tuple[float, float] | None:
    """The other end of a line that begins at a centre, short as it may be; None of any other stroke."""
    piece = page.pieces[k]
    near, far = sorted((piece.start, piece.end), key=lambda end: math.dist(end, (x, y)))
    begins = math.dist(near, (x, y)) <= page.px(CENTRE_MM) and piece.length >= page.px(LEAST_LEG_MM)
    return far if piece.track.kind == LINE and page.roles[k] not in NO_LEG and begins else None


def _runs_between(first: float, second: float, drawn: list[tuple[float, float, int]], head: float) -> bool:
    """Whether arcs begin within a head's length of both legs and leave out no more than a figure takes."""
    if not drawn or drawn[0][0] - first > head or second - max(end for _, end, _ in drawn) > head:
        return False
    return sum(end - start for start, end, _ in drawn) >= LEAST_DRAWN * (second - first)


def _ends_at(page: Page, k: int, place: tuple[float, float]) -> bool:
    """Whether a leg was drawn to reach an arc: a thin line that ends in the open just beyond it."""
    piece = page.pieces[k]
    if piece.dash in CHAINS or not page.is_thin(k):
        return False
    end = min(piece.start, piece.end, key=lambda end: math.dist(end, place))
    touched = (page.pieces[n] for n in page.touching(*end) if n != k)
    return math.dist(end, place) <= page.px(OVERRUN_MM) and all(other.track.kind == ARC for other in touched)
