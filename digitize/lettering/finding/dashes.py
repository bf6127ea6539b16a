"""Dashed lines and chain lines among the parts: pen work, not lettering.

A dash has another dash, or the end of a line, ahead of it and behind it along its own direction; a one, a minus or a
fraction bar has not. From a dash that is sure, its line is followed to both ends, through crossings, corners and
arrowheads, so that these come apart.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from calibrate.sheet import FloatArray, InkImage, LevelSheet
from digitize.lettering.finding.line_ahead import (
    SHORTEST_DASH_PENS,
    Ray,
    bar_axes,
    bar_end,
    inked_runs,
    ray_of,
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
LEAST_BARE, MOST_BESIDE = 0.7, 0.35
"""A dash begins between bare paper, by this share of its opening; along more than this of its length it has no ink
beside it: a fraction's bar into which its figures ran has."""
STICK_GAP_MM = 1.5
LARGEST_FIGURE_MM = 9.0
FRACTION_PARALLEL_DEG = 25.0


def dash_labels(sheet: LevelSheet, parts: Sequence[Part]) -> frozenset[int]:
    """Labels of the bars that are dashes, or the sticks of arrows."""
    fractions = _fraction_bars(sheet, parts)
    wedges = [part for part in parts if part.look is Look.WEDGE]
    bars = [part for part in parts if is_thin_bar(sheet, part) and part.label not in fractions]
    return frozenset(bar.label for bar in bars if _is_dash(sheet, bar) or _is_stick(sheet, bar, wedges))


def dashed_line_ink(sheet: LevelSheet, ink: InkImage, parts: Sequence[Part], labels: NDArray[np.int32]) -> InkImage:
    """Ink of dashed and chain lines, followed from the dashes that are sure, through all but the bars of fractions.

    Parameters
    ----------
    sheet : LevelSheet
    ink : ndarray, bool, shape (H, W)
        Ink without long lines.
    parts : sequence of Part
        Its parts.
    labels : ndarray, int32, shape (H, W)
        Which part each pixel is of.

    Returns
    -------
    ndarray, bool, shape (H, W)
    """
    found = np.zeros_like(ink)
    fractions = _fraction_bars(sheet, parts)
    for bar in parts:
        if is_thin_bar(sheet, bar) and bar.label not in fractions and _is_dash(sheet, bar):
            for sense in (1.0, -1.0):
                _follow(sheet, ink, bar, sense, found)
    for bar in parts:
        if bar.label in fractions:
            found[bar.window] &= labels[bar.window] != bar.label
    return found & ink


def is_thin_bar(sheet: LevelSheet, part: Part) -> bool:
    """Whether a bar is no thicker than a line: a one with its flag is."""
    return part.look is Look.BAR and part.thickness < THICKEST_DASH_PENS * sheet.pen_px + 2.0


def _fraction_bars(sheet: LevelSheet, parts: Sequence[Part]) -> set[int]:
    bars = [part for part in parts if part.look is Look.BAR]
    if not bars:
        return set()
    nearby = cKDTree(np.array([part.centre for part in parts]))
    near = nearby.query_ball_point(np.array([bar.centre for bar in bars]), sheet.px(LARGEST_FIGURE_MM))
    return {
        bar.label
        for bar, around in zip(bars, near, strict=True)
        if _is_fraction_bar(bar, [parts[item] for item in around])
    }


def _is_fraction_bar(bar: Part, near: Sequence[Part]) -> bool:
    """Whether something that is no parallel bar stands over a bar and under it, close by and within its length.

    In the gap of a dimension line the bar of a fraction looks like one more dash.
    """
    along, aside = bar_axes(bar, 1.0)
    sides = set()
    for part in near:
        parallel = abs((part.axis_deg - bar.axis_deg + 90.0) % 180.0 - 90.0) < FRACTION_PARALLEL_DEG
        if part is bar or part.look in (Look.WEDGE, Look.DOT) or (part.look is Look.BAR and parallel):
            continue
        reach = (part.hull - np.array(bar.centre)) @ aside
        extent = float(np.ptp(reach))
        gap = min(abs(float(reach.min())), abs(float(reach.max())))
        offset = abs(float(np.subtract(part.centre, bar.centre) @ along))
        is_figure = 0.4 * bar.length < extent < 2.5 * bar.length
        if is_figure and offset < 0.6 * bar.length and gap < 0.8 * extent and reach.min() * reach.max() > 0:
            sides.add(float(reach.mean()) > 0)
    return len(sides) == 2


