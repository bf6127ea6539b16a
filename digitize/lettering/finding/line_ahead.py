"""What lies straight ahead of a bar, and of the strokes that end at a part's edge."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from calibrate.sheet import FloatArray, InkImage, LevelSheet
from digitize.lettering.finding.parts import Part

FLANK_PENS = 1.3
"""Beside a line, at this distance from its middle, the paper is bare."""
SHORTEST_DASH_PENS = 3.0
PIECE_GAP_MM = 2.5
PIECE_BROADEST_PENS = 1.8
"""What is broader where it ends at a part's edge is more than one stroke."""


@dataclass(frozen=True)
class Ray:
    """Pixels straight ahead of a bar.

    ``points`` (ndarray, shape (N, 2)) are their (x, y), ``flank`` is the step aside to where paper lies bare beside a
    line, ``inked`` tells which of them are inked.
    """

    ink: InkImage
    points: FloatArray
    flank: FloatArray
    inked: InkImage

    @cached_property
    def left_bare(self) -> InkImage:
        """Where paper lies bare on one side."""
        return np.asarray(~inked_at(self.ink, self.points + self.flank))

    @cached_property
    def right_bare(self) -> InkImage:
        """Where paper lies bare on the other side."""
        return np.asarray(~inked_at(self.ink, self.points - self.flank))

    @cached_property
    def line(self) -> InkImage:
        """Where paper lies bare on both sides."""
        return np.asarray(self.left_bare & self.right_bare)


def ray_of(sheet: LevelSheet, ink: InkImage, bar: Part, sense: float, reach_px: float, widest_px: float) -> Ray:
    """Look so far ahead of a bar, or behind it where ``sense`` is -1, no further than ink without wider gaps leads."""
    along, aside = bar_axes(bar, sense)
    points = bar_end(bar, along, aside) + np.arange(1.0, reach_px)[:, None] * along
    inked = inked_at(ink, points)
    places = np.concatenate([[-1], np.flatnonzero(inked), [len(points)]])
    gaps = np.flatnonzero(np.diff(places) > widest_px + 1)
    last = int(places[gaps[0]]) + 1 + math.ceil(widest_px) if len(gaps) else len(points)
    return Ray(ink, points[:last], aside * FLANK_PENS * max(sheet.pen_px, bar.thickness), inked[:last])


def bar_axes(bar: Part, sense: float) -> tuple[FloatArray, FloatArray]:
    """Unit vectors along a bar, ahead or behind, and to one side."""
    turn = math.radians(bar.axis_deg)
    along = np.array([math.cos(turn), -math.sin(turn)]) * sense
    return along, np.array([-along[1], along[0]])


def bar_end(bar: Part, along: FloatArray, aside: FloatArray) -> FloatArray:
    """The middle of a bar's end (x, y)."""
    middle = np.asarray(bar.hull.mean(axis=0), dtype=np.float64)
    reach = (bar.hull - middle) @ along
    lateral = (bar.hull - middle) @ aside
    return np.asarray(middle + along * reach.max() + aside * (lateral.max() + lateral.min()) / 2, dtype=np.float64)


def inked_runs(inked: InkImage) -> list[tuple[int, int]]:
    """(first, past last) of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inked, [False]]).astype(np.int8)))
    return [(int(start), int(stop)) for start, stop in zip(edges[::2], edges[1::2], strict=True)]


def inked_at(ink: InkImage, points: FloatArray) -> InkImage:
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
    narrow = PIECE_BROADEST_PENS * sheet.pen_px
    for step, edge, along_x in ((-1, left, True), (1, right, True), (-1, top, False), (1, bottom, False)):
        low, high = (top, bottom) if along_x else (left, right)
        across = np.arange(low, high + 1, dtype=np.float64)
        rim = inked_at(sheet.ink, _grid(np.full(len(across), float(edge)), across, along_x))
        for start, stop in inked_runs(rim):
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
    inked = inked_at(sheet.ink, _grid(steps, np.full(len(steps), level), along_x))
    bare = ~inked_at(sheet.ink, _grid(steps, np.full(len(steps), level - flank), along_x))
    bare &= ~inked_at(sheet.ink, _grid(steps, np.full(len(steps), level + flank), along_x))
    runs = [stop - start for start, stop in inked_runs(np.asarray(inked & bare))]
    return max(runs, default=0) >= SHORTEST_DASH_PENS * sheet.pen_px
