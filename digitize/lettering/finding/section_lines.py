"""Section lines: oblique bars that run with the lines beside them.

Some stop at a figure and are no longer than a letter. Three ones in a row have parallel neighbours too, but stand
upright; a fraction's slanting bar has none.
"""

from collections.abc import Sequence

import numpy as np
import shapely

from calibrate.sheet import FloatArray, LevelSheet
from digitize.lettering.finding.dashes import is_thin_bar
from digitize.lettering.finding.line_ahead import bar_way
from digitize.lettering.finding.parts import Look, Part

OBLIQUE_DEG, SURE_OBLIQUE_DEG = 22.0, 30.0
"""Section lines lean more than this against the sheet's edges, mostly at 30, 45 or 60 degrees; sloping ones and inch
marks lean less than that."""
LINE_HEIGHTS = 2.0
"""What is longer is a section line and no letter, however broad, in figure heights."""
LETTER_HEIGHTS, MARK_HEIGHTS = 1.25, 0.65
"""What is shorter and leans little may be a letter beside another, and what is shorter still an inch mark beside the
slanting bar of its fraction, in figure heights."""
SAME_WAY_DEG, NEAR_HEIGHTS, FEWEST = 6.0, 2.5, 2
"""So many other lines run the same way to this, no further off, in figure heights."""


def section_lines(sheet: LevelSheet, parts: Sequence[Part], height_px: float) -> set[int]:
    """Labels of the bars that are section lines, or ends of them.

    Parameters
    ----------
    sheet : LevelSheet
    parts : sequence of Part
    height_px : float
        The sheet's usual figure height.
    """
    oblique = [part for part in parts if part.look is Look.BAR and _lean_deg(part) > OBLIQUE_DEG]
    thin = {bar.label for bar in oblique if is_thin_bar(sheet, bar)}
    lines = [bar for bar in oblique if bar.label in thin or bar.length > LINE_HEIGHTS * height_px]
    if len(lines) < FEWEST:
        return set()
    ways, own = np.array([line.axis_deg for line in lines]), np.array([line.label for line in lines])
    leans, lengths = np.array([(_lean_deg(line), line.length / height_px) for line in lines]).T
    centres, paths = np.array([line.centre for line in lines]), shapely.linestrings([_ends(line) for line in lines])

    def beside(bar: Part) -> int:
        same_way = np.abs((ways - bar.axis_deg + 90.0) % 180.0 - 90.0) < SAME_WAY_DEG
        near = shapely.dwithin(paths, shapely.Point(bar.centre), NEAR_HEIGHTS * height_px)
        (x, y), off = bar_way(bar, 1.0), centres - bar.centre
        aside = np.abs(off[:, 1] * x - off[:, 0] * y) > sheet.pen_px
        if bar.label in thin:
            steep = np.maximum(leans, _lean_deg(bar)) > SURE_OBLIQUE_DEG
            is_line = lengths > np.where(steep, MARK_HEIGHTS, LETTER_HEIGHTS)
        else:
            is_line = lengths > LINE_HEIGHTS  # a broad bar may be a seven, and inch marks run its way
        return int(np.count_nonzero(same_way & near & aside & is_line & (own != bar.label)))

    return {bar.label for bar in oblique if beside(bar) >= FEWEST}


def _lean_deg(part: Part) -> float:
    return min(abs(part.axis_deg), 90.0 - abs(part.axis_deg))


def _ends(part: Part) -> tuple[FloatArray, FloatArray]:
    """The two ends of a bar, from the corners of its hull, as (x, y)."""
    turn = np.radians(part.axis_deg)
    along = part.hull @ np.array([np.cos(turn), -np.sin(turn)])
    return part.hull[int(np.argmin(along))], part.hull[int(np.argmax(along))]
