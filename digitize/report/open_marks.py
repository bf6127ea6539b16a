"""Where an outline does not close, on the check print: a diamond at each gap, beside it its place as `part.dxf` has it.

No other mark of the check print is a diamond.
"""

import math
from collections.abc import Sequence

import numpy as np

from digitize.lettering.text import Unit
from digitize.redraw.dxf import place_words
from digitize.redraw.report import GAP_REACH_MM, OpenEnd, gaps
from digitize.report.place_marks import PlaceMark

COLOUR = "#0b6e4f"
MEANING = "a green diamond: an outline of the part does not close there; the place is the one that it has in part.dxf"
REACH_MM, SMALL_MM, PEN_MM, LETTER_MM = 2.5, 1.0, 0.35, 2.5
"""Of paper."""
ROOM_MM2 = 5000.0
"""Of paper for each name: a dozen on an A4 sheet. Where a sheet has more gaps, words beside them would cover its
figures, and the diamonds are small; their places are in sheet.json."""


def open_marks(ends: Sequence[OpenEnd], paper_mm_per_px: float, shape: tuple[int, ...], unit: Unit) -> list[PlaceMark]:
    """Make a mark for each gap between open ends, named by the end nearest to it.

    Parameters
    ----------
    ends : sequence of OpenEnd
    paper_mm_per_px : float
    shape : (int, int)
        Of the level picture.
    unit : Unit
        INCH or MM, that of `part.dxf`.
    """
    places = {each.at_px: each.at_mm for each in ends}
    marked = gaps(list(places), GAP_REACH_MM / paper_mm_per_px)
    few = len(marked) * ROOM_MM2 <= math.prod(shape) * paper_mm_per_px**2
    height = LETTER_MM / paper_mm_per_px
    reach = (REACH_MM if few else SMALL_MM) / paper_mm_per_px
    diamond = reach * np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0], [1.0, 0.0]])
    named = [places[min(places, key=lambda end: math.dist(end, at))] for at in marked]
    return [
        PlaceMark(
            (diamond + np.array(at),),
            PEN_MM / paper_mm_per_px,
            f"open {place_words(at_mm, unit)}" if few else "",
            (at[0] + 1.2 * reach, at[1] + 0.4 * height),
            height,
            COLOUR,
            MEANING,
        )
        for at, at_mm in zip(marked, named, strict=True)
    ]
