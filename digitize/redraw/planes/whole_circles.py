"""Circles that dropouts or a crease have cut into arcs: what is missing is too short to be anything else. An arc that
was cut in two is one where its parts go on from each other; parts that do so nearly all round are one circle, however
the pen strayed.

A keyseat or a flat that parts a circle has edges that come to its ends; a circle with such is left as it is.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.curve import FULL_TURN_DEG, Circular, fitted_circle
from digitize.redraw.planes.meetings import SNAP_MM
from digitize.redraw.planes.plane_strokes import GAP_MM, Pen, Round, Straight, Stroke, ends_of, is_on
from digitize.strokes.primitives import Point

ONE_ARC_MM = 0.2  # of paper: an arc that lies as near to another's circle, and goes on from its end, is of that arc
ONE_ARC_DEG = 200.0  # and no more than a slot's round end turns by, and a hand's overshoot: the rest may be a circle
ROUND_DEG = 270.0  # arcs that go on from each other for more are of one circle, which a keyseat or a flat parts
SAMPLE_DEG = 5.0  # between the points of an arc that a circle is fitted to
MISSING_MM = 2.0  # of paper, of one circle: a longer edge that stood there instead is traced by itself


def made_whole(rounds: Sequence[Round], others: Sequence[Straight | Bent], pen: Pen) -> list[Round]:
    """The round strokes of one view, arcs of one circle that miss little of it as that circle.

    Parameters
    ----------
    rounds : sequence of Round
        In part mm.
    others : sequence of Straight or Bent
        The view's other visible strokes.
    pen : Pen
    """
    left, whole = [each for each in rounds if not each.curve.full], [each for each in rounds if each.curve.full]
    left = [each for chain in _chains(_continued(left, pen), pen) for each in _round_about(chain, pen)]
    while left:
        first = max(left, key=lambda each: each.length)
        arcs = [each for each in left if _one_circle(first.curve, each.curve, SNAP_MM * pen.paper_mm)]
        left = [each for each in left if each not in arcs]
        beside = [*others, *left]
        also = (*first.also, *(arc for each in arcs if each is not first for arc in (each.arc, *each.also)))
        circle = Round(replace(first.curve, sweep_deg=FULL_TURN_DEG), first.arc, also)
        gaps = list(_gaps(circle, arcs))
        short = sum(math.dist(*gap) for gap in gaps) <= MISSING_MM * pen.paper_mm
        whole += [circle] if short and not any(_ends_at(each, circle, gaps, pen) for each in beside) else arcs
    return sorted(whole, key=lambda each: each.arc)


def _continued(arcs: Sequence[Round], pen: Pen) -> list[Round]:
    """Arcs, the longest first, each with those that go on from its ends."""
    left, found = sorted(arcs, key=lambda each: -each.length), []
    while left:
        arc = left.pop(0)
        while (more := next((each for each in left if _goes_on(arc, each, pen)), None)) is not None:
            left.remove(more)
            arc = _joined(arc, more)
        found.append(arc)
    return found


def _goes_on(arc: Round, more: Round, pen: Pen) -> bool:
    """Whether an arc begins where a longer one ends, or ends where that begins, and lies on its circle throughout."""
    mine, other = arc.curve, more.curve
    places = (other.start, other.at(other.start_deg + other.sweep_deg / 2), other.end)
    if any(abs(math.dist(at, mine.centre) - mine.radius) > ONE_ARC_MM * pen.paper_mm for at in places):
        return False
    apart = min(math.dist(mine.end, other.start), math.dist(other.end, mine.start))
    return apart <= GAP_MM * pen.paper_mm and mine.sweep_deg + other.sweep_deg < ONE_ARC_DEG


def _joined(arc: Round, more: Round) -> Round:
    """An arc that goes on to the far end of another."""
    before = math.dist(more.curve.end, arc.curve.start) < math.dist(arc.curve.end, more.curve.start)
    if before:
        back = FULL_TURN_DEG - arc.turn_deg(more.curve.start)
        curve = replace(arc.curve, start_deg=arc.curve.start_deg - back, sweep_deg=arc.curve.sweep_deg + back)
    else:
        curve = replace(arc.curve, sweep_deg=arc.turn_deg(more.curve.end))
    return Round(curve, arc.arc, (*arc.also, more.arc, *more.also))


def _chains(arcs: Sequence[Round], pen: Pen) -> list[list[Round]]:
    """Arcs that follow one another from end to start; arcs all round, which have no first one, each by itself."""
    gap = GAP_MM * pen.paper_mm
    following: dict[int, int] = {}
    for n, arc in enumerate(arcs):
        apart = {m: math.dist(arc.curve.end, each.curve.start) for m, each in enumerate(arcs) if m != n}
        nearest = min(apart, key=apart.__getitem__, default=None)
        if nearest is not None and apart[nearest] <= gap and nearest not in following.values():
            following[n] = nearest
    chains, left = list[list[Round]](), set(range(len(arcs)))
    for first in sorted(left - set(following.values())):
        chain = [first]
        while (last := chain[-1]) in following:
            chain.append(following[last])
        left -= set(chain)
        chains.append([arcs[n] for n in chain])
    return chains + [[arcs[n]] for n in sorted(left)]


def _round_about(chain: Sequence[Round], pen: Pen) -> Sequence[Round]:
    """A chain of arcs that goes nearly all round as one arc of the circle nearest to them; any other as it is."""
    if len(chain) == 1 or not ROUND_DEG <= sum(each.curve.sweep_deg for each in chain) < FULL_TURN_DEG:
        return chain
    longest = max(chain, key=lambda each: each.length)
    around = np.array(longest.curve.centre)
    places = np.array([at for each in chain for at in _sampled(each.curve)]) - around
    x, y, radius = fitted_circle(places, longest.curve.radius)
    if np.abs(np.hypot(places[:, 0] - x, places[:, 1] - y) - radius).max() > SNAP_MM * pen.paper_mm:
        return chain
    centre = float(around[0] + x), float(around[1] + y)
    first, last = chain[0].curve.start, chain[-1].curve.end
    start_deg, end_deg = (math.degrees(math.atan2(at[1] - centre[1], at[0] - centre[0])) for at in (first, last))
    curve = Circular(centre, radius, start_deg, (end_deg - start_deg) % FULL_TURN_DEG)
    also = (*longest.also, *(arc for each in chain if each is not longest for arc in (each.arc, *each.also)))
    return [Round(curve, longest.arc, also)]


def _sampled(curve: Circular) -> list[Point]:
    turns = np.linspace(0.0, curve.sweep_deg, max(2, math.ceil(curve.sweep_deg / SAMPLE_DEG))).tolist()
    return [curve.at(curve.start_deg + turn) for turn in turns]


def _one_circle(one: Circular, other: Circular, slack: float) -> bool:
    return math.dist(one.centre, other.centre) <= slack and abs(one.radius - other.radius) <= slack


def _gaps(circle: Round, arcs: Sequence[Round]) -> Iterator[tuple[Point, Point]]:
    """Ends of what arcs leave of their circle; a gap of half a turn and more has the circle's width."""
    turns = sorted((circle.turn_deg(each.curve.start), each.curve.sweep_deg) for each in arcs)
    done = 0.0
    for start, sweep in [*turns, (FULL_TURN_DEG, 0.0)]:
        if start > done:
            end_deg = min(start, done + FULL_TURN_DEG / 2)
            yield circle.curve.at(circle.curve.start_deg + done), circle.curve.at(circle.curve.start_deg + end_deg)
        done = max(done, start + sweep)


def _ends_at(stroke: Stroke, circle: Round, gaps: Sequence[tuple[Point, Point]], pen: Pen) -> bool:
    """Whether a stroke that does not run along a circle ends at one of its gaps."""
    gap = GAP_MM * pen.paper_mm
    if all(is_on(circle, end, gap) for end in ends_of(stroke)):
        return False
    return any(math.dist(end, at) <= gap for end in ends_of(stroke) for ends in gaps for at in ends)
