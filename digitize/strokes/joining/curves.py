"""Curves that are neither line nor circle: cams, freehand outlines, hand-drawn breaks. Each becomes one spline.

Cutting into lines and arcs leaves such a curve as a heap of short ones that flow into each other. A heap is a curve if
a smooth spline follows its ink as closely as the heap does with fewer numbers; a fillet between two lines, or a bow of
two compass arcs, takes a spline more numbers and stays as it is.

Glossary
--------
heap
    Pieces that flow into each other end to end, none long or round enough to be sure of what it is.
numbers
    What must be given to draw a thing: two for a line, three for a circle, one for every joint; for a spline two a
    control point and one a knot between its ends.
"""

import math
from dataclasses import dataclass, replace
from typing import cast

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline, splprep

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.centre_lines.refine import DOUBTFUL, Trail
from digitize.strokes.joining.board import WIDTH_SHARE, WIDTH_SLACK_PX
from digitize.strokes.joining.meetings import END, START, meetings_of
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Role

FloatArray = NDArray[np.float64]

REACH_MM = 0.3
"""Ends of two members are at most this far apart, besides a pen width."""
TURN_DEG = 25.0
LONGEST_STRAIGHT_MM = 6.0
"""A longer line was drawn along a rule."""
SURE_SWEEP_DEG = 120.0
"""An arc that keeps to one circle for this long was drawn with compasses."""
LEAST_MEMBERS = 3
DEGREE = 3
STRAY_PX = 0.06
"""A spline may stray from its ink by so much (root mean square), besides the scatter of the ink itself."""
NOT_CONVERGED = 3
"""Codes up to this one name a spline that is sound though its smoothness is not exactly as asked."""
TIP_WEIGHT = 20.0
"""An end was set where it belongs: it counts as much as so many px of the trail."""
SAMPLES = 60
LEAST_WAVES = 2
"""A smooth curve that bends over this often and keeps to its chord is a break drawn by hand."""
KEEPS_TO_CHORD = 0.75
LEAST_BEND_SHARE = 0.25
"""A bend counts as a turn only where it is this strong beside the strongest."""


@dataclass(frozen=True)
class Curve:
    """A cubic spline in the frame of the pieces, and the numbers of the pieces that it stands for.

    ``knots`` run from 0 to 1, ``DEGREE + 1`` of them at either end; ``control`` has shape (N, 2).
    """

    members: tuple[int, ...]
    knots: FloatArray
    control: FloatArray
    width: float
    rms: float
    role: Role


def find_curves(page: Page, trail: Trail) -> list[Curve]:
    """Find the curves among the pieces of a sheet.

    Parameters
    ----------
    page : Page
        With a role for every piece.
    trail : Trail
        That the pieces were fitted to.
    """
    shafts = {head.piece for head in page.heads}
    loose = [k for k, piece in enumerate(page.pieces) if k not in shafts and _may_belong(page, k, piece)]
    smooth = [_smooth_curve(page, trail, heap) for heap in heaps(page, loose, TURN_DEG, LEAST_MEMBERS)]
    return [curve for curve in smooth if curve is not None]


def _may_belong(page: Page, k: int, piece: Piece) -> bool:
    """Whether a piece is solid, an edge as far as is known, and too short to be sure of what it is."""
    if piece.dash != "solid" or piece.closed or page.roles[k] not in (Role.VISIBLE, Role.LEADER, Role.HATCH):
        return False
    if piece.track.kind == LINE:
        return piece.length <= page.px(LONGEST_STRAIGHT_MM)
    return piece.length <= math.radians(SURE_SWEEP_DEG) * piece.track.radius


def heaps(page: Page, loose: list[int], turn_deg: float, least: int) -> list[list[tuple[int, bool]]]:
    """Runs of loose pieces that turn little from one to the next: numbers in order, and whether walked forwards."""
    pieces = [page.pieces[k] for k in loose]
    mate: dict[tuple[int, int], tuple[int, int]] = {}
    for m in meetings_of(pieces, page.px(REACH_MM), turn_deg):
        first, second = (m.first, m.first_end), (m.second, m.second_end)
        if first not in mate and second not in mate and alike(pieces[m.first], pieces[m.second]):
            mate[first], mate[second] = second, first
    runs, used = [], set[int]()
    for k in sorted(range(len(pieces)), key=lambda k: ((k, START) in mate) + ((k, END) in mate)):
        if k in used:
            continue
        run, side = [], START if (k, START) not in mate else END if (k, END) not in mate else START
        at: tuple[int, int] | None = (k, side)
        while at is not None and at[0] not in used:
            used.add(at[0])
            run.append((loose[at[0]], at[1] == START))
            at = mate.get((at[0], END if at[1] == START else START))
        if len(run) >= least:
            runs.append(run)
    return runs


def alike(first: Piece, second: Piece) -> bool:
    """Whether two pieces are as wide as each other."""
    wider = max(first.width, second.width)
    return abs(first.width - second.width) <= WIDTH_SHARE * wider + WIDTH_SLACK_PX


