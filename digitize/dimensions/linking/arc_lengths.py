"""Lengths along an arc: a dimension line drawn round the centre of the edge that it measures.

A chord is measured as any straight length is. For an arc length the dimension line is an arc of the same centre
(ISO 129-1, from memory), so that its arrows show the angle, and the edge within them the radius.
"""

import math

from digitize.dimensions.linking.directions import bearing_deg, fold_deg, unit
from digitize.dimensions.linking.openings import Opening
from digitize.dimensions.table import Measured
from digitize.lettering.text import Kind
from digitize.strokes.primitives import Arc, Point, Role, Strokes

SAME_CENTRE_MM = 0.8
"""Dimension line and edge have one centre to this, in mm of paper."""
SAME_ANGLE_DEG = 4.0
"""... and reach from one bearing to the other to this."""


def arc_length(opening: Opening, text_at: Point, strokes: Strokes, mm_per_px: float) -> Measured | None:
    """What a figure for an arc measures: the one edge that runs from arrow to arrow round the same centre.

    Parameters
    ----------
    opening : Opening
        The dimension line and its two tips.
    text_at : Point
    strokes : Strokes
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    Measured or None
        None where no edge, or more than one, lies so.
    """
    found = [i for i, arc in enumerate(strokes.arcs) if _is_measured(arc, opening, mm_per_px)]
    if len(found) != 1:
        return None
    arc = strokes.arcs[found[0]]
    turn = math.radians(arc.sweep_deg)
    std = math.hypot(arc.radius_std_px * turn, arc.radius_px * math.radians(opening.size_std_deg))
    ends = (_end(arc, arc.start_deg), _end(arc, arc.start_deg + arc.sweep_deg))
    return Measured(Kind.LINEAR, *ends, arc.radius_px * turn, std, text_at, (found[0],))


def _is_measured(arc: Arc, opening: Opening, mm_per_px: float) -> bool:
    if arc.role is not Role.VISIBLE or math.dist(arc.centre, opening.centre) * mm_per_px > SAME_CENTRE_MM:
        return False
    if abs(arc.radius_px - opening.radius_px) * mm_per_px < SAME_CENTRE_MM:
        return False  # the dimension line itself
    bearings = [bearing_deg(tip, opening.centre) for tip in (opening.first, opening.second)]
    ends = [arc.start_deg, arc.start_deg + arc.sweep_deg]
    return any(
        all(abs(fold_deg(end - bearing, 360.0)) < SAME_ANGLE_DEG for end, bearing in zip(ends, ordered, strict=True))
        for ordered in (bearings, bearings[::-1])
    )


def _end(arc: Arc, towards_deg: float) -> Point:
    x, y = unit(towards_deg)
    return arc.centre[0] + arc.radius_px * x, arc.centre[1] + arc.radius_px * y
