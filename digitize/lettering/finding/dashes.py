"""Dashed lines, chain lines and hatching among the parts: pen work, not lettering.

A dash has another dash, or the end of a line, ahead of it and behind it along its own direction; a one, a minus or a
fraction bar has not. From a dash that is sure, its line is followed to both ends, through crossings, corners and
arrowheads, so that these come apart. A hatch line has parallel neighbours on both sides; three ones in a row have too,
but stand upright.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from calibrate.sheet import FloatArray, InkImage, LevelSheet
from digitize.lettering.finding.parts import Look, Part

LOOK_AHEAD_MM = 9.0
WIDEST_GAP_MM = 3.0
GAP_PER_LENGTH = 0.75
SURE_GAP_MM = 1.7
"""ISO 128: gaps of three line widths; older hands leave up to two millimetres."""
THICKEST_DASH_PENS = 2.4
SHORTEST_DASH_PENS = 3.0
OPENING_PENS = 2.0
LONGEST_FOLLOWED_MM = 400.0
FLANK_PENS = 1.3
"""Beside a dash, at this distance from its middle, the paper is bare."""
MOST_BESIDE = 0.35
"""Along more of its length a dash has no ink beside it: a fraction's bar into which its figures ran has."""
HATCH_SPACING_MM = 4.5
HATCH_PARALLEL_DEG = 6.0
HATCH_OBLIQUE_DEG = 22.0
SURE_OBLIQUE_DEG = 30.0
HATCH_MM = 4.0
"""Short bars at the slope of lettering may be ones and inch marks; hatching lies at 30, 45 or 60 degrees mostly."""
HATCH_NEIGHBOURS = 2
STICK_GAP_MM = 1.5
LARGEST_FIGURE_MM = 9.0
FRACTION_PARALLEL_DEG = 25.0
PIECE_GAP_MM = 2.5


@dataclass(frozen=True)
class _Ray:
    """Pixels straight ahead of a bar: whether the axis is inked, and whether paper lies bare on either side of it."""

    points: FloatArray
    inked: InkImage
    left_bare: InkImage
    right_bare: InkImage


def dash_labels(sheet: LevelSheet, parts: Sequence[Part]) -> frozenset[int]:
    """Labels of the bars that are dashes, hatch lines, or the sticks of arrows."""
    bars = [part for part in parts if _is_thin_bar(sheet, part)]
    fractions = _fraction_bars(sheet, parts)
    dashes = _dashes(sheet, parts)
    wedges = [part for part in parts if part.look is Look.WEDGE]
    sticks = {part.label for part in bars if part.label not in fractions and _is_stick(sheet, part, wedges)}
    return frozenset(dashes | sticks | _hatch_labels(sheet, bars))


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
    sure = _dashes(sheet, parts)
    for bar in parts:
        if bar.label in sure:
            for sense in (1.0, -1.0):
                _follow(sheet, ink, bar, sense, found)
    bars = np.zeros(int(labels.max()) + 1, dtype=np.bool_)
    bars[list(_fraction_bars(sheet, parts))] = True
    return np.asarray(found & ink & ~bars[labels])


def _dashes(sheet: LevelSheet, parts: Sequence[Part]) -> set[int]:
    """Labels of bars that have a line ahead and behind and are no fraction bars."""
    fractions = _fraction_bars(sheet, parts)
    bars = [part for part in parts if _is_thin_bar(sheet, part) and part.label not in fractions]
    return {part.label for part in bars if _is_dash(sheet, part)}


def _is_thin_bar(sheet: LevelSheet, part: Part) -> bool:
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
    along, aside = _axes(bar, 1.0)
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
    ahead = _pieces_ahead(sheet, bar, 1.0)
    behind = _pieces_ahead(sheet, bar, -1.0)
    return (ahead >= 1 and behind >= 1) or ahead >= 2 or behind >= 2


def _pieces_ahead(sheet: LevelSheet, bar: Part, sense: float) -> int:
    """How many dashes follow along the bar's axis before a gap is too wide."""
    return len(_pieces(sheet, bar, _ray(sheet, sheet.ink, bar, sense, sheet.px(LOOK_AHEAD_MM))))


def _pieces(sheet: LevelSheet, bar: Part, ray: _Ray) -> list[tuple[int, int]]:
    """(first, past last) step of each dash ahead, up to a wide gap or to ink that is no line.

    A dash begins thin, between bare paper; further on it may be crossed.
    """
    widest = min(max(GAP_PER_LENGTH * bar.length, sheet.px(SURE_GAP_MM)), sheet.px(WIDEST_GAP_MM))
    opening = max(round(OPENING_PENS * sheet.pen_px), 2)
    line = ray.left_bare & ray.right_bare
    pieces: list[tuple[int, int]] = []
    for start, stop in _runs(ray.inked):
        reached = pieces[-1][1] if pieces else 0
        thin = float(line[start : min(start + opening, stop)].mean()) > 0.7
        if start - reached > widest or not thin or stop - start < SHORTEST_DASH_PENS * sheet.pen_px:
            break
        pieces.append((start, stop))
    return pieces


def _ray(sheet: LevelSheet, ink: InkImage, bar: Part, sense: float, reach_px: float) -> _Ray:
    along, aside = _axes(bar, sense)
    start = _end(bar, along, aside)
    points = start + np.arange(1.0, reach_px)[:, None] * along
    flank_px = FLANK_PENS * max(sheet.pen_px, bar.thickness)
    return _Ray(
        points,
        _sample(ink, points),
        np.asarray(~_sample(ink, points + aside * flank_px)),
        np.asarray(~_sample(ink, points - aside * flank_px)),
    )


