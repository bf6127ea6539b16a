"""The whole road from ink to strokes on one screen.

All measuring is done in the working frame, on its grey picture; coordinates are carried to the level frame at the end.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import LevelSheet
from digitize.strokes.arrowheads import find_heads
from digitize.strokes.dashes import gather_dashes
from digitize.strokes.ends import set_ends
from digitize.strokes.fit import Tolerance, cut_chains
from digitize.strokes.ground import Ground, ground_of
from digitize.strokes.join import Bench, join_pieces
from digitize.strokes.output import strokes_from
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece, pieces_of
from digitize.strokes.primitives import Strokes
from digitize.strokes.refine import refine_chains
from digitize.strokes.roles import give_roles
from digitize.strokes.seeds import trace_chains
from digitize.strokes.shafts import heads_on_shafts
from digitize.strokes.views import find_views

RMS_PX, RMS_MM = 0.20, 0.020
"""Scatter of centres about their line: a part from the picture's grain, a part from the pen (from trials)."""
LOCAL_PX, LOCAL_MM = 0.45, 0.040
"""Mean offset over `WINDOW_MM` at which a line has bent."""
WINDOW_MM = 0.8
SAGITTA_MM = 0.08
"""An arc must rise this much above its chord to be told from a line drawn a little bent."""
LEAST_LENGTH_MM = 0.5


def tolerance_of(ground: Ground) -> Tolerance:
    """Return how far points may stray at the scale of a sheet."""
    return Tolerance(
        RMS_PX + ground.px(RMS_MM),
        LOCAL_PX + ground.px(LOCAL_MM),
        max(4, round(ground.px(WINDOW_MM))),
        ground.px(SAGITTA_MM) + 0.3,
    )


def traced_pieces(ground: Ground) -> list[Piece]:
    """Trace all ink into joined lines and arcs of the working frame."""
    if not ground.ink.any():
        return []
    chains = trace_chains(ground.ink, ground.half_width_px)
    trail = refine_chains(ground.dark, chains, ground.half_width_px, ground.pen_px)
    tolerance = tolerance_of(ground)
    bench = Bench(ground, trail, tolerance.rms_px, tolerance.sagitta_px)
    joined = join_pieces(bench, pieces_of(trail, cut_chains(trail, tolerance)))
    return set_ends(bench, gather_dashes(bench, joined))


def trace_strokes(sheet: LevelSheet, lettering_mask: NDArray[np.bool_]) -> Strokes:
    """Trace everything that the pen left on a sheet except its lettering.

    Parameters
    ----------
    sheet : LevelSheet
    lettering_mask : ndarray, bool, shape of ``sheet.grey``
        True on ink of lettering, in the level frame.

    Returns
    -------
    Strokes
        In level pixels. Lines are sorted by start, then end; arcs by centre, radius, start; arrowheads by tip, then
        direction; views from the top left to the bottom right, then title block and tables.

    Raises
    ------
    ValueError
        If the mask is not as large as the level picture.
    """
    ground = ground_of(sheet, lettering_mask)
    pieces = traced_pieces(ground)
    pieces, heads = heads_on_shafts(ground, pieces, find_heads(ground, pieces))
    kept = [k for k, p in enumerate(pieces) if p.length >= ground.px(LEAST_LENGTH_MM)]
    place = {k: n for n, k in enumerate(kept)}
    heads = [replace(head, piece=place.get(head.piece, -1)) for head in heads]
    page, tables = give_roles(Page(ground, [pieces[k] for k in kept], heads, sheet.skew_deg))
    divisions, view_of = find_views(page, tables)
    return strokes_from(page, divisions, view_of, sheet.level_from_working)
