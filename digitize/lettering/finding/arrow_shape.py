"""Arrowheads with a bit of their line, told from letters by their ink alone."""

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import LevelSheet

ARROW_SHORTEST_MM = 1.8
ARROW_SLENDEREST, ARROW_BROADEST = 0.08, 0.45
ARROW_PENS = 3.0
ARROW_END, ARROW_END_SHARE = 0.55, 0.12
ARROW_EVENNESS = 0.6
ARROW_INSIDE = 0.15


def is_arrow(sheet: LevelSheet, ink: NDArray[np.uint8], axis_deg: float, length: float, thickness: float) -> bool:
    """An arrowhead with a bit of its line: one straight spine, wide between two narrow ends, alike on both sides.

    ``ink`` (ndarray, uint8, shape (H, W)) is not 0 where its ink is.
    """
    slender = ARROW_SLENDEREST * length < thickness < ARROW_BROADEST * length
    if not slender or length < sheet.px(ARROW_SHORTEST_MM) or thickness < ARROW_PENS * sheet.pen_px:
        return False
    pixels = np.argwhere(ink)[:, ::-1].astype(np.float64)
    turn = np.radians(axis_deg)
    along = pixels @ np.array([np.cos(turn), -np.sin(turn)])
    aside = pixels @ np.array([np.sin(turn), np.cos(turn)])
    station = np.floor(along - along.min()).astype(int)
    count = int(station.max()) + 1
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(low, station, aside)
    np.maximum.at(high, station, aside)
    filled = np.isfinite(low)
    low, high, station = low[filled], high[filled], (np.cumsum(filled) - 1)[station]
    count = len(low)
    end = max(round(ARROW_END_SHARE * count), 2)
    widths = high - low
    if max(float(widths[:end].mean()), float(widths[-end:].mean())) > ARROW_END * thickness:
        return False
    middle = float(np.mean(((high + low) / 2)[np.r_[:end, count - end : count]]))
    spine = np.zeros(count, dtype=bool)
    spine[station[np.abs(aside - middle) < sheet.pen_px]] = True
    left, right = float(high.max()) - middle, middle - float(low.min())
    even = min(left, right) > ARROW_EVENNESS * max(left, right)
    widest = int(np.argmax(widths))
    inside = ARROW_INSIDE < widest / count < 1 - ARROW_INSIDE
    opposite = min(high[widest] - middle, middle - low[widest]) > ARROW_EVENNESS * thickness / 2
    return bool(spine.mean() > 0.9 and even and inside and opposite)
