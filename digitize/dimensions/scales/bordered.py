"""The drawn frame as a measure of the paper where no resolution is known: a standard sheet's, with the scale note.

The paper's own millimetres are then known for a few sizes that the frame's proportions allow. Which of them it is the
dimensions say, so that together they are less of a witness than a note over a trusted resolution.
"""

import math
from collections.abc import Sequence

from calibrate.scaling.borders import LARGEST_DEVIATION, standard_borders
from digitize.dimensions.linking.directions import fold_deg, line_angle_deg
from digitize.strokes.primitives import Line, Role, Strokes

ONE_WAY_DEG = 1.0
"""Sides of a frame lie level or upright to this."""
SIDE_SHARE = 0.6
"""A side of the frame is drawn over so much of the longest line that lies its way."""


def bordered_notes(strokes: Strokes, part_per_paper: float, mm_per_px: float) -> tuple[float, ...]:
    """What a scale note says of the millimetres that are taken for the paper's, for each standard frame it may be.

    Parameters
    ----------
    strokes : Strokes
    part_per_paper : float
        Part mm per true mm of paper, by the scale note.
    mm_per_px : float
        Millimetres taken for the paper's, per level pixel.

    Returns
    -------
    tuple of float
        Part mm per mm so taken; none where no frame is drawn, or its proportions are no standard sheet's.
    """
    width_px, height_px = (_apart_px(strokes.lines, axis) for axis in (0, 1))
    if not width_px or not height_px:
        return ()
    sides = ((border.width_mm / width_px, border.height_mm / height_px) for border in standard_borders())
    fitting = {math.sqrt(x * y) for x, y in sides if abs(x / y - 1) < LARGEST_DEVIATION}
    return tuple(part_per_paper * true / mm_per_px for true in sorted(fitting))


def _apart_px(lines: Sequence[Line], axis: int) -> float:
    """How far the outermost sides of the frame stand apart along x (0) or y (1); 0 where there are none."""
    square_deg = 90.0 * (1 - axis)
    sides = [
        line
        for line in lines
        if line.role is Role.BORDER and abs(fold_deg(line_angle_deg(line) - square_deg)) < ONE_WAY_DEG
    ]
    longest = max((math.dist(line.start, line.end) for line in sides), default=0.0)
    whole = [line for line in sides if math.dist(line.start, line.end) >= SIDE_SHARE * longest]
    places = [(line.start[axis] + line.end[axis]) / 2 for line in whole]
    return max(places, default=0.0) - min(places, default=0.0)
