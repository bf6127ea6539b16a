"""A shaft's keyseat in its cross-section and in its side view: one width, and the step's diameter, at whatever scales.

The cross-section stands beside the view and is turned a quarter, so that no place of the one is level with a place of
the other: their sizes are one.

Glossary
--------
seat
    In the side view an inner outline with round ends; in the cross-section the notch in the circle.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from shapely import LineString

from digitize.redraw.planes import outline
from digitize.redraw.planes.outline import Ring
from digitize.redraw.planes.plane_strokes import Axis, Pen, Straight
from digitize.redraw.solving.draft import Draft
from digitize.redraw.solving.solve import Relation, linear
from digitize.redraw.solving.unknowns import CircleUnknowns

SIZE_MM = (0.3, 0.8)  # of paper: one size is drawn no more unlike in two views
SIDES = 2  # of a seat, along it


@dataclass(frozen=True)
class Cut:
    """Two drafts by number, the side view and its cross-section, and sizes that are one: terms of both."""

    side: int
    section: int
    sizes: tuple[tuple[dict[int, float], dict[int, float]], ...]

    def relations(self, offsets: Mapping[int, int]) -> Iterator[Relation]:
        """The sizes as relations of all drafts' unknowns, each draft's own from its offset on."""
        for mine, theirs in self.sizes:
            terms = {int(offsets[self.side]) + unknown: factor for unknown, factor in mine.items()}
            terms |= {int(offsets[self.section]) + unknown: -factor for unknown, factor in theirs.items()}
            yield linear(terms, 0.0)


def cuts_across(drafts: Mapping[int, Draft]) -> list[Cut]:
    """The cross-sections at keyseats; none where two steps, or two sections, might be meant."""
    found = [
        Cut(side, section, sizes)
        for side, section in [*combinations(drafts, 2), *((b, a) for a, b in combinations(drafts, 2))]
        if drafts[side].view.name is not None and (sizes := _sizes(drafts[side], drafts[section]))
    ]
    return found if len(found) == 1 else []


def _sizes(side: Draft, section: Draft) -> tuple[tuple[dict[int, float], dict[int, float]], ...]:
    """The step's diameter and the seat's width, as terms of a side view and of its cross-section."""
    notch = _notch(section)
    if notch is None:
        return ()
    circle, width = notch
    rim = {circle.radius: 2.0}
    pens = [Pen(each.view.frame.paper_mm, each.view.pen_mm).slack(SIZE_MM) for each in (side, section)]
    pairs = [
        ((step, rim), (seat, width))
        for step, seat in _seats(side)
        if abs(_value(side, step) - _value(section, rim)) <= max(pens)
        and abs(_value(side, seat) - _value(section, width)) <= max(pens)
    ]
    return pairs[0] if len(pairs) == 1 else ()


def _value(begun: Draft, terms: Mapping[int, float]) -> float:
    return sum(factor * begun.unknowns.drawn[unknown] for unknown, factor in terms.items())


def _notch(section: Draft) -> tuple[CircleUnknowns, dict[int, float]] | None:
    """Circle and notch of a cross-section: its outer outline is of one circle, two sides of the seat and its floor."""
    outers = [ring for ring in section.shape.rings if ring.within is None]
    if len(outers) != 1:
        return None
    levels, circles = _levels(section, outers[0]), _circles(section, outers[0])
    sides = [(axis, mine) for axis, mine in levels.items() if len(mine) == SIDES]
    if len(circles) != 1 or len(sides) != 1 or sum(map(len, levels.values())) != SIDES + 1:
        return None
    return circles[0], _apart(section, sides[0][1])


def _seats(side: Draft) -> Iterator[tuple[dict[int, float], dict[int, float]]]:
    """The height of the step that holds it, and its width, of each seat in a side view."""
    outers = [ring for ring in side.shape.rings if ring.within is None]
    for ring in (each for each in side.shape.rings if each.within is not None and len(outers) == 1):
        levels, rounds = _levels(side, ring), _circles(side, ring)
        axis = next((axis for axis, mine in levels.items() if len(mine) == SIDES), None)
        if axis is None or len(rounds) != SIDES or sum(map(len, levels.values())) != SIDES:
            continue
        body = outline.ring_polygon(side.shape.plane, outers[0])
        left, low, right, high = body.bounds
        x, y = outline.ring_polygon(side.shape.plane, ring).centroid.coords[0]
        across = LineString([(x, low), (x, high)] if axis is Axis.Y else [(left, y), (right, y)]).intersection(body)
        ends = [point[axis.value] for point in across.coords] if across.geom_type == "LineString" else []
        step = [_nearest(side, outers[0], axis, end) for end in ends]
        if len(set(step)) == SIDES:
            yield _apart(side, step), _apart(side, levels[axis])


def _levels(begun: Draft, ring: Ring) -> dict[Axis, list[int]]:
    """Unknowns of the levels that a ring's straight edges lie on, by axis."""
    strokes = (begun.shape.plane.strokes[step.piece.stroke] for step in ring.steps)
    numbers = sorted({each.level for each in strokes if isinstance(each, Straight) and each.level is not None})
    unknowns = begun.unknowns
    return {axis: [unknowns.levels[n] for n in numbers if begun.shape.plane.levels[n].axis is axis] for axis in Axis}


def _circles(begun: Draft, ring: Ring) -> list[CircleUnknowns]:
    unknowns = begun.unknowns
    arcs = {unknowns.rounds[step.piece.stroke] for step in ring.steps if step.piece.stroke in unknowns.rounds}
    found = (unknowns.circles[arc] for arc in sorted(arcs))
    return list({(each.x, each.y, each.radius): each for each in found}.values())


def _nearest(begun: Draft, ring: Ring, axis: Axis, place: float) -> int:
    return min(_levels(begun, ring)[axis], key=lambda unknown: abs(begun.unknowns.drawn[unknown] - place), default=-1)


def _apart(begun: Draft, pair: list[int]) -> dict[int, float]:
    low, high = sorted(pair, key=lambda unknown: begun.unknowns.drawn[unknown])
    return {high: 1.0, low: -1.0}
