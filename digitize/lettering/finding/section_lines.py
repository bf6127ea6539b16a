"""Section lines that stop at a figure: some are no longer than a letter, but they run with the lines beside them."""

from collections.abc import Sequence

import numpy as np
import shapely
from scipy.spatial import cKDTree

from calibrate.sheet import FloatArray, LevelSheet
from digitize.lettering.finding.dashes import is_thin_bar
from digitize.lettering.finding.line_ahead import bar_axes
from digitize.lettering.finding.parts import Look, Part

OBLIQUE_DEG = 25.0
"""Section lines lean more than this against the sheet's edges."""
LINE_HEIGHTS = 2.0
"""What is longer is a section line and no letter, in figure heights."""
SAME_WAY_DEG, NEAR_HEIGHTS, FEWEST = 6.0, 2.5, 2
"""So many other section lines run the same way to this, no further off, in figure heights; a fraction's slanting bar
has none."""

HATCH_SPACING_MM = 4.5
HATCH_PARALLEL_DEG = 6.0
HATCH_OBLIQUE_DEG = 22.0
SURE_OBLIQUE_DEG = 30.0
HATCH_MM = 4.0
"""Short bars at the slope of lettering may be ones and inch marks; hatching lies at 30, 45 or 60 degrees mostly."""
HATCH_NEIGHBOURS = 2


def section_lines(sheet: LevelSheet, parts: Sequence[Part], height_px: float) -> set[int]:
    """Labels of the bars that are section lines, or ends of them.

    Parameters
    ----------
    sheet : LevelSheet
    parts : sequence of Part
    height_px : float
        The sheet's usual figure height.
    """
    flanked = _hatch_labels(sheet, [part for part in parts if is_thin_bar(sheet, part)])
    oblique = [part for part in parts if part.look is Look.BAR and _leans(part)]
    lines = [part for part in oblique if part.length > LINE_HEIGHTS * height_px]
    if len(lines) < FEWEST:
        return flanked
    ways, own = np.array([part.axis_deg for part in lines]), np.array([part.label for part in lines])
    paths = shapely.linestrings([_ends(part) for part in lines])

    def beside(part: Part) -> int:
        same_way = np.abs((ways - part.axis_deg + 90.0) % 180.0 - 90.0) < SAME_WAY_DEG
        near = shapely.dwithin(paths, shapely.Point(part.centre), NEAR_HEIGHTS * height_px)
        return int(np.count_nonzero(same_way & near & (own != part.label)))

    return flanked | {part.label for part in oblique if beside(part) >= FEWEST}


def _leans(part: Part) -> bool:
    return OBLIQUE_DEG < abs(part.axis_deg) < 90.0 - OBLIQUE_DEG


def _ends(part: Part) -> tuple[FloatArray, FloatArray]:
    """The two ends of a bar, from the corners of its hull, as (x, y)."""
    turn = np.radians(part.axis_deg)
    along = part.hull @ np.array([np.cos(turn), -np.sin(turn)])
    return part.hull[int(np.argmin(along))], part.hull[int(np.argmax(along))]


def _hatch_labels(sheet: LevelSheet, bars: Sequence[Part]) -> set[int]:
    oblique = [bar for bar in bars if _obliqueness_deg(bar) > HATCH_OBLIQUE_DEG]
    if len(oblique) < 3:
        return set()
    centres = np.array([bar.centre for bar in oblique])
    reach_px = 2 * sheet.px(HATCH_SPACING_MM) + max(bar.length for bar in oblique) / 2
    near = cKDTree(centres).query_ball_point(centres, reach_px)
    return {bar.label for index, bar in enumerate(oblique) if _has_flanks(sheet, oblique, index, near[index])}


def _obliqueness_deg(bar: Part) -> float:
    return min(abs(bar.axis_deg), abs(90.0 - abs(bar.axis_deg)))


def _has_flanks(sheet: LevelSheet, bars: Sequence[Part], index: int, near: Sequence[int]) -> bool:
    """Two or more parallel bars beside a bar, or one on each side, close by."""
    bar = bars[index]
    along, aside = bar_axes(bar, 1.0)
    beside = 0
    for other in (bars[item] for item in near if item != index):
        if abs((other.axis_deg - bar.axis_deg + 90.0) % 180.0 - 90.0) > HATCH_PARALLEL_DEG:
            continue
        offset = np.subtract(other.centre, bar.centre)
        if max(_obliqueness_deg(bar), _obliqueness_deg(other)) < SURE_OBLIQUE_DEG and other.length < sheet.px(HATCH_MM):
            continue
        overlaps = abs(offset @ along) < (bar.length + other.length) / 2
        beside += overlaps and sheet.pen_px < abs(offset @ aside) < 2 * sheet.px(HATCH_SPACING_MM)
    return beside >= HATCH_NEIGHBOURS
