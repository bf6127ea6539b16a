"""The whole road from ink to strokes on one screen.

All measuring is done in the working frame, on its grey picture; coordinates are carried to the level frame at the end.
"""

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import LevelSheet
from digitize.strokes.arrowheads import find_heads
from digitize.strokes.dashes import gather_dashes
from digitize.strokes.ends import set_ends
from digitize.strokes.fit import ARC, LINE, Tolerance, cut_chains
from digitize.strokes.ground import Ground, ground_of
from digitize.strokes.join import Bench, join_pieces
from digitize.strokes.output import arc_from, arrowhead_from, line_from
from digitize.strokes.pieces import Piece, pieces_of
from digitize.strokes.primitives import Strokes
from digitize.strokes.refine import refine_chains
from digitize.strokes.seeds import trace_chains

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
        Lines and arcs in level pixels, each sorted by its position (rows of coordinates, ascending).

    Raises
    ------
    ValueError
        If the mask is not as large as the level picture.
    """
    ground = ground_of(sheet, lettering_mask)
    traced = traced_pieces(ground)
    heads = find_heads(ground, traced)
    pieces = [p for p in traced if p.length >= ground.px(LEAST_LENGTH_MM)]
    lines = [line_from(p, sheet.level_from_working) for p in pieces if p.track.kind == LINE]
    arcs = [arc_from(p, sheet.level_from_working) for p in pieces if p.track.kind == ARC]
    arrows = [arrowhead_from(h, sheet.level_from_working, None) for h in heads]
    return Strokes(
        lines=tuple(sorted(lines, key=lambda line: (line.start, line.end))),
        arcs=tuple(sorted(arcs, key=lambda arc: (arc.centre, arc.radius_px, arc.start_deg))),
        arrowheads=tuple(arrows),
    )
