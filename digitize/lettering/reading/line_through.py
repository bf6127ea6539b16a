"""Figures that were struck out: an office that changed a size crossed the old one out and wrote the new one beside it.

(ASME Y14.35 names crossing out as one way to revise a drawing; from memory.) The print then still shows the old
length, which the old figure fits: nothing but the line through it tells that it no longer holds. Such a line hangs
together with the figure's own strokes and is no stroke of the drawing, so it is looked for where the figure is read: it
runs straight, or nearly so, from the first sign to the last, crosses at least two strokes, and runs free in a gap
between them. A dimension line that nobody broke for its figure does the same, and goes on; neither figure is to be
relied on.
"""

import re
from collections.abc import Sequence

import cv2
import numpy as np
from numba import njit
from numpy.typing import NDArray

from calibrate.sheet import FloatArray, InkImage, LevelSheet
from digitize.lettering.crops import INK_BELOW, cut
from digitize.lettering.reading.stroke_ends import beyond
from digitize.lettering.text import LineThrough, Text

LEAST_HEIGHT_PX = 14.0
"""In smaller figures the gap between two strokes is no wider than a pen."""
MARGIN = 0.6
"""Paper looked at round a figure, in figure heights."""
INSET = 0.15
"""Such a line reaches to this from either end of the figure, in figure heights: what it strikes it covers ..."""
LEAST_SHARE = 0.8
"""... or at least so much of what the finder took for the figure, which may hold more. (Slanted hands have many shorter
lines of their own.) ..."""
LEAST_CROSSED, LEAST_CROSSED_IN_PART = 2, 3
"""... and then crosses more strokes. Of a lone fraction one is enough for a doubt, of a single sign none."""
BOW = 0.05
"""It leaves the straight by no more, in figure heights: it is drawn by hand."""
COVER = 0.97
"""Share of its length on ink: a gap between two signs is longer than what is missing."""
BODY = 0.15
"""Its middle lies within the figure, so far from the upper and lower edge, in figure heights: no rule of a table."""
STEEPEST = 1.2
"""Rise over run: what is steeper is a stroke of a sign, or crosses the figure from above."""
LEVEL_BAR, OBLIQUE_BAR = 0.25, 0.35
"""A lone fraction's own bar lies level to the first, or to what a line rises within a thick short one; or rises more
than the second, as the diameter sign's does."""
LEAST_BEYOND = 0.05, 0.1
"""A pen that strikes a figure out begins before it and ends behind it, by so much of its height at either end and at
the freer one (of 293 such lines drawn through figures 6 in 100 did by less): a line that does not is doubted only."""
SHORTEST = 0.8
"""Such a line is longer than a sign is wide, in figure heights."""
BESIDE = 0.15, 0.2, 0.25, 0.3
"""A stroke that it crosses goes on to these on both sides of it, in figure heights ..."""
ASIDE, LEANS = 0.08, 3
"""... and leans no more than this; for a doubt, no more than this from one to the next, and three times as much in all.
Hands that slant have lines of their own that others would seem to lean across."""
FREE = 0.15, 0.2, 0.25
"""Between two strokes it runs on paper: nothing lies so far to one side of it, in figure heights."""
LEVEL = 0.08
BEYOND = 0.5, 2.5
DASHED = 0.35
"""A line that lies level with the figure to the first (rise over run), and goes on at both ends, between the second's
distances from it (in figure heights), on so much ink, is its dimension line, whole or dashed."""
STEP = 0.05
"""Places are tried so far apart, in figure heights."""
DIAMETER_SIGN = "Ø"
LONE_FRACTION = re.compile(r"\D*\d+/\d+\D*")


def line_through(sheet: LevelSheet, text: Text) -> LineThrough:
    """The line, if any, that runs through a figure, from end to end.

    Parameters
    ----------
    sheet : LevelSheet
    text : Text
        As read; what holds no digit is not looked at.
    """
    read = text.readings[0].text if text.readings else ""
    height_px = text.block.height_px
    if height_px < LEAST_HEIGHT_PX or not any(sign.isdigit() for sign in read):
        return LineThrough.NONE
    ink = cut(sheet, text.block, MARGIN) < INK_BELOW
    edge_px = MARGIN * height_px
    rows, columns = (length - 2 * edge_px for length in ink.shape)
    across = np.arange(edge_px + INSET * height_px, edge_px + columns - INSET * height_px, max(1.0, STEP * height_px))
    if len(across) < 2 or rows <= 2 * BODY * height_px:
        return LineThrough.NONE
    within = edge_px + BODY * height_px, edge_px + rows - BODY * height_px
    lines, shares = _lines_along(ink, across, within, height_px)
    rise = (lines[:, 0] - lines[:, -1]) / (across[-1] - across[0])
    keep = np.ones(len(lines), np.bool_)
    if lone := LONE_FRACTION.fullmatch(read):
        within_bar = (sheet.pen_px + 2 * max(1, round(BOW * height_px))) / (LEAST_SHARE * (across[-1] - across[0]))
        keep &= np.abs(rise) > max(LEVEL_BAR, within_bar)
    if lone or DIAMETER_SIGN in read:
        keep &= rise < OBLIQUE_BAR
    signs = sum(not sign.isspace() for sign in read)
    sure = np.where(shares >= COVER, LEAST_CROSSED, LEAST_CROSSED_IN_PART)
    least = np.where(shares >= COVER, 1 if lone else min(LEAST_CROSSED, signs - 1), LEAST_CROSSED_IN_PART)
    likely = np.flatnonzero(keep)
    surely = [i for i in likely if _crossed(ink, across, lines[i], height_px, 1) >= sure[i]]
    striking = surely or [i for i in likely if _crossed(ink, across, lines[i], height_px, LEANS) >= least[i]]
    if not striking:
        return LineThrough.NONE
    wide = cut(sheet, text.block, BEYOND[1]) < INK_BELOW
    if text.block.group is None and any(_runs_on(wide, across, lines[i], height_px) for i in striking):
        return LineThrough.ALONG
    ends = (beyond(ink, across, lines[i], height_px) for i in surely)
    goes_beyond = any(least > LEAST_BEYOND[0] and most > LEAST_BEYOND[1] for least, most in ends)
    return LineThrough.OUT if goes_beyond else LineThrough.PERHAPS


