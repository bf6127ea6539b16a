"""Places of two views that are one, because one view was projected from the other.

Glossary
--------
place
    Where a view has an edge, a circle's rim or a middle line, on the axis that twins share.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from digitize.redraw.planes.curve import FULL_TURN_DEG, Circular
from digitize.redraw.planes.plane_strokes import Axis, Pen
from digitize.redraw.solving.draft import Draft

LINK_MM = (0.2, 0.8)  # of paper: projected with the T-square, a place lies no further from its twin
TWO_PLACES = 0.5  # of that: candidates further apart are two places, and which of them was projected is open
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
    mine = list(_places(one, axis))
    theirs = [replace(each, at=each.at - end + start) for each in _places(other, axis)]
    found = []
    for place in mine:
        match = _only(place, theirs, slack)
        if match is not None and _only(match, mine, slack) is place:
            found.append((place, match))
    return tuple(sorted(found, key=lambda pair: (not pair[0].middle, -abs(pair[0].at - start))))


def _only(place: Place, others: Sequence[Place], slack: float) -> Place | None:
    """The one of some places that lies at a place; None where there is none, or where it is open which."""
    near = [each for each in others if each.middle is place.middle and abs(each.at - place.at) <= slack]
    best = min(near, key=lambda each: abs(each.at - place.at), default=None)
    if best is None or any(abs(each.at - best.at) > TWO_PLACES * slack for each in near):
        return None
    return best


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
