"""Dashed lines and chain lines among the parts: pen work, not lettering.

A dash has another dash, or the end of a line, ahead of it and behind it along its own direction; a one, a minus or a
fraction bar has not. From a dash that is sure, its line is followed to both ends, through crossings, corners and
arrowheads, so that these come apart.
"""

import math
from collections.abc import Sequence

import numpy as np
from scipy.spatial import cKDTree

from calibrate.restoring.connected import Pieces, without
from calibrate.sheet import InkImage, LevelSheet
from digitize.lettering.finding.line_ahead import (
    FLANK_PENS,
    SHORTEST_DASH_PENS,
    Point,
    bar_end,
    bar_way,
    mark_pieces,
    pieces_ahead,
)
from digitize.lettering.finding.parts import Look, Part

LOOK_AHEAD_MM = 9.0
WIDEST_GAP_MM = 3.0
GAP_PER_LENGTH = 0.75
SURE_GAP_MM = 1.7
"""ISO 128: gaps of three line widths; older hands leave up to two millimetres."""
THICKEST_DASH_PENS = 2.4
OPENING_PENS = 2.0
LONGEST_FOLLOWED_MM = 400.0
STICK_GAP_MM = 1.5
LARGEST_FIGURE_MM = 9.0
FRACTION_PARALLEL_DEG = 25.0


def dash_labels(sheet: LevelSheet, parts: Sequence[Part]) -> frozenset[int]:
    """Labels of the bars that are dashes, or the sticks of arrows."""
    wedges = [part for part in parts if part.look is Look.WEDGE]
    bars = [part for part in parts if is_thin_bar(sheet, part)]
    drawn = [bar for bar in bars if _is_dash(sheet, bar) or _is_stick(sheet, bar, wedges)]
    return frozenset(bar.label for bar in drawn) - _fraction_bars(sheet, parts, drawn)


def without_dashed_lines(sheet: LevelSheet, ink: InkImage, parts: Sequence[Part], pieces: Pieces) -> InkImage:
    """Ink but that of dashed and chain lines.

    They are followed from the dashes that are sure, through all but the bars of fractions.

    Parameters
    ----------
    sheet : LevelSheet
    ink : ndarray, bool, shape (H, W)
        Ink without long lines.
    parts : sequence of Part
        Its parts.
    pieces : Pieces
        Its pieces.

    Returns
    -------
    ndarray, bool, shape (H, W)
    """
    found = np.zeros(ink.shape, np.bool_)
    dashes = [part for part in parts if is_thin_bar(sheet, part) and _is_dash(sheet, part)]
    fractions = _fraction_bars(sheet, parts, dashes)
    for bar in dashes:
        if bar.label not in fractions:
            for sense in (1.0, -1.0):
                _follow(sheet, ink, bar, sense, found)
    met = [part for part in parts if part.look is Look.BAR and found[part.window].any()]
    fractions = _fraction_bars(sheet, parts, met)
    for bar in met:
        if bar.label in fractions:
            found[bar.window] &= ~pieces.picture(bar.label)
    return without(ink, pieces.runs, found)


def is_thin_bar(sheet: LevelSheet, part: Part) -> bool:
    """Whether a bar is no thicker than a line: a one with its flag is."""
    return part.look is Look.BAR and part.thickness < THICKEST_DASH_PENS * sheet.pen_px + 2.0


def _fraction_bars(sheet: LevelSheet, parts: Sequence[Part], bars: Sequence[Part]) -> frozenset[int]:
    """Labels of those of some bars that are bars of fractions."""
    if not bars:
        return frozenset()
    nearby = cKDTree(np.array([part.centre for part in parts]))
    near = nearby.query_ball_point(np.array([bar.centre for bar in bars]), sheet.px(LARGEST_FIGURE_MM))
    return frozenset(
        bar.label
        for bar, around in zip(bars, near, strict=True)
        if _is_fraction_bar(bar, [parts[item] for item in around])
    )


