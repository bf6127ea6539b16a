"""Bars that belong to dashed lines, chain lines and hatching, and so are no lettering.

A dash has another dash, or the end of a line, ahead of it and behind it along its own direction; a one, a minus or a
fraction bar has not. A hatch line has parallel neighbours on both sides; three ones in a row have too, but stand
upright.
"""

import math
from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from calibrate.sheet import InkImage, LevelSheet
from digitize.lettering.parts import Look, Part

LOOK_AHEAD_MM = 9.0
WIDEST_GAP_MM = 3.0
GAP_PER_LENGTH = 0.75
SURE_GAP_MM = 1.7
"""ISO 128: gaps of three line widths; older hands leave up to two millimetres."""
SHORTEST_DASH_PENS = 2.0
FLANK_PENS = 1.3
"""Beside a dash, at this distance from its middle, the paper is bare."""
HATCH_SPACING_MM = 4.5
HATCH_PARALLEL_DEG = 6.0
HATCH_OBLIQUE_DEG = 18.0


def dash_labels(sheet: LevelSheet, parts: Sequence[Part]) -> frozenset[int]:
    """Labels of the bars and dots that are dashes or hatch lines."""
    bars = [part for part in parts if part.look in (Look.BAR, Look.DOT)]
    dashes = {part.label for part in bars if part.look is Look.BAR and _is_dash(sheet, part)}
    return frozenset(dashes | _hatch_labels(sheet, bars))


def _is_dash(sheet: LevelSheet, bar: Part) -> bool:
    ahead = _pieces_ahead(sheet, bar, 1.0)
    behind = _pieces_ahead(sheet, bar, -1.0)
    return (ahead >= 1 and behind >= 1) or ahead >= 2 or behind >= 2


def _pieces_ahead(sheet: LevelSheet, bar: Part, sense: float) -> int:
    """How many dashes follow along the bar's axis before a gap is too wide."""
    turn = math.radians(bar.axis_deg)
    along = np.array([math.cos(turn), -math.sin(turn)]) * sense
    aside = np.array([-along[1], along[0]])
    middle = np.array(bar.hull.mean(axis=0))
    reach = (bar.hull - middle) @ along
    lateral = (bar.hull - middle) @ aside
    start = middle + along * reach.max() + aside * (lateral.max() + lateral.min()) / 2
    steps = np.arange(1.0, sheet.px(LOOK_AHEAD_MM))
    on_axis = _sample(sheet.ink, start + steps[:, None] * along)
    flank_px = FLANK_PENS * max(sheet.pen_px, bar.thickness)
    bare = ~_sample(sheet.ink, start + steps[:, None] * along + aside * flank_px)
    bare &= ~_sample(sheet.ink, start + steps[:, None] * along - aside * flank_px)
    widest_px = min(max(GAP_PER_LENGTH * bar.length, sheet.px(SURE_GAP_MM)), sheet.px(WIDEST_GAP_MM))
    return _count_runs(on_axis & bare, on_axis, widest_px, SHORTEST_DASH_PENS * sheet.pen_px)


def _count_runs(dash: InkImage, ink: InkImage, widest_gap: float, shortest: float) -> int:
    """Count the runs of ``dash`` (ndarray, bool, shape (N,)) that follow each other without a wide gap."""
    count, gap, run = 0, 0, 0
    for is_dash, is_ink in zip(dash.tolist(), ink.tolist(), strict=True):
        if is_dash:
            run += 1
            gap = 0
            continue
        if run >= shortest:
            count += 1
        elif is_ink and run == 0:
            return count
        run = 0
        gap += 1
        if gap > widest_gap:
            return count
    return count + int(run >= shortest)


def _sample(ink: InkImage, points: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> InkImage:
    columns = np.clip(np.rint(points[:, 0]).astype(int), 0, ink.shape[1] - 1)
    rows = np.clip(np.rint(points[:, 1]).astype(int), 0, ink.shape[0] - 1)
    return np.asarray(ink[rows, columns])


def _hatch_labels(sheet: LevelSheet, bars: Sequence[Part]) -> set[int]:
    oblique = [bar for bar in bars if bar.look is Look.BAR and _obliqueness_deg(bar) > HATCH_OBLIQUE_DEG]
    if len(oblique) < 3:
        return set()
    centres = np.array([bar.centre for bar in oblique])
    reach_px = sheet.px(HATCH_SPACING_MM) + max(bar.length for bar in oblique) / 2
    near = cKDTree(centres).query_ball_point(centres, reach_px)
    return {bar.label for index, bar in enumerate(oblique) if _has_flanks(sheet, oblique, index, near[index])}


def _obliqueness_deg(bar: Part) -> float:
    return min(abs(bar.axis_deg), abs(90.0 - abs(bar.axis_deg)))


def _has_flanks(sheet: LevelSheet, bars: Sequence[Part], index: int, near: Sequence[int]) -> bool:
    """Parallel bars on both sides of a bar, close by and beside it."""
    bar = bars[index]
    turn = math.radians(bar.axis_deg)
    along = np.array([math.cos(turn), -math.sin(turn)])
    aside = np.array([-along[1], along[0]])
    sides = set()
    for other in (bars[item] for item in near if item != index):
        if abs((other.axis_deg - bar.axis_deg + 90.0) % 180.0 - 90.0) > HATCH_PARALLEL_DEG:
            continue
        offset = np.subtract(other.centre, bar.centre)
        beside = abs(offset @ along) < (bar.length + other.length) / 2
        if beside and 0 < abs(offset @ aside) < sheet.px(HATCH_SPACING_MM):
            sides.add(offset @ aside > 0)
    return len(sides) == 2
