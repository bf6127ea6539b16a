"""Foot and inch marks set high over their figures, as engravers did: one stroke over the dash, two after the inches.

The figures below read ``3-4``, which is no size, or ``34``, which is another; the marks tell feet from inches.
"""

import re
from dataclasses import dataclass, replace

import numpy as np

from calibrate.restoring.connected import connected_pieces
from calibrate.sheet import LevelSheet
from digitize.lettering.crops import INK_BELOW, cut
from digitize.lettering.text import Reading, Text, merged

FEET_AND_INCHES = re.compile(r"(?P<feet>\d{1,2})-(?P<inches>\d{1,2}(?: \d+/\d+)?)|(?P<f>\d)(?P<i>\d(?: \d+/\d+)?)")
"""Feet and inches without their marks; two figures alone where the dash was lost in the dimension line."""
LOOK_HEIGHTS = 2.4
OVER_HEIGHTS, INTO_HEIGHTS = 1.25, 0.25
"""Middles of the marks lie this far over the figures at most; their feet reach so far down beside them."""
BESIDE_HEIGHTS = 2.0
"""The inch mark ends so far after the last figure at most."""
MARK_HEIGHTS = 0.25, 1.0
PAIR_HEIGHTS = 0.9
"""The strokes of an inch mark stand no further apart."""
MARK_FULL = 0.62
"""A slanting stroke leaves most of its box bare, unless it is slender."""
SLENDER = 0.45
LIKE = 1.6


@dataclass(frozen=True)
class _Stroke:
    left: float
    right: float
    height: float


def with_high_marks(sheet: LevelSheet, text: Text) -> Text:
    """The text with its readings marked as feet and inches, where the marks stand over its figures.

    Parameters
    ----------
    sheet : LevelSheet
    text : Text
    """
    if not any(FEET_AND_INCHES.fullmatch(reading.text) for reading in text.readings):
        return text
    if not _has_marks(sheet, text):
        return text
    return replace(text, readings=merged(Reading(_marked(item.text), item.probability) for item in text.readings))


def _marked(said: str) -> str:
    """A reading with its marks in their places.

    Examples
    --------
    >>> _marked("3-4 1/2"), _marked("14"), _marked("3.5")
    ('3\\'-4 1/2"', '1\\'-4"', '3.5')
    """
    match = FEET_AND_INCHES.fullmatch(said)
    if match is None:
        return said
    feet, inches = match["feet"] or match["f"], match["inches"] or match["i"]
    return f"{feet}'-{inches}\""


def _has_marks(sheet: LevelSheet, text: Text) -> bool:
    """Whether three like strokes stand over the figures, the first alone, the others close together at the end."""
    size = text.block.height_px
    strokes = _strokes_over(cut(sheet, text.block, LOOK_HEIGHTS), size)
    if len(strokes) != 3:
        return False
    foot, first, second = strokes
    heights = [stroke.height for stroke in strokes]
    close = second.left - first.left < PAIR_HEIGHTS * size < first.left - foot.left
    return close and max(heights) < LIKE * min(heights)


def is_stroke(width: float, height: float, area: float) -> bool:
    """Whether a piece of ink of so many pixels is one slanting or upright stroke."""
    return width < height and (area < MARK_FULL * width * height or width < SLENDER * height)


def _strokes_over(crop: np.ndarray, size: float) -> list[_Stroke]:
    """Slanting or upright strokes over the figures of a crop, from left to right."""
    edge = LOOK_HEIGHTS * size
    stats = connected_pieces(crop < INK_BELOW).stats
    found = []
    for x, y, w, h, area in stats[1:].tolist():
        over = edge - OVER_HEIGHTS * size < y + h / 2 and y + h < edge + INTO_HEIGHTS * size
        within = edge - size / 2 < x and x + w < crop.shape[1] - edge + BESIDE_HEIGHTS * size
        if over and within and is_stroke(w, h, area) and MARK_HEIGHTS[0] * size < h < MARK_HEIGHTS[1] * size:
            found.append(_Stroke(float(x), float(x + w), float(h)))
    return sorted(found, key=lambda item: item.left)
