"""The unknowns of one view, and the relations that the drawing itself shows.

Kept without an equation, by sharing an unknown: strokes on one level; circles about one centre; circles on a centre
line. Kept by a relation: `joints` and `habits`.
"""

import math
from collections.abc import Sequence

from digitize.redraw.planes.outline import Ring
from digitize.redraw.planes.plane import Plane
from digitize.redraw.planes.plane_strokes import Axis, Level, Pen, Round
from digitize.redraw.solving.habits import corners_mirrored, mirrors, patterns
from digitize.redraw.solving.hole_rows import InLine, rows
from digitize.redraw.solving.joints import joints_of
from digitize.redraw.solving.solve import Relation
from digitize.redraw.solving.unknowns import CircleUnknowns, Unknowns

# In mm of paper, for the finest and for the worst pen; between, `plane_strokes.PENS` times the pen's error.
CONCENTRIC_MM = (0.4, 1.0)  # centres no further apart are one: the compass was put down once
ONE_CIRCLE_MM = (0.15, 0.4)  # concentric arcs that differ no more in radius are one circle


def describe(
    plane: Plane, rings: Sequence[Ring], axes: Sequence[Level], pitch_circles: Sequence[Round], pen: Pen
) -> tuple[Unknowns, list[Relation], list[Relation], list[InLine]]:
    """Set up the unknowns and relations of one view.

    Parameters
    ----------
    plane : Plane
        Of the visible strokes.
    rings : sequence of Ring
        What is to stay closed; strokes and nodes of no ring follow their levels but demand nothing.
    axes : sequence of Level
        Centre lines that lie level or upright.
    pitch_circles : sequence of Round
        Circles drawn as centre lines.
    pen : Pen

    Returns
    -------
    unknowns : Unknowns
    joints : list of Relation
        What the outline needs to stay closed; these come before the dimensions.
    habits : list of Relation
        Rows, symmetry and spacing; these give way to the dimensions.
    in_line : list of InLine
        The rows among them.
    """
    unknowns = Unknowns()
    unknowns.axes = [(axis.axis, unknowns.add(axis.position, axis.weight)) for axis in axes]
    unknowns.levels = [unknowns.add(level.position, level.weight) for level in plane.levels]
    unknowns.level_axes = [level.axis for level in plane.levels]
    visible = [(index, each) for index, each in enumerate(plane.strokes) if isinstance(each, Round)]
    _add_circles(unknowns, [each for _, each in visible], pitch_circles, pen)
    unknowns.rounds = {index: each.arc for index, each in visible}
    joints = joints_of(unknowns, plane, rings)
    habits = patterns(unknowns, [each for _, each in visible], pitch_circles, pen)
    in_line = rows(unknowns, pen)
    habits += [*(each.relation for each in in_line), *mirrors(unknowns, plane, pen)]
    habits += corners_mirrored(unknowns, plane, pen)
    return unknowns, joints, habits, in_line


def _add_circles(unknowns: Unknowns, visible: Sequence[Round], pitch_circles: Sequence[Round], pen: Pen) -> None:
    """Add circles, largest first; centres are shared with earlier circles, or coordinates with centre lines."""
    near = pen.slack(CONCENTRIC_MM)
    for each in sorted((*visible, *pitch_circles), key=lambda one: (-one.length, one.arc)):
        curve = each.curve
        concentric = [c for c in unknowns.circles.values() if math.dist(c.drawn.centre, curve.centre) <= near]
        if concentric:
            x, y = concentric[0].x, concentric[0].y
        else:
            x, y = (
                unknowns.shared((u for axis, u in unknowns.axes if axis is mine), at, each.length, near)
                for mine, at in zip(Axis, curve.centre, strict=True)
            )
        radius = unknowns.shared((c.radius for c in concentric), curve.radius, each.length, pen.slack(ONE_CIRCLE_MM))
        circle = CircleUnknowns(x, y, radius, curve)
        unknowns.circles |= dict.fromkeys((each.arc, *each.also), circle)
