"""Where the views of `part.dxf` lie on the print, as nearly as all of their edges tell.

A view's scale is that of its figures, which a careless hand has drawn this much longer and that much shorter; so is
what they are tied to. Its edges are many more: the part covers them best that is fitted to all of them.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from calibrate.sheet import FloatArray
from digitize.redraw.planes.curve import FULL_TURN_DEG
from digitize.redraw.planes.plane import LOOSE
from digitize.redraw.planes.plane_strokes import Axis, Round, Straight
from digitize.redraw.solving.solved import SolvedView
from digitize.report.frame import Frame

MOST_SCALED = 0.02  # relative: pens do not err by more over a view; more is an edge that was tied wrongly
LEAST_APART_MM = 10.0  # of paper: places nearer to each other tell no scale

Pair = tuple[float, float, float]
"""Where something lies on an axis as solved and as drawn, in part mm, and its weight: the length of its strokes."""


def frame_on_print(solved: SolvedView) -> Frame:
    """The frame from level pixels to the part mm of a solved view, by which its lines cover those of the print best.

    Notes
    -----
    On each axis least squares of drawn = scale * solved + shift over the levels of straight edges, and the rims of
    circles; where all of them lie at about one place, the view's own scale.
    """
    view = solved.view
    fits = [_fitted(list(_pairs(solved, axis)), LEAST_APART_MM * view.frame.paper_mm) for axis in Axis]
    (x_scale, x_shift), (y_scale, y_shift) = fits
    drawn_from_solved = np.array([[x_scale, 0.0, x_shift], [0.0, y_scale, y_shift], [0.0, 0.0, 1.0]])
    return replace(
        view.frame,
        mm_from_level=np.asarray(np.linalg.solve(drawn_from_solved, view.frame.mm_from_level)),
        x_mm_per_px=view.frame.x_mm_per_px / x_scale,
        y_mm_per_px=view.frame.y_mm_per_px / y_scale,
    )


def _pairs(solved: SolvedView, axis: Axis) -> Iterator[Pair]:
    shape, plane = solved.profile, solved.profile.plane
    seen: set[int] = set()
    for piece in plane.pieces:
        stroke = plane.strokes[piece.stroke]
        if isinstance(stroke, Straight) and stroke.level is not None and piece.first != LOOSE:
            level = plane.levels[stroke.level]
            if level.axis is axis and stroke.level not in seen:
                seen.add(stroke.level)
                yield plane.nodes[piece.first].at[axis.value], level.position, level.weight
    visible = {each.arc for each in plane.strokes if isinstance(each, Round)}
    for index, arc in solved.view.arcs:
        if index in visible and index in shape.circles:
            drawn, now = solved.view.frame.arc(arc), shape.circles[index]
            share = drawn.sweep_deg / FULL_TURN_DEG
            for sign in (-1.0, 1.0):
                rim, rim_drawn = (each.centre[axis.value] + sign * each.radius for each in (now, drawn))
                yield rim, rim_drawn, share * 2 * drawn.radius


def _fitted(pairs: list[Pair], least: float) -> tuple[float, float]:
    """Scale and shift from solved to drawn places."""
    table = np.array(pairs, dtype=np.float64).reshape(-1, 3)
    if not len(table) or not table[:, 2].sum():
        return 1.0, 0.0
    now, drawn, weights = table.T
    middle, middle_drawn = (float(np.average(each, weights=weights)) for each in (now, drawn))
    scale = _scale(now - middle, drawn - middle_drawn, weights) if np.ptp(now) >= least else 1.0
    if abs(scale - 1) > MOST_SCALED:
        scale = 1.0
    return scale, middle_drawn - scale * middle


def _scale(now: FloatArray, drawn: FloatArray, weights: FloatArray) -> float:
    return float((weights * now * drawn).sum() / (weights * now**2).sum())
