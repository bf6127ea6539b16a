"""The whole road from ink to strokes on one screen.

All measuring is done in the working frame, on its grey picture; coordinates are carried to the level frame at the end.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from calibrate.sheet import FloatArray, LevelSheet
from digitize.strokes.centre_lines.corners import with_doubtful_corners
from digitize.strokes.centre_lines.cuts import Tolerance, cut_chains
from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.centre_lines.polish import polished
from digitize.strokes.centre_lines.refine import Trail, refine_chains
from digitize.strokes.centre_lines.seeds import trace_chains
from digitize.strokes.centre_lines.width_steps import cut_at_width_steps
from digitize.strokes.collected_later import collected_later
from digitize.strokes.gearing.roundness import Squeeze, measure_squeeze, round_from_working, rounded
from digitize.strokes.gearing.teeth import find_tooth_rings
from digitize.strokes.ground import Ground, ground_of
from digitize.strokes.heads.arrowheads import find_heads
from digitize.strokes.heads.shafts import heads_on_shafts
from digitize.strokes.joining.bevels import with_bevels
from digitize.strokes.joining.board import Bench
from digitize.strokes.joining.bows import join_bows
from digitize.strokes.joining.curves import find_curves
from digitize.strokes.joining.dashes import gather_dashes
from digitize.strokes.joining.doubled import part_doubled
from digitize.strokes.joining.ends import set_ends
from digitize.strokes.joining.join import join_pieces
from digitize.strokes.joining.scraps import without_scraps
from digitize.strokes.output import line_from, strokes_from
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece, pieces_of
from digitize.strokes.primitives import Role, Strokes
from digitize.strokes.roles.breaks import find_breaks
from digitize.strokes.roles.margins import within_frame
from digitize.strokes.roles.roles import give_roles
from digitize.strokes.roles.strips import edges_laid_on
from digitize.strokes.roles.views import find_views

RMS_PX, RMS_MM = 0.20, 0.020
"""Scatter of centres about their line: a part from the picture's grain, a part from the pen (from trials)."""
LOCAL_PX, LOCAL_MM = 0.45, 0.040
"""Mean offset over `WINDOW_MM` at which a line has bent."""
WINDOW_MM = 0.8
SAGITTA_MM = 0.08
"""An arc must rise this much above its chord to be told from a line drawn a little bent."""
LONG_LINE_MM, LEAST_LONG_LINES = 10.0, 6
"""Lines of this length and number show how truly a sheet was drawn."""
DIAGONAL = math.sqrt(2.0)
"""Longest step between neighbouring points of a trail, in px."""
HAND_PERCENTILE, HAND_RATIO, HAND_SLACK_PX = 90.0, 2.0, 0.04
"""Tolerance by the scatter of the less true ones among the long lines (from trials)."""
LEAST_OF_ONE_PEN_MM = 3.0
LEAST_LENGTH_MM = 0.5


def tolerance_of(ground: Ground) -> Tolerance:
    """Return how far points may stray at the scale of a sheet, whoever drew it."""
    return Tolerance(
        RMS_PX + ground.px(RMS_MM),
        LOCAL_PX + ground.px(LOCAL_MM),
        max(4, round(ground.px(WINDOW_MM))),
        ground.px(SAGITTA_MM) + 0.3,
    )


def as_true_as_its_lines(ground: Ground, pieces: list[Piece], allowed: Tolerance) -> Tolerance:
    """Narrow a tolerance where the sheet's long lines show a truer hand.

    What strays further than they do is no line or arc drawn badly but two of them drawn well.
    """
    long = [p.rms for p in pieces if p.track.kind == LINE and p.length >= ground.px(LONG_LINE_MM)]
    if len(long) < LEAST_LONG_LINES:
        return allowed
    rms = HAND_RATIO * float(np.percentile(long, HAND_PERCENTILE)) + HAND_SLACK_PX
    share = min(rms / allowed.rms_px, 1.0)
    return allowed.times(share, doubtful=1.0 / share)


@dataclass(frozen=True)
class Traced:
    """Pieces in the round frame, the trail and the ground they lie on, and the squeeze that frame takes out."""

    ground: Ground
    trail: Trail
    pieces: list[Piece]
    squeeze: Squeeze


