"""Long straight pen lines, taken out of the ink so that lettering that touches them comes free.

A line is told from a letter by its length: no stroke of a letter runs straight for as long as a line does. Where
something crosses the line, the ink there is thicker across than a pen line and stays.
"""

import cv2
import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import runs_of
from calibrate.sheet import InkImage, LevelSheet

Packed = NDArray[np.uint8]
"""Ink with eight pixels of a row to a byte: moving it up and down costs an eighth."""
LONGEST_LETTER_STROKE_MM = 10.0
"""No stroke of a letter, and no fraction bar, runs straight for longer (ISO 3098 lettering is mostly 2.5 to 7 mm)."""
THICKEST_LINE_PENS = 2.4
"""A line drawn heavy, in widths of the sheet's usual pen; what is thicker across stands on the line or crosses it."""
RIM_OF_THICK = 0.6
"""A line's rim is no more ragged than this, in widths of the thickest line."""


def without_lines(sheet: LevelSheet) -> InkImage:
    """The level ink without its long level and upright lines (ndarray, bool, shape (H, W))."""
    length_px = max(int(sheet.px(LONGEST_LETTER_STROKE_MM)), 3)
    thick_px = max(round(THICKEST_LINE_PENS * sheet.pen_px), 2)
    left = sheet.ink & ~line_ink(sheet.ink, length_px, thick_px, axis=1)
    left &= ~line_ink(sheet.ink, length_px, thick_px, axis=0)
    return np.asarray(left)


def line_ink(ink: InkImage, length_px: int, thick_px: int, axis: int) -> InkImage:
    """Ink of the straight lines along an axis.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
    length_px : int
        Shortest run that counts as a line.
    thick_px : int
        Ink that runs further than this across the line is no part of it.
    axis : int
        0 for upright lines, 1 for level ones.

    Returns
    -------
    ndarray, bool, shape (H, W)

    Examples
    --------
    >>> ink = np.zeros((7, 12), bool)
    >>> ink[3, :] = True
    >>> ink[:, 5] = True
    >>> line_ink(ink, length_px=8, thick_px=2, axis=1)[3].astype(int)
    array([1, 1, 1, 1, 1, 0, 1, 1, 1, 1, 1, 1])
    """
    upright = axis == 0
    turned = _transposed(ink) if upright else ink  # the line lies level here
    core = np.packbits(_long_runs(turned, length_px), axis=1)
    if not core.any():
        return np.zeros_like(ink)
    packed = np.packbits(turned, axis=1)
    # The rim of a line is ragged, so that its outer rows hold no long run: take in what lies within a pen of the core.
    near = grown(core, packed, thick_px)
    line = near & ~opened(packed, thick_px + 1)
    line &= ~_slantingly_crossed(packed, core, line, thick_px, turned.shape[1])
    found = _unpacked(line, turned.shape[1])
    return _transposed(found) if upright else found


def _long_runs(ink: InkImage, length_px: int) -> InkImage:
    """Ink that lies in a level run of at least ``length_px``."""
    rows, starts, ends = runs_of(ink)
    long = np.zeros_like(ink)
    chosen = np.flatnonzero(ends - starts >= length_px)
    where = np.searchsorted(rows, chosen, side="right") - 1
    for row, start, end in zip(where.tolist(), starts[chosen].tolist(), ends[chosen].tolist(), strict=True):
        long[row, start:end] = True
    return long


def _slantingly_crossed(ink: Packed, core: Packed, line: Packed, thick_px: int, width: int) -> Packed:
    """Where a stroke comes to a level line on one side and leaves it on the other, a little further on."""
    over, under = (_beside(ink, core, line, thick_px, step) for step in (1, -1))
    rows = np.flatnonzero(over.any(axis=1) & under.any(axis=1))
    crossed = np.zeros_like(line)
    if len(rows):
        kernel = np.ones((1, 2 * thick_px + 1), np.uint8)
        near = [cv2.dilate(_unpacked(side[rows], width).view(np.uint8), kernel) for side in (over, under)]
        crossed[rows] = np.packbits(np.bitwise_and(*near), axis=1)
    return crossed


def _beside(ink: Packed, core: Packed, line: Packed, thick_px: int, step: int) -> Packed:
    """The stretches of level lines that have ink on one of their sides, more than a ragged rim."""
    hanging = core
    for _ in range(max(round(RIM_OF_THICK * thick_px), 2)):
        hanging = _moved(hanging, step) & ink
    hanging = hanging & ~core
    for _ in range(2 * thick_px):
        hanging = hanging | (_moved(hanging, -step) & line)
    return hanging


def opened(ink: Packed, length_px: int) -> Packed:
    """Ink that lies in an upright run of at least ``length_px``."""
    runs = ink
    for sense in (-1, 1):
        done = 1
        while done < length_px:
            step = min(done, length_px - done)
            there = _moved(runs, sense * step)
            runs = runs & there if sense < 0 else runs | there
            done += step
    return runs


def grown(seed: Packed, ink: Packed, reach_px: int) -> Packed:
    """The seed, and the ink within ``reach_px`` over and under it that no paper parts from it."""
    ahead, behind = seed, seed
    for _ in range(reach_px):
        ahead = ahead | (_moved(ahead, 1) & ink)
        behind = behind | (_moved(behind, -1) & ink)
    return ahead | behind


def _moved(ink: Packed, step: int) -> Packed:
    """Ink moved down by so many rows, up where negative."""
    out = np.zeros_like(ink)
    if abs(step) < len(ink):
        out[max(step, 0) : len(ink) + min(step, 0)] = ink[max(-step, 0) : len(ink) - max(step, 0)]
    return out


def _transposed(ink: InkImage) -> InkImage:
    return np.asarray(cv2.transpose(ink.view(np.uint8)), np.uint8).view(np.bool_)


def _unpacked(bits: Packed, width: int) -> InkImage:
    return np.unpackbits(bits, axis=1, count=width).view(np.bool_)
