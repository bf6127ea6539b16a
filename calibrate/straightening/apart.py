"""Two sheets side by side without borders or edges to see: each lies at a turn of its own.

Terms
-----
strip
    A blank strip across the whole picture, along the sheet's own square.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from calibrate.restoring.connected import ink_places
from calibrate.several import CUT_APART, GIVEN_FOR_ALL
from calibrate.sheet import FloatArray, InkImage
from calibrate.straightening.bars import Bars
from calibrate.straightening.skew import COARSE_STD_DEG, Ruled, coarse_skew_deg, combined_skew

LOOK_PX = 800
LEAST_STRIP, MARGIN_SHARE = 0.02, 0.15
"""Breadth of a strip, and how far from the picture's sides it lies, as parts of the picture."""
LEAST_INK_SHARE = 0.15
"""Part of the ink on the poorer side of the strip."""
FEWEST_BARS = 4
LEAST_TURN_DEG, LEAST_STDS = 0.15, 6.0
"""Views ruled by hand on one sheet agree better than the first."""
LEAST_COARSE_TURN_DEG = 0.5
"""Where the lines of one side turn so far from the other's that they were not followed."""
SIDES = ("left and right", "above and below")

APART = (
    "The lines {sides} of a blank strip lie at turns of their own ({first:+.2f} and {second:+.2f} deg), perhaps two"
    " sheets in one scan; " + GIVEN_FOR_ALL + ": " + CUT_APART + "."
)


@dataclass(frozen=True)
class _Turns:
    """Turns of the two sides, and the standard error of their difference."""

    first_deg: float
    second_deg: float
    std_deg: float

    @property
    def apart_deg(self) -> float:
        return abs(self.first_deg - self.second_deg)

    @property
    def sureness(self) -> float:
        return self.apart_deg / self.std_deg


def doubt_of_one_sheet(ink: InkImage, ruled: Ruled) -> str | None:
    """Say that two parts of a picture lie at different turns.

    Parameters
    ----------
    ink : ndarray, bool, shape (H, W)
    ruled : Ruled
        Its long lines.

    Returns
    -------
    str or None
        One sentence, or None where no strip parts lines of different turns.
    """
    step = max(1, round(max(ink.shape) / LOOK_PX))
    small = ink[::step, ::step]
    found = []
    for axis, sides in enumerate(SIDES):
        place = _across(_points(small), axis, ruled.coarse_deg)
        for strip in _strips(place, small.shape[1 - axis]):
            bars = [_beyond(both, axis, ruled, strip * step) for both in (ruled.level, ruled.upright)]
            turns = _turns(small, place > strip, bars, ruled.pen_px)
            if turns is not None:
                found.append((turns, sides))
    if not found:
        return None
    turns, sides = max(found, key=lambda each: each[0].sureness)
    return APART.format(sides=sides, first=turns.first_deg, second=turns.second_deg)


def _points(small: InkImage) -> FloatArray:
    """Ink pixels (x, y)."""
    return np.column_stack(ink_places(small)[::-1]).astype(np.float64)


def _across(points: FloatArray, axis: int, skew_deg: float) -> FloatArray:
    """Places along x (axis 0) or y (axis 1) of the sheet's own square, in pixels."""
    slope = np.tan(np.radians(skew_deg)) * (1 if axis else -1)
    return np.asarray(points[..., axis] + slope * points[..., 1 - axis], np.float64)


def _strips(place: FloatArray, extent: int) -> Iterator[float]:
    """Middles of the blank strips, where enough ink lies on both sides."""
    filled = np.unique(np.round(place))
    for before, after in pairwise(filled):
        middle = float(before + after) / 2
        inside = MARGIN_SHARE * extent <= middle <= (1 - MARGIN_SHARE) * extent
        if inside and after - before >= LEAST_STRIP * extent:
            share = float(np.mean(place > middle))
            if LEAST_INK_SHARE <= share <= 1 - LEAST_INK_SHARE:
                yield middle


def _beyond(bars: Bars, axis: int, ruled: Ruled, strip: float) -> tuple[Bars, Bars]:
    """Bars wholly before and wholly beyond a strip."""
    place = _across(bars.ends, axis, ruled.coarse_deg)
    before, after = (place < strip).all(axis=1), (place > strip).all(axis=1)
    return Bars(bars.ends[before], bars.std_deg[before]), Bars(bars.ends[after], bars.std_deg[after])


def _turns(
    small: InkImage, is_beyond: NDArray[np.bool_], bars: list[tuple[Bars, Bars]], pen_px: float
) -> _Turns | None:
    """Turns of the two sides, where they differ beyond doubt."""
    level, upright = bars
    first, second = (combined_skew(Ruled(0.0, level[k], upright[k], pen_px)) for k in (0, 1))
    if min(first.bar_count, second.bar_count) >= FEWEST_BARS:
        turns = _Turns(first.skew_deg, second.skew_deg, float(np.hypot(first.std_deg, second.std_deg)))
        return turns if turns.apart_deg > LEAST_TURN_DEG and turns.sureness > LEAST_STDS else None
    return _coarse_turns(small, is_beyond) if max(first.bar_count, second.bar_count) >= FEWEST_BARS else None


def _coarse_turns(small: InkImage, is_beyond: NDArray[np.bool_]) -> _Turns | None:
    """The same from the projections of each side's ink."""
    rows, columns = ink_places(small)
    angles = []
    for chosen in (~is_beyond, is_beyond):
        side = np.zeros_like(small)
        side[rows[chosen], columns[chosen]] = True
        angles.append(coarse_skew_deg(side))
    turns = _Turns(angles[0], angles[1], COARSE_STD_DEG)
    return turns if turns.apart_deg > LEAST_COARSE_TURN_DEG else None
