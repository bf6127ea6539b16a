"""Which rows are surely lettering, and which as well bits of the drawing."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from calibrate.sheet import LevelSheet
from digitize.lettering.finding.gaps import SHORTEST_LINE, STUB, interrupts_line
from digitize.lettering.finding.line_ahead import is_line_piece
from digitize.lettering.finding.parts import Look
from digitize.lettering.finding.placing import Placed, place
from digitize.lettering.finding.row import Row

SMALLEST_OF_USUAL = 0.5
LARGEST_OF_USUAL = 4.0
FEW_LETTERS = 1
"""Rows with no more letters may be crossings of dashed lines."""
ONES_APART = 0.3
"""Ones stand this far from each other, in figure heights: closer upright bars are two lines."""
ALONE_TURNING = 1.3
"""A lone figure's pen turns at least this much, ones apart: a seven has 1.37."""
CROSSING_TURNING = 1.75
"""How much the pen turns where dashes cross, at most: 1.41 for a plus; 1.9 and more in a two, a five or an eight."""
BARE_ONE, ONE_WITH_FLAG, FLAG_TURNING = 1.3, 1.7, 1.1
"""Tallest lone one, in usual figure heights (which are those of fractions on some sheets), and what tells its flag."""
RUN_TOGETHER, TWICE = 1.5, 1.5
"""How much the pen turns in two inch marks that touch; else they are so many times as thick as the one."""
FINEST_PENS = 0.7
"""What is finer all over, in widths of the usual pen, is noise along the edge of the paper, 0.18 to 0.65 and once 0.72;
rows of lettering had 0.73 and more, on 80 drawn sheets and ten engraved plates ..."""
FINEST_OF_LETTERS, FEWEST_LETTERS, LETTERS_IN_ROW, LIKE_USUAL = 0.8, 12, 3, (0.75, 1.35)
"""... unless lettering is finer, so that this share of its usual stroke is: then the office drew edges with a heavy pen
and lettered with a light one. Of so many letters in rows of so many and of the usual height to this, that is sure."""
LEANING = 0.1
"""The mark of a leaning 1 may begin so far before its foremost end, in figure heights."""
LIKE_ROW, MOSTLY = (0.7, 1.4), 0.75
"""So much of such a row is as tall as the row to this: noise is of all sizes."""


def finest_stroke_px(sheet: LevelSheet, rows: Sequence[Row], usual_height: float) -> float:
    """Strokes no thicker than this, in pixels, are drawn with no pen.

    Parameters
    ----------
    sheet : LevelSheet
    rows : sequence of Row
        What may be lettering.
    usual_height : float
        The sheet's usual figure height, in level pixels.
    """
    low, high = (share * usual_height for share in LIKE_USUAL)
    sure = [row for row in rows if row.letters >= LETTERS_IN_ROW and low < row.height < high and _is_even(row)]
    strokes = np.repeat([row.stroke_px for row in sure], [row.letters for row in sure])
    finest_px = FINEST_PENS * sheet.pen_px
    return (
        min(finest_px, FINEST_OF_LETTERS * float(np.median(strokes))) if len(strokes) >= FEWEST_LETTERS else finest_px
    )


def _is_even(row: Row) -> bool:
    """Are nearly all parts of a row as tall as it is?"""
    low, high = (share * row.height for share in LIKE_ROW)
    return sum(low < part.size < high for part in row.parts) >= MOSTLY * len(row.parts)


def is_lettering(row: Row, usual_height: float) -> bool:
    """Whether a row is surely lettering.

    Parameters
    ----------
    row : Row
    usual_height : float
        The sheet's usual figure height, in level pixels.
    """
    if not SMALLEST_OF_USUAL * usual_height < row.height < LARGEST_OF_USUAL * usual_height:
        return False
    glyphs = [part for part in row.parts if part.look is Look.GLYPH and part.size > 0.5 * row.height]
    if _is_over_stroke(row):
        return False
    if not glyphs:
        return _is_ones(row, usual_height)
    if len(row.parts) == 1:
        return _is_lone_figure(row, usual_height)
    return any(part.free for part in glyphs) or _is_company(row, usual_height)


