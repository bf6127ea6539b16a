"""Root lines and tips in a gear's section: where its teeth are agreed they give both.

A section along the axis shows no tooth cut (ISO 2203, from memory): the tips and the roots stand as level edges, each
as far to one side of the axis as to the other.
"""

from collections.abc import Iterator
from dataclasses import replace

from digitize.redraw.gear_outline import GearPlan
from digitize.redraw.planes.plane_strokes import Axis, Pen
from digitize.redraw.solving.draft import Draft
from digitize.redraw.solving.solve import Relation, linear

TOOTH_MM = (0.2, 0.8)  # of paper: a tip or root line is drawn no further from its place, as between projected views


def with_tooth_lines(begun: Draft, plan: GearPlan) -> Draft:
    """A view with the diameters of tips and roots given, where its outermost edges about a centre line are the tips of
    a gear whose teeth are agreed. Figures have the right of way."""
    if plan.spec is None or not plan.proven or plan.view == begun.view.name:
        return begun
    slack = Pen(begun.view.frame.paper_mm, begun.view.pen_mm).slack(TOOTH_MM)
    tip, root = plan.spec.tip_radius_mm, plan.spec.root_radius_mm
    for axis, middle in middles(begun):
        tips, roots = (pair_at(begun, axis, middle, radius, slack) for radius in (tip, root))
        if tips is not None and roots is not None and tips == outermost(begun, axis):
            known = (apart(tips, 2 * tip), apart(roots, 2 * root))
            return replace(begun, given=(*begun.given, *known))
    return begun


def middles(begun: Draft) -> Iterator[tuple[Axis, float]]:
    """Centre lines of a view: across which axis they stand, and where."""
    yield from ((axis, begun.unknowns.drawn[unknown]) for axis, unknown in begun.unknowns.axes)


def levels_of(begun: Draft, axis: Axis) -> list[int]:
    """Unknowns of a view's levels on an axis, from low to high."""
    unknowns = begun.unknowns
    mine = (unknown for unknown, of in zip(unknowns.levels, unknowns.level_axes, strict=True) if of is axis)
    return sorted(mine, key=lambda unknown: unknowns.drawn[unknown])


def outermost(begun: Draft, axis: Axis) -> tuple[int, int]:
    """The lowest and the highest of them."""
    levels = levels_of(begun, axis)
    return levels[0], levels[-1]


def pair_at(begun: Draft, axis: Axis, middle: float, radius: float, slack: float) -> tuple[int, int] | None:
    """The two levels that lie at a radius about a middle; None where there is none, or more than one, on a side."""
    levels, drawn = levels_of(begun, axis), begun.unknowns.drawn
    low, high = ([n for n in levels if abs(drawn[n] - middle - side * radius) <= slack] for side in (-1, 1))
    return (low[0], high[0]) if len(low) == len(high) == 1 else None


def apart(pair: tuple[int, int], size: float) -> Relation:
    """That two levels are a size apart."""
    low, high = pair
    return linear({high: 1.0, low: -1.0}, size)
