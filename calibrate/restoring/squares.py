"""Squared paper: the fine ruling that a drawing lies on is taken off its picture.

Ruling and ink take light one after the other, so what is left of the light on a ruled line is divided by the part that
the line lets through: bare paper comes out as paper, and full ink stays ink.
"""

from collections.abc import Iterator

import numpy as np

from calibrate.restoring.moving import PAPER
from calibrate.restoring.ruling import Ruling, find_ruling, space_of, strips_across
from calibrate.sheet import FloatArray, GreyImage, Squares

MOST_UNLIKE = 1.4
"""Ratio of the two rulings' spaces."""
MOST_RULINGS = 3
"""Of one direction: the fine one, and bolder ones on it."""
PROFILE_REACH_PX, PROFILE_STEP_PX = 6.0, 0.25
LEAST_LIGHT = 0.35
"""Light that a ruled line lets through; what lets through less is as dark as ink and stays."""
SAMPLE_STEP = 3
BAND_ROWS = 256


def without_squares(grey: GreyImage, *, one_bit: bool = False) -> tuple[GreyImage, Squares | None]:
    """Take the ruling of squared paper off a picture.

    Parameters
    ----------
    grey : ndarray, uint8, shape (H, W)
        Paper 255, full ink 0.
    one_bit : bool
        Whether the file has no grey: its ruling is as black as its ink, and stays.

    Returns
    -------
    grey : ndarray, uint8, shape (H, W)
        As given where there are no squares.
    squares : Squares or None
    """
    spaces = [space_of(strips_across(grey, upright=upright)) for upright in (True, False)]
    across, down = spaces
    if across is None or down is None or max(across, down) > MOST_UNLIKE * min(across, down):
        return grey, None
    if one_bit:
        return grey, Squares(across, down, taken_off=False)
    freed = grey
    first: dict[bool, Ruling] = {}
    for _ in range(MOST_RULINGS):
        rulings = [ruling for upright in (True, False) if (ruling := find_ruling(freed, upright=upright)) is not None]
        light = [(ruling, _light_through(freed, ruling)) for ruling in rulings]
        light = [(ruling, through) for ruling, through in light if through.min() >= LEAST_LIGHT]
        for ruling, through in light:
            freed = _lightened(freed, ruling, through)
            first.setdefault(ruling.upright, ruling)
        if not light:
            break
    if len(first) < len(spaces):
        return freed, Squares(across, down, taken_off=False)
    across, down = (first[upright].mean_space_px(grey.shape) for upright in (True, False))
    return freed, Squares(across, down, taken_off=True)


def _light_through(grey: GreyImage, ruling: Ruling) -> FloatArray:
    """Light that a ruled line lets through, by the distance across it in steps of `PROFILE_STEP_PX`."""
    steps = _profile_steps(ruling)
    counts = np.zeros((steps + 1, 256), np.intp)
    for rows, off_px in _bands(ruling, grey.shape, SAMPLE_STEP):
        seen = grey[rows, ::SAMPLE_STEP] if not ruling.upright else grey[rows][::SAMPLE_STEP]
        step = np.minimum(np.rint(np.abs(off_px) / PROFILE_STEP_PX), steps).astype(np.intp)
        np.add.at(counts, (step.ravel(), seen.ravel()), 1)
    half = np.cumsum(counts, axis=1) >= counts.sum(axis=1, keepdims=True) / 2
    median = np.argmax(half, axis=1).astype(np.float64)
    return np.asarray(np.minimum(median / median[-1], 1.0), np.float64)


def _lightened(grey: GreyImage, ruling: Ruling, through: FloatArray) -> GreyImage:
    """The picture with the light that a ruling took given back."""
    freed = np.empty_like(grey)
    for rows, off_px in _bands(ruling, grey.shape, 1):
        light = np.interp(np.abs(off_px) / PROFILE_STEP_PX, np.arange(len(through)), through)
        freed[rows] = np.minimum(grey[rows] / light + 0.5, float(PAPER))
    return freed


def _profile_steps(ruling: Ruling) -> int:
    return int(min(PROFILE_REACH_PX, ruling.space_px / 3) / PROFILE_STEP_PX)


def _bands(ruling: Ruling, shape: tuple[int, ...], step: int) -> Iterator[tuple[slice, FloatArray]]:
    """Rows of the picture, and how far their pixels (every so many along the lines) lie off the ruling."""
    height, width = shape[:2]
    for top in range(0, height, BAND_ROWS):
        rows = slice(top, min(top + BAND_ROWS, height))
        x = np.arange(0, width, 1 if ruling.upright else step, dtype=np.float64)
        y = np.arange(rows.start, rows.stop, step if ruling.upright else 1, dtype=np.float64)
        yield rows, ruling.off_px(np.stack(np.meshgrid(x, y), axis=-1))
