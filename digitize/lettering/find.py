"""Find the lettering of a level sheet: where each figure, note row and table row lies, before anything is read.

The ink is freed of long straight lines, what remains is sorted into parts, parts into clusters, clusters into rows,
and rows that stand in line into blocks. The finder judges by shape alone. A figure that it misses can never be read; a
block that is no lettering costs a rejected reading, and its ink is kept from the strokes: so what is small, bare and
alone is left to the strokes.
"""

from collections.abc import Sequence

import numpy as np

from calibrate.restoring.connected import Pieces
from calibrate.sheet import InkImage, LevelSheet
from digitize.lettering.finding.among_dashes import freed_of_dashes
from digitize.lettering.finding.clusters import cluster, figure_height_px, with_thick_ones
from digitize.lettering.finding.cutting_marks import heavy_corners
from digitize.lettering.finding.dashes import dash_labels, without_dashed_lines
from digitize.lettering.finding.end_marks import with_end_marks, without_high_marks
from digitize.lettering.finding.gaps import split_at_lines
from digitize.lettering.finding.groups import with_groups
from digitize.lettering.finding.linework import without_lines
from digitize.lettering.finding.parts import Look, Part, find_parts
from digitize.lettering.finding.rivals import block_of, rivals_of
from digitize.lettering.finding.row import Row, without_end_dashes
from digitize.lettering.finding.rows import split_rows, without_false_pairs
from digitize.lettering.finding.section_lines import section_lines
from digitize.lettering.finding.sure import FEW_LETTERS, finest_stroke_px, is_lettering, is_lone_one, is_pen_work
from digitize.lettering.finding.words import join_words, with_lone_letters_turned, with_touched_letters
from digitize.lettering.text import Lettering

RIM_PENS = 0.5
"""No pen stroke is thinner."""


def find_lettering(sheet: LevelSheet) -> Lettering:
    """Find all lettering of a sheet.

    Parameters
    ----------
    sheet : LevelSheet

    Returns
    -------
    Lettering
        Blocks from the top down, and the mask of their ink. Each block's direction is the likeliest one; half turns
        are not told apart, so that a block may stand on its head.
    """
    ink = without_lines(sheet)
    parts, pieces = find_parts(sheet, ink)
    ink = without_dashed_lines(sheet, ink, parts, pieces)
    parts, pieces = find_parts(sheet, ink, (parts, pieces))
    height_px = figure_height_px(sheet, parts)
    drawn = dash_labels(sheet, parts) | heavy_corners(sheet, parts, pieces) | section_lines(sheet, parts, height_px)
    parts = with_thick_ones([part for part in parts if part.label not in drawn], height_px)
    marks = [part for part in parts if part.look is Look.WEDGE and part.free]  # inch marks drawn as drops
    parts = tuple(part for part in parts if not _is_drawing(sheet, part))
    height_px = figure_height_px(sheet, parts)
    rows = [row for group in cluster(sheet, parts, height_px, ink) for row in split_rows(group, height_px)]
    rows = with_lone_letters_turned(rows, height_px)
    rows = with_end_marks([without_end_dashes(row) for row in rows], [*parts, *marks])
    claimed = {part.label for row in rows if is_lettering(row, height_px) for part in row.parts}
    loose = [part for part in parts if part.look is Look.BAR and part.free and part.label not in claimed]
    rows = [without_end_dashes(row) for row in join_words(sheet.ink, pieces, rows, loose)]
    rows = [piece for row in without_false_pairs(rows, height_px) for piece in freed_of_dashes(row, height_px)]
    finest_px = finest_stroke_px(sheet, rows, height_px)
    perhaps = [row for row in rows if row.stroke_px > finest_px and any(part.look is Look.GLYPH for part in row.parts)]
    rows = [row for row in rows if is_lettering(row, height_px) or is_lone_one(sheet, row, height_px)]
    noise = [row for row in rows if row.stroke_px <= finest_px]
    rows = [row for row in rows if row.stroke_px > finest_px]
    rows = [piece for row in rows for piece in split_at_lines(sheet, row)]
    rows = without_high_marks(with_touched_letters(rows, parts))
    rows = [row for row in rows if row.letters > FEW_LETTERS or not is_pen_work(sheet, row)]
    rows.sort(key=lambda row: (row.quad[0][1], row.quad[0][0]))
    blocks = with_groups(sheet, [block_of(row) for row in rows], [row.letters for row in rows])
    mask = _mask(sheet.ink.shape, pieces, [*rows, *noise])
    return Lettering(blocks, mask, rivals_of(rows, perhaps, [*parts, *marks], height_px))


def _is_drawing(sheet: LevelSheet, part: Part) -> bool:
    """An arrowhead, or the thin rim that is left of a line taken away."""
    return part.look is Look.WEDGE or (not part.free and part.thickness < RIM_PENS * sheet.pen_px)


def _mask(shape: tuple[int, ...], pieces: Pieces, rows: Sequence[Row]) -> InkImage:
    mask = np.zeros(shape, np.bool_)
    for part in (part for row in rows for part in row.parts):
        mask[part.window] |= pieces.picture(part.label)
    return mask
