"""Where an outline does not close, on the check print: a diamond round the end, its place in part mm beside it.

No other mark of the check print is a diamond.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibrate.sheet import FloatArray
from digitize.redraw.report import OpenEnd

COLOUR = "#0b6e4f"
MEANING = "a green diamond: an outline of the part does not close there; the place is in mm as part.dxf has it"
REACH_MM, PEN_MM, LETTER_MM = 2.5, 0.35, 2.5
"""Of paper."""
MOST_NAMED = 12
"""Where a sheet has more open ends, words beside them would cover its figures; their places are in sheet.json."""


@dataclass(frozen=True)
class OpenMark:
    """A diamond, shape (5, 2), in level pixels; its words begin at ``text_at``, in letters of ``height_px``."""

    path: FloatArray
    pen_px: float
    words: str
    text_at: tuple[float, float]
    height_px: float


def open_marks(ends: Sequence[OpenEnd], paper_mm_per_px: float) -> list[OpenMark]:
    """Make a mark for each open end.

    Parameters
    ----------
    ends : sequence of OpenEnd
    paper_mm_per_px : float
    """
    reach, height = REACH_MM / paper_mm_per_px, LETTER_MM / paper_mm_per_px
    diamond = reach * np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0], [1.0, 0.0]])
    return [
        OpenMark(
            diamond + np.array(each.at_px),
            PEN_MM / paper_mm_per_px,
            f"open {each.at_mm[0]:.2f}, {each.at_mm[1]:.2f}" if len(ends) <= MOST_NAMED else "",
            (each.at_px[0] + 1.2 * reach, each.at_px[1] + 0.4 * height),
            height,
        )
        for each in ends
    ]
