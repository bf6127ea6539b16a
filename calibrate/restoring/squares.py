"""Squared paper: the fine ruling that a drawing lies on is taken off its picture.

Ruling and ink take light one after the other, so what is left of the light on a ruled line is divided by the part that
the line lets through: bare paper comes out as paper, and full ink stays ink.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.moving import PAPER
from calibrate.restoring.ruling import Ruling, find_ruling, space_at_a_glance
from calibrate.sheet import FloatArray, GreyImage, Squares

MOST_UNLIKE = 1.4
"""Ratio of the two rulings' spaces."""
BOLD_EVERY = (2, 4, 5, 8, 10, 12)
"""Squared paper has one line in so many bolder (common practice, no source)."""
BOLDER = 1.25
"""Light that a bold line takes over its width, over what the usual one does."""
MOST_OF_THEM = 0.8
"""So many of the lines at even steps are bold, and no more than the rest of the others."""
PROFILE_REACH_PX, PROFILE_STEP_PX = 6.0, 0.25
"""How far to either side of its middle a ruled line takes light, blur and all, and how finely that is measured."""
LEAST_LIGHT = 0.35
"""Light that a ruled line lets through; what lets through less is as dark as ink and stays."""
SAMPLE_STEP = 3
"""Every third pixel along a line tells its light as well."""
BAND_ROWS = 256
"""Rows worked on at a time: places of a whole large picture would not fit the memory."""


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
    across, down = (space_at_a_glance(grey, upright=upright) for upright in (True, False))
    if across is None or down is None or max(across, down) > MOST_UNLIKE * min(across, down):
        return grey, None
    if one_bit:
        return grey, Squares(across, down, taken_off=False)
    freed = grey
    sides_px: dict[bool, float] = {}
    for upright in (True, False):
        ruling = find_ruling(grey, upright=upright)
        light = None if ruling is None else _light_through(grey, ruling)
        if ruling is None or light is None or light.fine[0] < LEAST_LIGHT:
            return grey, Squares(across, down, taken_off=False)
        freed = _lightened(freed, ruling, light)
        sides_px[upright] = ruling.mean_space_px(grey.shape)
    return freed, Squares(sides_px[True], sides_px[False], taken_off=True)


@dataclass(frozen=True)
class _Light:
    """Light that ruled lines let through, by the distance across them in steps of `PROFILE_STEP_PX`.

    ``is_bold`` tells it of the lines numbered from ``first`` on.
    """

    fine: FloatArray
    bold: FloatArray
    is_bold: NDArray[np.bool_]
    first: int

    def at(self, number: NDArray[np.intp], off_px: FloatArray) -> FloatArray:
        """What reaches the paper at places so far off lines of these numbers."""
        bold = np.asarray(self.is_bold[np.clip(number - self.first, 0, len(self.is_bold) - 1)], np.bool_)
        steps = np.abs(off_px) / PROFILE_STEP_PX
        fine_light, bold_light = (np.interp(steps, np.arange(len(one)), one) for one in (self.fine, self.bold))
        return np.asarray(np.where(bold, bold_light, fine_light), np.float64)


def _light_through(grey: GreyImage, ruling: Ruling) -> _Light:
    """Measure the light of a ruling's lines where nothing is drawn on them, as on most of each."""
    steps = _profile_steps(ruling)
    seen = [_sampled(grey, ruling, steps, rows) for rows in _bands(grey.shape)]
    first, last = min(int(each[0].min()) for each in seen), max(int(each[0].max()) for each in seen)
    counts = np.zeros((last - first + 1, steps + 1, 256), np.intp)
    for number, step, level in seen:
        np.add.at(counts, (number - first, step, level), 1)
    is_bold = _bold(np.array([PROFILE_STEP_PX * (1 - _profile(line)).sum() for line in counts]))
    return _Light(_profile(counts[~is_bold].sum(axis=0)), _profile(counts[is_bold].sum(axis=0)), is_bold, first)


def _sampled(grey: GreyImage, ruling: Ruling, steps: int, rows: slice) -> tuple[NDArray[np.intp], ...]:
    """Line, distance off it in steps and grey level of some pixels along the lines, a band of rows at a time."""
    along, across = (1, SAMPLE_STEP) if ruling.upright else (SAMPLE_STEP, 1)
    number, off_px = ruling.nearest(_places(grey.shape, rows, along, across))
    step = np.minimum(np.rint(np.abs(off_px) / PROFILE_STEP_PX), steps).astype(np.intp)
    return number.ravel(), step.ravel(), grey[rows][::across, ::along].ravel().astype(np.intp)


def _profile(counts: NDArray[np.intp]) -> FloatArray:
    """Median grey level at each step off a line, over that of the paper between lines; 1 where nothing was seen."""
    half = np.cumsum(counts, axis=1) >= np.maximum(counts.sum(axis=1, keepdims=True) / 2, 1)
    median = np.where(half.any(axis=1), np.argmax(half, axis=1), PAPER)
    return np.asarray(np.minimum(median / max(median[-1], 1), 1.0), np.float64)


def _bold(darkness: FloatArray) -> NDArray[np.bool_]:
    """Which lines are bold, of lines so dark over their width: one in so many, or none."""
    bolder = darkness > BOLDER * np.median(darkness)
    for every in BOLD_EVERY:
        for first in range(every):
            chosen = np.arange(len(darkness)) % every == first
            if chosen.any() and bolder[chosen].mean() >= MOST_OF_THEM and bolder[~chosen].mean() <= 1 - MOST_OF_THEM:
                return np.asarray(chosen, np.bool_)
    return np.zeros(len(darkness), np.bool_)


def _lightened(grey: GreyImage, ruling: Ruling, light: _Light) -> GreyImage:
    """The picture with the light that a ruling took given back."""
    freed = np.empty_like(grey)
    for rows in _bands(grey.shape):
        through = light.at(*ruling.nearest(_places(grey.shape, rows, 1, 1)))
        freed[rows] = np.minimum(grey[rows] / through + 0.5, float(PAPER))
    return freed


def _profile_steps(ruling: Ruling) -> int:
    return int(min(PROFILE_REACH_PX, ruling.space_px / 3) / PROFILE_STEP_PX)


def _bands(shape: tuple[int, ...]) -> list[slice]:
    return [slice(top, min(top + BAND_ROWS, shape[0])) for top in range(0, shape[0], BAND_ROWS)]


def _places(shape: tuple[int, ...], rows: slice, along: int, across: int) -> FloatArray:
    """Points (x, y) of every so many columns and rows of a band."""
    x = np.arange(0, shape[1], along, dtype=np.float64)
    y = np.arange(rows.start, rows.stop, across, dtype=np.float64)
    return np.stack(np.meshgrid(x, y), axis=-1)