def _is_dash(sheet: LevelSheet, bar: Part) -> bool:
    """Whether two dashes follow on a bar, one ahead and one behind or both on one side."""
    ahead = _pieces_ahead(sheet, bar, 1.0)
    return ahead >= 2 or ahead + _pieces_ahead(sheet, bar, -1.0) >= 2


def _pieces_ahead(sheet: LevelSheet, bar: Part, sense: float) -> int:
    """How many dashes follow along the bar's axis before a gap is too wide."""
    widest = _widest_gap(sheet, bar)
    return len(_pieces(sheet, ray_of(sheet, sheet.ink, bar, sense, sheet.px(LOOK_AHEAD_MM), widest), widest))


def _widest_gap(sheet: LevelSheet, bar: Part) -> float:
    """Paper between a bar and the next dash at most, in pixels."""
    return min(max(GAP_PER_LENGTH * bar.length, sheet.px(SURE_GAP_MM)), sheet.px(WIDEST_GAP_MM))


def _pieces(sheet: LevelSheet, ray: Ray, widest: float) -> list[tuple[int, int]]:
    """(first, past last) step of each dash ahead, up to a wide gap or to ink that is no line.

    A dash begins thin, between bare paper; further on it may be crossed.
    """
    opening = max(round(OPENING_PENS * sheet.pen_px), 2)
    pieces: list[tuple[int, int]] = []
    for start, stop in inked_runs(ray.inked):
        reached = pieces[-1][1] if pieces else 0
        if start - reached > widest or stop - start < SHORTEST_DASH_PENS * sheet.pen_px:
            break
        begin = ray.line[start : min(start + opening, stop)]
        if np.count_nonzero(begin) <= LEAST_BARE * len(begin):
            break
        pieces.append((start, stop))
    return pieces


def _follow(sheet: LevelSheet, ink: InkImage, bar: Part, sense: float, found: InkImage) -> None:
    """Mark in ``found`` the thin ink along a dash's axis, until a gap is too wide or the ink ahead is no line."""
    widest = _widest_gap(sheet, bar)
    ray = ray_of(sheet, ink, bar, sense, min(sheet.px(LONGEST_FOLLOWED_MM), float(max(ink.shape))), widest)
    half = math.ceil(max(bar.thickness, sheet.pen_px) / 2) + 1
    _, aside = bar_axes(bar, sense)
    pieces = [
        (start, stop)
        for start, stop in _pieces(sheet, ray, widest)
        if stop - start - np.count_nonzero(ray.line[start:stop]) <= MOST_BESIDE * (stop - start)
    ]
    if not pieces:
        return
    wanted = ~(_widened(~ray.left_bare, 2 * half) & _widened(~ray.right_bare, 2 * half))
    dashes = np.zeros_like(wanted)
    for start, stop in pieces:
        dashes[start:stop] = True
    thin = ray.points[wanted & dashes]
    _mark(found, (thin[:, None] + np.arange(-half, half + 1)[:, None] * aside).reshape(-1, 2))


def _widened(marked: InkImage, reach: int) -> InkImage:
    """Marks carried ``reach`` steps both ways: a slanting stroke leaves a line further on than it comes to it."""
    return np.asarray(np.convolve(marked, np.ones(2 * reach + 1), mode="same") > 0)


def _mark(found: InkImage, points: FloatArray) -> None:
    # Halves are rounded one way: to the even one, every other row of a line half a pixel off would be left standing.
    columns, rows = np.floor(points + 0.5).astype(int).T
    inside = (columns >= 0) & (rows >= 0) & (columns < found.shape[1]) & (rows < found.shape[0])
    found[rows[inside], columns[inside]] = True


def _is_stick(sheet: LevelSheet, bar: Part, wedges: Sequence[Part]) -> bool:
    """Whether an arrowhead lies straight ahead of a bar, close by."""
    for sense in (1.0, -1.0):
        along, aside = bar_axes(bar, sense)
        end = bar_end(bar, along, aside)
        for wedge in wedges:
            offset = np.subtract(wedge.centre, end)
            near = 0 < offset @ along < sheet.px(STICK_GAP_MM) + wedge.length
            if near and abs(offset @ aside) < max(bar.thickness, sheet.pen_px):
                return True
    return False
