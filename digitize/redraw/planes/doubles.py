"""Strokes that are no edges of their own: ink taken twice, and rings round specks of paper."""

import math
from collections.abc import Sequence

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.curve import FULL_TURN_DEG
from digitize.redraw.planes.meetings import TANGENT_MM, gap_between, meeting_points, reaches
from digitize.redraw.planes.plane_strokes import GAP_MM, Pen, Round, Straight, Stroke, foot_on, is_on
from digitize.strokes.primitives import Point

DOUBLE_MM = 0.35  # a short stroke no further than this from longer ones, all the way, is their ink taken twice ...
DOUBLE_LENGTH_MM = 8.0  # ... and short is up to this
_DOUBLE_SAMPLES = 6
ACROSS_SINE = 0.5  # of the angle between strokes that run across each other
EYE_MM = 1.6  # a circle no wider that meets other strokes is the ink round the paper left in a corner


def without_doubles(strokes: Sequence[Stroke], paper_mm: float) -> tuple[Stroke, ...]:
    """Drop short strokes that lie along longer ones all the way: the same ink taken twice."""
    return tuple(
        stroke
        for stroke in strokes
        if stroke.length > DOUBLE_LENGTH_MM * paper_mm
        or not _lies_along(stroke, [each for each in strokes if each.length > stroke.length], DOUBLE_MM * paper_mm)
    )


def without_eyes(strokes: Sequence[Stroke], pen: Pen) -> tuple[Stroke, ...]:
    """Drop the rings of ink round the speck of paper that a hatch line cuts off in a corner."""
    eyes = [
        each
        for each in strokes
        if isinstance(each, Round)
        and each.curve.sweep_deg > FULL_TURN_DEG / 2
        and 2 * each.curve.radius <= EYE_MM * pen.paper_mm
        and any(_meets(each, other, pen) for other in strokes if other is not each)
    ]
    return tuple(each for each in strokes if each not in eyes)


def without_chords(strokes: Sequence[Stroke], pen: Pen) -> tuple[Stroke, ...]:
    """Drop slanted strokes all along a line and an arc that touch when made longer: ink of both, taken for a third."""
    touching = [
        (one, other)
        for one in strokes
        if isinstance(one, Straight)
        for other in strokes
        if isinstance(other, Round) and _touch(one, other, pen)
    ]
    return tuple(each for each in strokes if not any(_is_chord(each, pair, pen) for pair in touching))


def _touch(line: Straight, arc: Round, pen: Pen) -> bool:
    gap = gap_between(line, arc, True, pen)
    meetings = meeting_points(line, arc, pen.slack(TANGENT_MM), GAP_MM * pen.paper_mm)
    return any(touching and reaches(line, at, gap) and reaches(arc, at, gap) for at, touching in meetings)


def _is_chord(stroke: Stroke, pair: tuple[Straight, Round], pen: Pen) -> bool:
    """Whether a stroke lies along a line, then an arc, and what is missing of them to where they touch."""
    if not isinstance(stroke, Straight) or stroke.level is not None or stroke in pair or _across(stroke, pair[0]):
        return False
    gap, slack = gap_between(*pair, True, pen), pen.slack(TANGENT_MM)
    lying = [
        [reaches(each, at, gap) and math.dist(foot_on(each, at), at) <= slack for each in pair]
        for at in _samples(stroke)
    ]
    return all(map(any, lying)) and all(map(any, zip(*lying, strict=True)))


def _meets(one: Stroke, other: Stroke, pen: Pen) -> bool:
    touch, gap = pen.slack(TANGENT_MM), GAP_MM * pen.paper_mm
    meetings = meeting_points(one, other, touch, gap)
    return any(reaches(other, at, gap_between(one, other, touching, pen)) for at, touching in meetings)


def _lies_along(stroke: Stroke, others: Sequence[Stroke], slack: float) -> bool:
    beside = [other for other in others if not _across(stroke, other)]
    return all(any(is_on(other, at, slack) for other in beside) for at in _samples(stroke))


def _across(one: Stroke, other: Stroke) -> bool:
    """Whether two straight strokes run across each other: the riser of a small step lies near its two treads."""
    if not (isinstance(one, Straight) and isinstance(other, Straight)):
        return False
    (ax, ay), (bx, by) = one.direction, other.direction
    return abs(ax * by - ay * bx) > ACROSS_SINE


def _samples(stroke: Stroke) -> list[Point]:
    shares = [i / _DOUBLE_SAMPLES for i in range(_DOUBLE_SAMPLES + 1)]
    if isinstance(stroke, Bent):
        return [stroke.at(share * stroke.length) for share in shares]
    if isinstance(stroke, Round):
        return [stroke.curve.at(stroke.curve.start_deg + share * stroke.curve.sweep_deg) for share in shares]
    (x0, y0), (x1, y1) = stroke.start, stroke.end
    return [(x0 + (x1 - x0) * share, y0 + (y1 - y0) * share) for share in shares]
