"""Equal holes in line, which a drafter places by one figure; where that habit places some, it is told.

Glossary
--------
row
    Holes of one size drawn level or upright with each other: one ruled line gave their middles.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from digitize.redraw.planes.levels import LEVEL_MM
from digitize.redraw.planes.plane_strokes import Axis, Pen
from digitize.redraw.solving.profile import HoleRow
from digitize.redraw.solving.solve import Relation, Solution, linear
from digitize.redraw.solving.unknowns import CircleUnknowns, Unknowns

EQUAL_MM = (0.2, 0.8)  # of paper: holes that differ no more in radius are one size


@dataclass(frozen=True)
class InLine:
    """The relation that two holes stand at one place on an axis; ``holes`` are their indices in `Strokes.arcs`."""

    relation: Relation
    axis: Axis
    holes: tuple[int, int]


def rows(unknowns: Unknowns, pen: Pen) -> list[InLine]:
    """Holes of one size, level or upright with each other, two by two."""
    level, alike = pen.slack(LEVEL_MM), pen.slack(EQUAL_MM)
    holes = {arc: unknowns.circles[arc] for arc in sorted(unknowns.rounds.values()) if unknowns.circles[arc].drawn.full}
    found = []
    for axis in Axis:
        for (i, one), (j, other) in combinations(holes.items(), 2):
            a, b = _place(one, axis), _place(other, axis)
            off = abs(one.drawn.centre[axis.value] - other.drawn.centre[axis.value])
            if a != b and off <= level and abs(one.drawn.radius - other.drawn.radius) <= alike:
                found.append(InLine(linear({a: 1.0, b: -1.0}, 0.0), axis, (i, j)))
    return found


def _place(hole: CircleUnknowns, axis: Axis) -> int:
    return (hole.x, hole.y)[axis.value]


def placed_rows(
    found: Sequence[InLine], circles: Mapping[int, CircleUnknowns], solution: Solution
) -> Iterator[HoleRow]:
    """The rows of which no figure or surer relation places every hole: the habit does.

    Parameters
    ----------
    found : sequence of InLine
    circles : mapping of int to CircleUnknowns
        By index into `Strokes.arcs`.
    solution : Solution
        Of the view.
    """
    needed = {id(each) for each in solution.holding}
    for axis in Axis:
        pairs = [set(each.holes) for each in found if each.axis is axis and id(each.relation) in needed]
        for row in _hanging_together(pairs):
            drawn = [circles[arc].drawn.centre[axis.value] for arc in row]
            place = float(solution.values[_place(circles[min(row)], axis)])
            yield HoleRow(axis.name.lower(), place, len(row), max(drawn) - min(drawn))


def _hanging_together(pairs: Sequence[set[int]]) -> list[set[int]]:
    groups: list[set[int]] = []
    for pair in pairs:
        touching = [each for each in groups if each & pair]
        groups = [each for each in groups if not each & pair]
        groups.append(pair.union(*touching))
    return groups
