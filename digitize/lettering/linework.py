"""Long straight pen lines, taken out of the ink so that lettering that touches them comes free.

A line is told from a letter by its length: no stroke of a letter runs straight for as long as a line does. Where
something crosses the line, the ink there is thicker across than a pen line and stays.
"""

import numpy as np

from calibrate.sheet import InkImage, LevelSheet

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
    across = 1 - axis
    core = opened(ink, length_px, axis)
    # The rim of a line is ragged, so that its outer rows hold no long run: take in what lies within a pen of the core.
    near = grown(core, ink, thick_px, across) if core.any() else core
    line = near & ~opened(ink, thick_px + 1, across)
    return np.asarray(line & ~_slantingly_crossed(ink, core, line, thick_px, axis)) if core.any() else line


def _slantingly_crossed(ink: InkImage, core: InkImage, line: InkImage, thick_px: int, axis: int) -> InkImage:
    """Where a stroke comes to a line on one side and leaves it on the other, a little further on."""
    low, high = (_beside(ink, core, line, thick_px, axis, step) for step in (1, -1))
    for _ in range(thick_px):
        low = low | _moved(low, 1, axis) | _moved(low, -1, axis)
        high = high | _moved(high, 1, axis) | _moved(high, -1, axis)
    return np.asarray(low & high & line)


def _beside(ink: InkImage, core: InkImage, line: InkImage, thick_px: int, axis: int, step: int) -> InkImage:
    """The stretches of a line that have ink on one of its sides, more than a ragged rim."""
    across = 1 - axis
    hanging = core
    for _ in range(max(round(RIM_OF_THICK * thick_px), 2)):
        hanging = _moved(hanging, step, across) & ink
    hanging = hanging & ~core
    for _ in range(2 * thick_px):
        hanging = hanging | (_moved(hanging, -step, across) & line)
    return hanging


def opened(ink: InkImage, length_px: int, axis: int) -> InkImage:
    """Ink that lies in a straight run of at least ``length_px`` along an axis."""
    starts = ink.copy()
    done = 1
    while done < length_px:
        step = min(done, length_px - done)
        starts = _and_ahead(starts, step, axis)
        done += step
    runs = starts
    done = 1
    while done < length_px:
        step = min(done, length_px - done)
        runs = _or_behind(runs, step, axis)
        done += step
    return runs


def grown(seed: InkImage, ink: InkImage, reach_px: int, axis: int) -> InkImage:
    """The seed, and the ink within ``reach_px`` of it along an axis that no paper parts from it."""
    ahead, behind = seed, seed
    for _ in range(reach_px):
        ahead = ahead | (_moved(ahead, 1, axis) & ink)
        behind = behind | (_moved(behind, -1, axis) & ink)
    return np.asarray(ahead | behind)


def _moved(ink: InkImage, step: int, axis: int) -> InkImage:
    out = np.zeros_like(ink)
    length = ink.shape[axis]
    if abs(step) >= length:
        return out
    target: list[slice] = [slice(None), slice(None)]
    source: list[slice] = [slice(None), slice(None)]
    target[axis] = slice(step, None) if step > 0 else slice(None, length + step)
    source[axis] = slice(None, length - step) if step > 0 else slice(-step, None)
    out[tuple(target)] = ink[tuple(source)]
    return out


def _and_ahead(ink: InkImage, step: int, axis: int) -> InkImage:
    return np.asarray(ink & _moved(ink, -step, axis))


def _or_behind(ink: InkImage, step: int, axis: int) -> InkImage:
    return np.asarray(ink | _moved(ink, step, axis))