def _is_over_stroke(row: Row) -> bool:
    """Whether a row is a part over an upright stroke: no denominator is 1; arrows have shafts, and dashes go on."""
    if len(row.parts) != 2:
        return False
    upper, lower = sorted(place(row.parts, row.angle_deg), key=lambda item: item.top)
    return lower.part.look is Look.BAR and lower.height > lower.width and lower.top > upper.bottom


def _is_company(row: Row, usual_height: float) -> bool:
    """Letters that all touched lines: two and more of like height, so that they are no corners of the drawing."""
    heights = [item.height for item in place(row.parts, row.angle_deg) if item.part.look in (Look.GLYPH, Look.BAR)]
    tall = [height for height in heights if 0.6 * usual_height < height < 1.6 * usual_height]
    return len(tall) >= 2 and max(tall) < 1.3 * min(tall)


def is_pen_work(sheet: LevelSheet, row: Row) -> bool:
    """Whether every letter of a row is a piece of some line.

    A figure in the gap of its dimension line ends at it too, but its pen turned more than at a crossing.
    """
    letters = [part for part in row.parts if part.size > 0.6 * row.height]
    return all(part.turning < CROSSING_TURNING and is_line_piece(sheet, part) for part in letters)


def is_lone_one(sheet: LevelSheet, row: Row, usual_height: float) -> bool:
    """A single upright bar of figure height for which a dimension line is broken."""
    if len(row.parts) > 1 or not row.parts[0].free or row.parts[0].look is not Look.BAR:
        return False
    has_flag = row.parts[0].turning > FLAG_TURNING
    tallest, shortest = (ONE_WITH_FLAG, STUB) if has_flag else (BARE_ONE, SHORTEST_LINE)
    return 0.8 < row.height / usual_height < tallest and interrupts_line(sheet, row, shortest)


def _is_lone_figure(row: Row, usual_height: float) -> bool:
    (part,) = row.parts
    left, top, right, bottom = row.box
    upright = 0.25 < (right - left) / max(bottom - top, 1.0) < 0.95
    return part.free and upright and part.turning > ALONE_TURNING and 0.7 < row.height / usual_height < 1.5


def _is_ones(row: Row, usual_height: float) -> bool:
    """Two ones or more, or ones and inch marks: upright bars of figure height, and short marks at their top right."""
    placed = place(row.parts, row.angle_deg)
    ones = [item for item in placed if item.part.look is Look.BAR and item.height > 0.8 * usual_height]
    marks = [item for item in placed if item.part.look is not Look.DOT and item.height < 0.65 * usual_height]
    if not ones or any(not item.part.free for item in ones):
        return False
    if len(row.parts) == len(ones) >= 2:
        like = max(item.height for item in ones) < 1.15 * min(item.height for item in ones)
        return like and min(_steps(ones)) > ONES_APART * usual_height
    if len(marks) != 2 and not (len(marks) == 1 and _is_double(marks[0], ones)):
        return False
    top, right = min(item.top for item in ones), max(item.right for item in ones)
    right -= LEANING * usual_height
    return all(item.left > right and abs(item.top - top) < 0.35 * usual_height for item in marks)


def _is_double(mark: Placed, ones: Sequence[Placed]) -> bool:
    """Whether a mark beside ones is two inch marks that touch."""
    thick = mark.part.thickness > TWICE * max(item.part.thickness for item in ones)
    return mark.part.turning > RUN_TOGETHER or (thick and mark.height > mark.part.thickness)


def _steps(items: Sequence[Placed]) -> list[float]:
    """Distances from each item's middle to the next one's."""
    middles = sorted(item.middle[0] for item in items)
    return [two - one for one, two in pairwise(middles)]
