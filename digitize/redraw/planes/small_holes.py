"""Small holes of which a coarse scan left a heap of short strokes, made the circles that others of their size are.

Glossary
--------
heap
    Short straight strokes and arcs that hang together all round a place, as far from it as the rim of a fellow.
fellow
    A circle of the view, or an arc of half a turn and more: holes of one callout are drawn alike.
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from scipy.optimize import least_squares

from calibrate.sheet import FloatArray
from digitize.redraw.planes.curve import FULL_TURN_DEG, Circular
from digitize.redraw.planes.plane_strokes import GAP_MM, Pen, Round, Straight, ends_of, is_on

RADIUS_MM = 2.5  # of paper: larger circles are traced as such
SHORT_MM = 2.5  # of paper: a chord of such a circle that a trace takes for straight is no longer
OFF_MM, OFF_RMS_MM = 0.5, 0.25  # of paper: strokes of a heap lie no further from its rim, corners of chords among them
ALIKE_MM = 0.3  # of paper: by how much a coarse trace errs in the radius of a small circle
FEWEST = 3  # strokes: two may be a lens
OPEN_DEG = 75.0  # a heap leaves no more of its rim open
FELLOW_DEG = 180.0
SIDES, ONE_LENGTH = (4, 6), 0.2  # of what is no circle, and by what share they differ in length where a pen drew them
_STEPS = 5  # points along each stroke


def holes_of_heaps(
    straights: Sequence[Straight], rounds: Sequence[Round], pen: Pen
) -> tuple[list[Straight], list[Round]]:
    """The strokes of a view with circles in place of heaps.

    Parameters
    ----------
    straights : sequence of Straight
        In part mm.
    rounds : sequence of Round
    pen : Pen

    Returns
    -------
    straights : list of Straight
    rounds : list of Round
        A circle of a heap without an arc has an index of its own, below 0.
    """
    fellows = [
        each.curve.radius
        for each in rounds
        if each.curve.sweep_deg >= FELLOW_DEG and each.curve.radius <= RADIUS_MM * pen.paper_mm
    ]
    if not fellows:
        return list(straights), list(rounds)
    chords = [each for each in straights if 0 < each.length <= SHORT_MM * pen.paper_mm]
    bows = [each for each in rounds if not each.curve.full and each.curve.radius <= RADIUS_MM * pen.paper_mm]
    gone: list[Straight | Round] = []
    found: list[Round] = []
    for heap in _heaps([*chords, *bows], pen):
        circle = _circle_of(heap, fellows, pen)
        if circle is not None:
            arcs = sorted(each.arc for each in heap if isinstance(each, Round))
            gone += heap
            first, *also = arcs or [-1 - len(found)]
            found.append(Round(circle, first, tuple(also)))
    kept = [each for each in straights if not any(each is one for one in gone)]
    return kept, [*(each for each in rounds if not any(each is one for one in gone)), *found]


def _heaps(strokes: Sequence[Straight | Round], pen: Pen) -> Iterator[list[Straight | Round]]:
    gap, left = GAP_MM * pen.paper_mm, list(strokes)
    while left:
        heap = [left.pop(0)]
        for each in heap:
            near = [other for other in left if _meet(each, other, gap)]
            left = [other for other in left if not any(other is one for one in near)]
            heap += near
        if len(heap) >= FEWEST:
            yield heap


def _meet(one: Straight | Round, other: Straight | Round, gap: float) -> bool:
    return any(is_on(b, end, gap) for a, b in ((one, other), (other, one)) for end in ends_of(a))


def _circle_of(heap: Sequence[Straight | Round], fellows: Sequence[float], pen: Pen) -> Circular | None:
    """The circle, about as large as a fellow, that a heap lies on all round; None where it lies on none."""
    if _regular(heap):
        return None
    points = np.concatenate([_points(each) for each in heap])
    circle, off = _laid(points)
    if min(abs(circle.radius - each) for each in fellows) > ALIKE_MM * pen.paper_mm:
        return None
    turns = np.sort(np.degrees(np.arctan2(*(points - circle.centre).T[::-1])))
    open_deg = np.diff([*turns, turns[0] + FULL_TURN_DEG]).max()
    near = np.abs(off).max() <= OFF_MM * pen.paper_mm and math.sqrt(np.mean(off**2)) <= OFF_RMS_MM * pen.paper_mm
    return circle if near and open_deg <= OPEN_DEG else None


def _regular(heap: Sequence[Straight | Round]) -> bool:
    """Whether it may be a square or a nut: as many straight strokes, of one length."""
    lengths = [each.length for each in heap]
    straight = all(isinstance(each, Straight) for each in heap)
    return straight and len(heap) in SIDES and max(lengths) - min(lengths) <= ONE_LENGTH * max(lengths)


def _laid(points: FloatArray) -> tuple[Circular, FloatArray]:
    """The circle that points lie on best, and how far each of them lies beyond it."""

    def off(circle: FloatArray) -> FloatArray:
        return np.asarray(np.hypot(*(points - circle[:2]).T) - circle[2], dtype=np.float64)

    middle = points.mean(axis=0)
    circle = least_squares(off, [*middle, np.hypot(*(points - middle).T).mean()]).x
    x, y, radius = (float(each) for each in circle)
    return Circular((x, y), radius, 0.0, FULL_TURN_DEG), off(circle)


def _points(stroke: Straight | Round) -> FloatArray:
    if isinstance(stroke, Round):
        turns = np.radians(stroke.curve.start_deg + np.linspace(0.0, stroke.curve.sweep_deg, 2 * _STEPS))
        return np.asarray(stroke.curve.centre + stroke.curve.radius * np.column_stack([np.cos(turns), np.sin(turns)]))
    shares = np.linspace(0.0, 1.0, _STEPS)[:, None]
    return np.asarray(np.array(stroke.start) * (1 - shares) + np.array(stroke.end) * shares)