def traced_pieces(ground: Ground, turn_deg: float = 0.0) -> Traced:
    """Trace all ink into joined lines and arcs.

    Chains are cut twice: first with a tolerance that suits any sheet, then with the sheet's own, and, where its circles
    turn out to be ellipses all alike, in the frame that makes them round.
    """
    chains = trace_chains(ground.ink)
    trail = refine_chains(ground.dark, ground.slitless, ground.ink, chains, ground.pen_px)
    if not len(chains):
        return Traced(ground, trail, [], Squeeze())
    allowed = tolerance_of(ground)
    cuts = cut_chains(trail, allowed)
    telling = (cuts[:, 2] == ARC) | (cuts[:, 1] - cuts[:, 0] >= ground.px(LONG_LINE_MM) / DIAGONAL)
    seen = pieces_of(trail, cuts[telling])
    tolerance = as_true_as_its_lines(ground, seen, allowed)
    squeeze = measure_squeeze(ground, trail, seen, turn_deg)
    if squeeze.is_real:
        matrix = round_from_working(squeeze, turn_deg)
        ground = replace(ground, picture_from_round=np.linalg.inv(matrix).astype(np.float64))
        trail = rounded(trail, matrix)
    cuts = cut_chains(trail, tolerance)
    cuts = cut_at_width_steps(trail, cuts, round(ground.px(LEAST_OF_ONE_PEN_MM)))
    trail = with_doubtful_corners(trail, cuts)
    bench = Bench(ground, trail, allowed.rms_px, allowed.sagitta_px, tolerance.rms_px)
    ended = set_ends(bench, gather_dashes(bench, _joined(bench, tolerance, cuts, turn_deg)))
    kept = without_scraps(ground, ended)
    # Where a scrap stood between a stroke and its corner, the stroke now reaches the corner over the scrap's ink.
    whole = kept if len(kept) == len(ended) else without_scraps(ground, set_ends(bench, kept))
    straight = with_bevels(ground, part_doubled(ground, whole))
    return Traced(ground, trail, [polished(ground, trail, piece) for piece in straight], squeeze)


def _joined(bench: Bench, tolerance: Tolerance, cuts: NDArray[np.int64], turn_deg: float) -> list[Piece]:
    pieces = pieces_of(bench.trail, cuts)
    return join_bows(bench, tolerance, join_pieces(bench, within_frame(bench.ground, pieces, turn_deg)))


@collected_later
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
    turn_deg = turn_of(sheet.level_from_working)
    traced = traced_pieces(ground_of(sheet, lettering_mask), turn_deg)
    ground = traced.ground
    pieces, heads = heads_on_shafts(ground, traced.pieces, find_heads(ground, traced.pieces))
    laid_on = edges_laid_on(ground, pieces, heads, turn_deg) if sheet.one_bit else []
    kept = [k for k, p in enumerate(pieces) if p.length >= ground.px(LEAST_LENGTH_MM) and k not in laid_on]
    place = {k: n for n, k in enumerate(kept)}
    heads = [replace(head, piece=place.get(head.piece, -1)) for head in heads if head.piece not in laid_on]
    page, tables = give_roles(Page(ground, [pieces[k] for k in kept], heads, turn_deg))
    breaks = find_breaks(page)
    divisions, view_of = find_views(page, tables)
    level_from_round = sheet.level_from_working.copy()
    level_from_round[:, :2] = level_from_round[:, :2] @ ground.picture_from_round
    curves, rings = breaks + find_curves(page, traced.trail), find_tooth_rings(page, traced.trail)
    strokes = strokes_from(page, divisions, view_of, level_from_round, traced.squeeze, rings, curves)
    tape = tuple(line_from(pieces[k], level_from_round, Role.TAPE, None) for k in laid_on)
    return replace(strokes, laid_on=tape)


def turn_of(level_from_working: FloatArray) -> float:
    """Return the turn of a frame's x axis, counter-clockwise as seen, in degrees."""
    return math.degrees(math.atan2(-level_from_working[1, 0], level_from_working[0, 0]))
