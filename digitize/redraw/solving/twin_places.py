"""Places of two views that are one, because one view was projected from the other.

Glossary
--------
place
    Where a view has an edge, a circle's rim or a middle line, on the axis that twins share.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from digitize.redraw.planes.curve import FULL_TURN_DEG, Circular
from digitize.redraw.planes.plane_strokes import Axis, Pen
from digitize.redraw.solving.draft import Draft
from digitize.redraw.solving.solve import Solution, solve

LINK_MM = (0.2, 0.8)  # of paper: projected with the T-square, a place lies no further from its twin ...
NEXT = 2.0  # ... and no other place less than so many times as far: of two that either might be, it is open which
SAME = 1e-6  # mm of part, and the relative freedom to part: less makes two places of a view one
_POLES_DEG = {Axis.X: ((0.0, 1.0), (180.0, -1.0)), Axis.Y: ((90.0, 1.0), (270.0, -1.0))}


@dataclass(frozen=True)
class Place:
    """``terms`` make the place of the unknowns of its view; ``middle`` is True for a centre line or a centre."""

    at: float
    terms: dict[int, float]
    middle: bool


def matches_of(one: Draft, other: Draft, axis: Axis, start: float, end: float) -> tuple[tuple[Place, Place], ...]:
    """Places of two twins that are one, middle lines first and then from outside inwards.

    ``start`` and ``end`` are one place of the paper in the first's frame and in the second's.
    """
    pen = Pen(one.view.frame.paper_mm, max(one.view.pen_mm, other.view.pen_mm))
    slack = pen.slack(LINK_MM)
    mine, theirs = _Places(one, axis), _Places(other, axis, start - end)
    found = []
    for place in mine.every:
        match = theirs.only(place, slack)
        if match is not None and mine.only(match, slack) is place:
            found.append((place, match))
    return tuple(sorted(found, key=lambda pair: (not pair[0].middle, -abs(pair[0].at - start))))


@dataclass(frozen=True)
class _Places:
    """The places of a view on an axis; ``shift`` lays them into the frame of its twin."""

    draft: Draft
    axis: Axis
    shift: float = 0.0

    @cached_property
    def every(self) -> tuple[Place, ...]:
        return tuple(replace(each, at=each.at + self.shift) for each in _places(self.draft, self.axis))

    def only(self, place: Place, slack: float) -> Place | None:
        """The one that lies at a place of the twin; None where there is none, or where it is open which."""
        near = sorted((each for each in self.every if each.middle is place.middle), key=lambda each: _off(each, place))
        if not near or _off(near[0], place) > slack:
            return None
        best = near[0]
        reach = max(slack, NEXT * _off(best, place))
        rivals = (each for each in near[1:] if _off(each, place) <= reach)
        return best if all(self._one(best, each) for each in rivals) else None

    def _one(self, first: Place, second: Place) -> bool:
        """Whether two places of the view are one, as an edge and the rounding that it runs into are."""
        terms = np.zeros(len(self._solved.values))
        for place, sign in ((first, 1.0), (second, -1.0)):
            for unknown, factor in place.terms.items():
                terms[unknown] += sign * factor
        free = np.abs(terms @ self._solved.free).max(initial=0.0)
        return free < SAME and abs(float(terms @ self._solved.values)) < SAME

    @cached_property
    def _solved(self) -> Solution:
        unknowns = self.draft.unknowns
        return solve(unknowns.values, unknowns.weights, self.draft.relations)


def _off(one: Place, other: Place) -> float:
    return abs(one.at - other.at)


def _places(draft: Draft, axis: Axis) -> Iterator[Place]:
    unknowns = draft.unknowns
    drawn = unknowns.drawn
    for unknown, mine in zip(unknowns.levels, unknowns.level_axes, strict=True):
        if mine is axis:
            yield Place(drawn[unknown], {unknown: 1.0}, False)
    visible = {arc: unknowns.circles[arc] for arc in unknowns.rounds.values()}
    middles = {unknown for mine, unknown in unknowns.axes if mine is axis}
    rims: dict[tuple[int, int, float], Place] = {}
    for circle in visible.values():
        centre = circle.x if axis is Axis.X else circle.y
        middles.add(centre)
        for pole_deg, sign in _POLES_DEG[axis]:
            if _passes(circle.drawn, pole_deg):
                at = drawn[centre] + sign * drawn[circle.radius]
                rims[centre, circle.radius, sign] = Place(at, {centre: 1.0, circle.radius: sign}, False)
    yield from rims.values()
    yield from (Place(drawn[unknown], {unknown: 1.0}, True) for unknown in sorted(middles))


def _passes(curve: Circular, angle_deg: float) -> bool:
    return curve.full or (angle_deg - curve.start_deg) % FULL_TURN_DEG <= curve.sweep_deg