def _is_fraction_bar(bar: Part, near: Sequence[Part]) -> bool:
    """Whether something that is no parallel bar stands over a bar and under it, close by and within its length.

    In the gap of a dimension line the bar of a fraction looks like one more dash.
    """
    (ux, uy), (x, y) = bar_way(bar, 1.0), bar.centre
    sides = set()
    for part in near:
        offset = abs((part.centre[0] - x) * ux + (part.centre[1] - y) * uy)
        if part is bar or part.look in (Look.WEDGE, Look.DOT) or offset >= 0.6 * bar.length:
            continue
        parallel = abs((part.axis_deg - bar.axis_deg + 90.0) % 180.0 - 90.0) < FRACTION_PARALLEL_DEG
        if part.look is Look.BAR and parallel:
            continue
        reach = (part.hull[:, 1] - y) * ux - (part.hull[:, 0] - x) * uy
        first, last = float(reach.min()), float(reach.max())
        is_figure = 0.4 * bar.length < last - first < 2.5 * bar.length
        if is_figure and min(abs(first), abs(last)) < 0.8 * (last - first) and first * last > 0:
            sides.add(first > 0)
    return len(sides) == 2


def _is_dash(sheet: LevelSheet, bar: Part) -> bool:
    """Whether two dashes follow on a bar, one ahead and one behind or both on one side."""
    ahead = _pieces_ahead(sheet, bar, 1.0)
    return ahead >= 2 or ahead + _pieces_ahead(sheet, bar, -1.0) >= 2


def _pieces_ahead(sheet: LevelSheet, bar: Part, sense: float) -> int:
    """How many dashes follow along the bar's axis before a gap is too wide."""
    return len(pieces_ahead(sheet.ink, *_ahead(sheet, bar, sense), sheet.px(LOOK_AHEAD_MM), *_limits(sheet, bar)))


def _ahead(sheet: LevelSheet, bar: Part, sense: float) -> tuple[Point, Point, float]:
    """Where a bar ends, the way ahead, and how far beside it the paper is bare."""
    way = bar_way(bar, sense)
    return bar_end(bar.hull, way), way, FLANK_PENS * max(sheet.pen_px, bar.thickness)


def _limits(sheet: LevelSheet, bar: Part) -> tuple[float, float, int]:
    """Paper between a bar and the next dash at most, length of a dash at least, and of its opening, in pixels."""
    widest = min(max(GAP_PER_LENGTH * bar.length, sheet.px(SURE_GAP_MM)), sheet.px(WIDEST_GAP_MM))
    return widest, SHORTEST_DASH_PENS * sheet.pen_px, max(round(OPENING_PENS * sheet.pen_px), 2)


def _follow(sheet: LevelSheet, ink: InkImage, bar: Part, sense: float, found: InkImage) -> None:
    """Mark in ``found`` the thin ink along a dash's axis, until a gap is too wide or the ink ahead is no line."""
    ahead, reach = _ahead(sheet, bar, sense), min(sheet.px(LONGEST_FOLLOWED_MM), float(max(ink.shape)))
    pieces = pieces_ahead(ink, *ahead, reach, *_limits(sheet, bar))
    half = math.ceil(max(bar.thickness, sheet.pen_px) / 2) + 1
    mark_pieces(ink, *ahead, reach, pieces, half, found)


def _is_stick(sheet: LevelSheet, bar: Part, wedges: Sequence[Part]) -> bool:
    """Whether an arrowhead lies straight ahead of a bar, close by."""
    for sense in (1.0, -1.0):
        (x, y), (dx, dy), _ = _ahead(sheet, bar, sense)
        for wedge in wedges:
            u, v = wedge.centre
            along, aside = (u - x) * dx + (v - y) * dy, (v - y) * dx - (u - x) * dy
            near = 0 < along < sheet.px(STICK_GAP_MM) + wedge.length
            if near and abs(aside) < max(bar.thickness, sheet.pen_px):
                return True
    return False
