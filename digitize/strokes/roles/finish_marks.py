"""Triangles that stand on a surface to say how finely it is machined: one to four, side by side (DIN 140, from memory).

Each is of equal sides, a few mm high, and touches its surface with a corner. Bases of neighbours run into one line.
"""

import math
from dataclasses import dataclass

import numpy as np

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.joining.meetings import START, meetings_of
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Role

SIDE_MM = (1.5, 7.0)
ALIKE = 0.12
"""Sides of a triangle differ by no more than this share."""
BETWEEN_DEG = (54.0, 66.0)
MEET_MM = 0.6
MOST_SIDE_BY_SIDE = 4.5
"""A base is as long as so many sides at the most: what is longer is an edge that a countersunk hole begins at."""


@dataclass(frozen=True)
class _Vee:
    """Two sides that meet in a corner: their numbers, and their other ends."""

    sides: tuple[int, int]
    ends: tuple[tuple[float, float], tuple[float, float]]


def find_finish_marks(page: Page) -> None:
    """Give the leader role to machining marks: they speak of a surface and are none."""
    vees = _vees(page)
    based = [(vee, base) for vee in vees if (base := _base_of(page, vee)) is not None]
    for base in {base for _, base in based}:
        ends = [end for vee, own in based if own == base for end in vee.ends]
        line, near = page.pieces[base], page.px(MEET_MM)
        if all(any(math.dist(own, end) <= near for end in ends) for own in (line.start, line.end)):
            page.give([base, *(k for vee, own in based if own == base for k in vee.sides)], Role.LEADER)


def _vees(page: Page) -> list[_Vee]:
    least, most = (page.px(each) for each in SIDE_MM)
    sides = [
        k
        for k in page.unknown()
        if page.pieces[k].track.kind == LINE
        and page.pieces[k].dash == "solid"
        and least <= page.pieces[k].length <= most
    ]
    found = []
    for met in meetings_of([page.pieces[k] for k in sides], page.px(MEET_MM), 180.0 - BETWEEN_DEG[0]):
        one, other = page.pieces[sides[met.first]], page.pieces[sides[met.second]]
        between_deg = 180.0 - math.degrees(math.acos(min(1.0, max(-1.0, met.cosine))))
        alike = abs(one.length - other.length) <= ALIKE * max(one.length, other.length)
        if alike and BETWEEN_DEG[0] <= between_deg <= BETWEEN_DEG[1]:
            ends = _far_end(one, met.first_end), _far_end(other, met.second_end)
            found.append(_Vee((sides[met.first], sides[met.second]), ends))
    return found


def _far_end(piece: Piece, near_end: int) -> tuple[float, float]:
    return piece.end if near_end == START else piece.start


def _base_of(page: Page, vee: _Vee) -> int | None:
    """The line that joins the other ends of two sides, if it is no longer than those of a few marks."""
    places = np.linspace(vee.ends[0], vee.ends[1], 3)
    met = [set(page.touching(x, y, MEET_MM)) for x, y in places.tolist()]
    side = page.pieces[vee.sides[0]].length
    bases = [
        k
        for k in set.intersection(*met) - set(vee.sides)
        if page.roles[k] is None
        and page.pieces[k].track.kind == LINE
        and (1 - ALIKE) * side <= page.pieces[k].length <= MOST_SIDE_BY_SIDE * side
    ]
    return min(bases, key=lambda k: page.pieces[k].length, default=None)
