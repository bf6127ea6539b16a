"""Dimension lines without a figure, on the check print: dashed over, for no mark of a figure can stand there."""

import math
from collections.abc import Sequence

import numpy as np

from calibrate.sheet import FloatArray
from digitize.dimensions.table import BareLine
from digitize.report.place_marks import PlaceMark

COLOUR = "#a2357f"
MEANING = "a dashed purple line: a dimension line on which no figure was read; look for it on the print"
WORDS = "?"
DASH_MM, PEN_MM, LETTER_MM, ASIDE_MM = 1.5, 0.6, 3.5, 1.0
"""Of paper. The question mark stands past the line's end: over its middle it would cover what is left of a figure."""


def bare_marks(lines: Sequence[BareLine], paper_mm_per_px: float) -> list[PlaceMark]:
    """Make a mark for each bare dimension line.

    Parameters
    ----------
    lines : sequence of BareLine
    paper_mm_per_px : float
    """
    height, aside = LETTER_MM / paper_mm_per_px, ASIDE_MM / paper_mm_per_px
    return [
        PlaceMark(
            _dashes(np.array([line.first, line.second]), DASH_MM / paper_mm_per_px),
            PEN_MM / paper_mm_per_px,
            WORDS,
            (max(line.first[0], line.second[0]) + aside, max(line.first[1], line.second[1]) - aside),
            height,
            COLOUR,
            MEANING,
        )
        for line in lines
    ]


def _dashes(ends: FloatArray, dash_px: float) -> tuple[FloatArray, ...]:
    """Dashes and gaps of equal length between two points, shape (2, 2), with a dash at both."""
    count = max(1, round((math.dist(*ends) / dash_px + 1) / 2))
    places = np.linspace(0.0, 1.0, 2 * count)[:, None]
    points = ends[0] + places * (ends[1] - ends[0])
    return tuple(points[2 * i : 2 * i + 2] for i in range(count))
