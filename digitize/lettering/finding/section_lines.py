"""Section lines that stop at a figure: some are no longer than a letter, but they run with the lines beside them."""

from collections.abc import Sequence

import numpy as np
import shapely

from calibrate.sheet import FloatArray
from digitize.lettering.finding.parts import Look, Part

OBLIQUE_DEG = 25.0
"""Section lines lean more than this against the sheet's edges."""
LINE_HEIGHTS = 2.0
"""What is longer is a section line and no letter, in figure heights."""
SAME_WAY_DEG, NEAR_HEIGHTS, FEWEST = 6.0, 2.5, 2
"""So many other section lines run the same way to this, no further off, in figure heights; a fraction's slanting bar
has none."""


def section_lines(parts: Sequence[Part], height_px: float) -> set[int]:
    """Labels of the bars that are section lines, or ends of them.

    Parameters
    ----------
    parts : sequence of Part
    height_px : float
        The sheet's usual figure height.
    """
    oblique = [part for part in parts if part.look is Look.BAR and _leans(part)]
    lines = [part for part in oblique if part.length > LINE_HEIGHTS * height_px]
    if len(lines) < FEWEST:
        return set()
    ways, own = np.array([part.axis_deg for part in lines]), np.array([part.label for part in lines])
    paths = shapely.linestrings([_ends(part) for part in lines])

    def beside(part: Part) -> int:
        same_way = np.abs((ways - part.axis_deg + 90.0) % 180.0 - 90.0) < SAME_WAY_DEG
        near = shapely.dwithin(paths, shapely.Point(part.centre), NEAR_HEIGHTS * height_px)
        return int(np.count_nonzero(same_way & near & (own != part.label)))

    return {part.label for part in oblique if beside(part) >= FEWEST}


def _leans(part: Part) -> bool:
    return OBLIQUE_DEG < abs(part.axis_deg) < 90.0 - OBLIQUE_DEG


def _ends(part: Part) -> tuple[FloatArray, FloatArray]:
    """The two ends of a bar, from the corners of its hull, as (x, y)."""
    turn = np.radians(part.axis_deg)
    along = part.hull @ np.array([np.cos(turn), -np.sin(turn)])
    return part.hull[int(np.argmin(along))], part.hull[int(np.argmax(along))]