def _smooth_curve(page: Page, trail: Trail, heap: list[tuple[int, bool]]) -> Curve | None:
    """The spline through a heap; None where it takes as many numbers as the heap, or more."""
    curve = _through(page, trail, heap)
    if curve is None or _numbers_of_spline(curve.knots) >= _numbers_of_heap([page.pieces[k] for k, _ in heap]):
        return None
    return replace(curve, role=Role.BREAK) if waves(curve.knots, curve.control) >= LEAST_WAVES else curve


def _through(page: Page, trail: Trail, heap: list[tuple[int, bool]]) -> Curve | None:
    pieces = [page.pieces[k] for k, _ in heap]
    points, weight = _centre_line(trail, pieces, [forwards for _, forwards in heap])
    length = [p.length for p in pieces]
    scatter = math.sqrt(float(np.average([p.rms**2 for p in pieces], weights=length)))
    fitted = fit_spline(points, weight, math.hypot(scatter, STRAY_PX))
    if fitted is None:
        return None
    width = float(np.average([p.width for p in pieces], weights=length))
    return Curve(tuple(k for k, _ in heap), *fitted, width, scatter, Role.VISIBLE)


def _numbers_of_heap(pieces: list[Piece]) -> int:
    return sum(3 if p.track.kind == ARC else 2 for p in pieces) + len(pieces) - 1


def _numbers_of_spline(knots: FloatArray) -> int:
    inner = len(knots) - 2 * (DEGREE + 1)
    return 2 * (inner + DEGREE + 1) + inner


def _centre_line(trail: Trail, pieces: list[Piece], forwards: list[bool]) -> tuple[FloatArray, FloatArray]:
    """Trusted points along a heap in walking order, and their weights; its two ends are where they were set."""
    rows = []
    for piece, ahead in zip(pieces, forwards, strict=True):
        picks = np.concatenate([np.arange(a, b) for a, b in piece.spans])
        picks = picks[trail.weight[picks] > 5 * DOUBTFUL]
        own = np.stack([trail.x[picks], trail.y[picks], trail.weight[picks]], axis=1)
        s, _ = piece.track.place(own[:, :2])
        if piece.track.kind == ARC:
            middle = 0.5 * (piece.s0 + piece.s1)
            s = middle + (s - middle + 0.5 * piece.track.period) % piece.track.period - 0.5 * piece.track.period
        within = (s > piece.s0) & (s < piece.s1)
        rows.append(own[within][np.argsort(s[within] if ahead else -s[within])])
    start = pieces[0].start if forwards[0] else pieces[0].end
    end = pieces[-1].end if forwards[-1] else pieces[-1].start
    walked = np.vstack([[(*start, TIP_WEIGHT)], *rows, [(*end, TIP_WEIGHT)]])
    moved = np.append(True, np.hypot(*np.diff(walked[:, :2], axis=0).T) > 0.0)
    return walked[moved, :2], walked[moved, 2]


def fit_spline(points: FloatArray, weight: FloatArray, rms: float) -> tuple[FloatArray, FloatArray] | None:
    """Fit a smooth cubic spline with few knots.

    Parameters
    ----------
    points : ndarray, shape (N, 2)
        In order along the curve.
    weight : ndarray, shape (N,)
    rms : float
        Distance, in px, that the points are allowed from the spline. Knots are added where they stray most until it is
        kept (P. Dierckx, Curve and surface fitting with splines, 1993, as scipy has it).

    Returns
    -------
    knots, control : ndarray
        Shapes (M + DEGREE + 1,) and (M, 2); None where the points are too few.
    """
    if len(points) <= 2 * (DEGREE + 1):
        return None
    length = np.append(0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T)))
    smoothing = float(weight.sum()) * rms**2
    fitted, _, failure, _ = splprep(
        list(points.T), w=np.sqrt(weight), u=length / length[-1], k=DEGREE, s=smoothing, full_output=True, quiet=True
    )
    (knots, control, _), _ = cast(tuple[tuple[FloatArray, list[FloatArray], int], FloatArray], fitted)
    return (knots, np.column_stack(control)) if failure <= NOT_CONVERGED else None


def points_along(knots: FloatArray, control: FloatArray, count: int = SAMPLES) -> FloatArray:
    """Points along a spline, shape (count, 2)."""
    return np.asarray(BSpline(knots, control, DEGREE)(np.linspace(0.0, 1.0, count)), dtype=np.float64)


def waves(knots: FloatArray, control: FloatArray) -> int:
    """How often a curve that keeps to its chord bends over from one side to the other; 0 for one that does not keep."""
    points = points_along(knots, control)
    step = np.diff(points, axis=0)
    length = float(np.hypot(*step.T).sum())
    if math.dist(points[0], points[-1]) < KEEPS_TO_CHORD * length:
        return 0
    bend = step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0]
    strong = bend[np.abs(bend) >= LEAST_BEND_SHARE * np.abs(bend).max()]
    return int((np.sign(strong[1:]) != np.sign(strong[:-1])).sum())