def _axes(bar: Part, sense: float) -> tuple[FloatArray, FloatArray]:
    turn = math.radians(bar.axis_deg)
    along = np.array([math.cos(turn), -math.sin(turn)]) * sense
    return along, np.array([-along[1], along[0]])


def _end(bar: Part, along: FloatArray, aside: FloatArray) -> FloatArray:
    middle = np.asarray(bar.hull.mean(axis=0), dtype=np.float64)
    reach = (bar.hull - middle) @ along
    lateral = (bar.hull - middle) @ aside
    return np.asarray(middle + along * reach.max() + aside * (lateral.max() + lateral.min()) / 2, dtype=np.float64)


def _follow(sheet: LevelSheet, ink: InkImage, bar: Part, sense: float, found: InkImage) -> None:
    """Mark in ``found`` the thin ink along a dash's axis, until a gap is too wide or the ink ahead is no line."""
    ray = _ray(sheet, ink, bar, sense, min(sheet.px(LONGEST_FOLLOWED_MM), float(max(ink.shape))))
    half = math.ceil(max(bar.thickness, sheet.pen_px) / 2) + 1
    _, aside = _axes(bar, sense)
    line = ray.left_bare & ray.right_bare
    for start, stop in _pieces(sheet, bar, ray):
        if (~line[start:stop]).mean() > MOST_BESIDE:
            continue
        crossed = _widened(~ray.left_bare, 2 * half) & _widened(~ray.right_bare, 2 * half)
        thin = ray.points[start:stop][~crossed[start:stop]]
        for offset in range(-half, half + 1):
            _mark(found, thin + offset * aside)


def _widened(marked: InkImage, reach: int) -> InkImage:
    """Marks carried ``reach`` steps both ways: a slanting stroke leaves a line further on than it comes to it."""
    return np.asarray(np.convolve(marked, np.ones(2 * reach + 1), mode="same") > 0)


def _runs(inked: InkImage) -> list[tuple[int, int]]:
    """(first, past last) of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inked, [False]]).astype(np.int8)))
    return [(int(start), int(stop)) for start, stop in zip(edges[::2], edges[1::2], strict=True)]


def _mark(found: InkImage, points: FloatArray) -> None:
    # Halves are rounded one way: to the even one, every other row of a line half a pixel off would be left standing.
    columns, rows = np.floor(points + 0.5).astype(int).T
    inside = (columns >= 0) & (rows >= 0) & (columns < found.shape[1]) & (rows < found.shape[0])
    found[rows[inside], columns[inside]] = True


def _sample(ink: InkImage, points: FloatArray) -> InkImage:
    """Ink under points; outside the sheet is paper."""
    columns = np.rint(points[:, 0]).astype(int)
    rows = np.rint(points[:, 1]).astype(int)
    inside = (columns >= 0) & (rows >= 0) & (columns < ink.shape[1]) & (rows < ink.shape[0])
    out = np.zeros(len(points), dtype=np.bool_)
    out[inside] = ink[rows[inside], columns[inside]]
    return out


def is_line_piece(sheet: LevelSheet, part: Part) -> bool:
    """Whether some stroke that ends at a part's edge goes on straight ahead as a line, after a gap."""
    left, top, right, bottom = (round(edge) for edge in part.box)
    reach = round(sheet.px(PIECE_GAP_MM) + 2 * SHORTEST_DASH_PENS * sheet.pen_px)
    narrow = 1.8 * sheet.pen_px
    for step, edge, along_x in ((-1, left, True), (1, right, True), (-1, top, False), (1, bottom, False)):
        low, high = (top, bottom) if along_x else (left, right)
        across = np.arange(low, high + 1, dtype=np.float64)
        rim = _sample(sheet.ink, _grid(np.full(len(across), float(edge)), across, along_x))
        for start, stop in _runs(rim):
            if stop - start > narrow:
                continue
            level = low + (start + stop - 1) / 2
            steps = edge + step * np.arange(1, reach)
            if _goes_on(sheet, steps.astype(float), level, along_x):
                return True
    return False


def _grid(along: FloatArray, across: FloatArray, along_x: bool) -> FloatArray:
    pair = (along, across) if along_x else (across, along)
    return np.column_stack(pair).astype(np.float64)


def _goes_on(sheet: LevelSheet, steps: FloatArray, level: float, along_x: bool) -> bool:
    flank = FLANK_PENS * sheet.pen_px
    inked = _sample(sheet.ink, _grid(steps, np.full(len(steps), level), along_x))
    bare = ~_sample(sheet.ink, _grid(steps, np.full(len(steps), level - flank), along_x))
    bare &= ~_sample(sheet.ink, _grid(steps, np.full(len(steps), level + flank), along_x))
    runs = [stop - start for start, stop in _runs(np.asarray(inked & bare))]
    return max(runs, default=0) >= SHORTEST_DASH_PENS * sheet.pen_px


def _is_stick(sheet: LevelSheet, bar: Part, wedges: Sequence[Part]) -> bool:
    """Whether an arrowhead lies straight ahead of a bar, close by."""
    for sense in (1.0, -1.0):
        along, aside = _axes(bar, sense)
        end = _end(bar, along, aside)
        for wedge in wedges:
            offset = np.subtract(wedge.centre, end)
            near = 0 < offset @ along < sheet.px(STICK_GAP_MM) + wedge.length
            if near and abs(offset @ aside) < max(bar.thickness, sheet.pen_px):
                return True
    return False


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
    along, aside = _axes(bar, 1.0)
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