def _runs_on(wide: InkImage, across: FloatArray, line: FloatArray, height_px: float) -> bool:
    """Does a level line go on before and behind the figure, as its dimension line does that nobody broke for it?"""
    rise = float(line[-1] - line[0]) / float(across[-1] - across[0])
    if abs(rise) > LEVEL:
        return False
    height, width = wide.shape
    reach = max(1, round(BOW * height_px))
    before = np.arange(0.0, (BEYOND[1] - BEYOND[0]) * height_px)
    shift = (BEYOND[1] - MARGIN) * height_px
    for columns in (before, width - 1 - before):
        rows = (line[0] + shift + rise * (columns - across[0] - shift)).round().astype(int)
        near = np.array([wide[(rows + k).clip(0, height - 1), columns.astype(int)] for k in range(-reach, reach + 1)])
        if near.any(axis=0).mean() < DASHED:
            return False
    return True


def _lines_along(
    ink: InkImage, across: FloatArray, within: tuple[float, float], height_px: float
) -> tuple[FloatArray, FloatArray]:
    """Rows, shape (N, S), at the columns looked at, of the lines that run along a figure on ink, and how much of it."""
    columns = across.round().astype(int)
    reach = max(1, round(BOW * height_px))
    bowed = cv2.dilate(ink.astype(np.uint8), np.ones((2 * reach + 1, 1), np.uint8)) > 0
    if bowed[:, columns].any(axis=0).mean() < LEAST_SHARE:
        return np.empty((0, len(across))), np.empty(0)
    ends = np.arange(0.0, len(ink) - 0.5, max(1.0, STEP / 2 * height_px))
    left, right = (side.ravel() for side in np.meshgrid(ends, ends, indexing="ij"))
    middle, slope = (left + right) / 2, (right - left) / (across[-1] - across[0])
    likely = (middle > within[0]) & (middle < within[1]) & (np.abs(slope) < STEEPEST)
    along = np.linspace(0.0, 1.0, len(across))
    least = max(LEAST_SHARE * len(across), SHORTEST * height_px / (across[1] - across[0]))
    left, rise = left[likely], (right - left)[likely]
    spans = _spans_on(bowed, columns, left, rise, along, least)
    whole = spans > 0
    return left[whole, None] + rise[whole, None] * along, spans[whole] / len(across)


@njit(cache=True)
def _spans_on(
    ink: InkImage, columns: NDArray[np.int64], left: FloatArray, rise: FloatArray, along: FloatArray, least: float
) -> NDArray[np.int64]:
    """At how many columns, from the first on ink to the last, each of many lines runs; 0 where it is no such line."""
    spans, count = np.zeros(len(left), np.int64), len(columns)
    for n in range(len(left)):
        inked, first, last = 0, -1, -1
        for k in range(count):
            if ink[int(np.rint(left[n] + rise[n] * along[k])), columns[k]]:
                inked, last = inked + 1, k
                if first < 0:
                    first = k
            elif first < 0 and count - k - 1 < least:
                break
        span = last + 1 - first
        if inked and inked >= COVER * span and span >= least:
            spans[n] = span
    return spans


def _crossed(ink: InkImage, across: FloatArray, line: FloatArray, height_px: float, leans: int) -> int:
    """How many strokes that go on to both sides of it a line crosses; at most one where it runs nowhere free."""
    columns, reach = across.round().astype(int), max(1, round(ASIDE * height_px))

    def beside(side: int, places: Sequence[float]) -> InkImage:
        rows = np.array([line + side * place * height_px for place in places]).round().astype(int)
        return np.asarray(ink[rows.clip(0, len(ink) - 1)[:, :, None], near], dtype=np.bool_)

    near = (columns[:, None] + np.arange(-leans * reach, leans * reach + 1)).clip(0, ink.shape[1] - 1)
    ways = np.ones(2 * reach + 1, np.uint8)[None]
    crossed = np.ones(len(columns), np.bool_)
    for side in (-1, 1):
        onward = np.ones(near.shape, np.bool_)
        for row in beside(side, BESIDE)[::-1]:
            onward = np.asarray(cv2.dilate((row & onward).astype(np.uint8), ways) > 0, np.bool_)
        crossed &= onward[:, leans * reach]
    over, under = (np.any(beside(side, FREE)[:, :, leans * reach], axis=0) for side in (-1, 1))
    free = np.logical_not(np.logical_and(over, under))
    starts = np.flatnonzero(np.diff(crossed.astype(np.int8), prepend=0) > 0)
    return len(starts) if len(starts) < 2 or np.any(free[starts[0] : starts[-1]]) else 1
