"""Several sheets in one scan: where each lies, and what to do, in the same words wherever they are noticed."""

from collections.abc import Sequence

from cv2 import boundingRect
from cv2.typing import MatLike

Box = tuple[int, int, int, int]
"""Left, top, right, bottom in pixels of the picture."""
CUT_APART = "cut it into one picture a sheet"
GIVEN_FOR_ALL = "the skew may be that of one of them alone, and one scale is given for all"
"""In every sentence that tells of several sheets in one scan; what was found of them where they were not told apart."""
ROW_SHARE = 0.5
"""Sheets that overlap by this share of their height stand in one row."""


def box_of(outline: MatLike, scale: float) -> Box:
    """Upright box round an outline that was found in a picture reduced by ``scale``."""
    left, top, width, height = boundingRect(outline)
    return round(left / scale), round(top / scale), round((left + width) / scale), round((top + height) / scale)


def places(boxes: Sequence[Box]) -> str:
    """Where each sheet lies, row by row from the top left.

    Examples
    --------
    >>> places([(700, 12, 1300, 890), (10, 20, 620, 900)])
    'x 10 to 620, y 20 to 900; x 700 to 1300, y 12 to 890'
    """
    first = min(boxes, key=lambda box: box[1])
    row_px = ROW_SHARE * (first[3] - first[1])
    ordered = sorted(boxes, key=lambda box: (round((box[1] - first[1]) / max(row_px, 1) / 2), box[0]))
    return "; ".join(f"x {left} to {right}, y {top} to {bottom}" for left, top, right, bottom in ordered)
