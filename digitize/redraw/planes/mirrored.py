"""Edges that the trace has lost on one side of a centre line and kept on the other.

Glossary
--------
image
    Where a centre line throws an edge.
lacking
    A stretch of an image on which nothing is drawn along it.
chain
    Lacking stretches that hang together. It is put back where every end of it comes to a loose end, upon the middle of
    an edge across it, or to a corner whose other edges have images: else it may be the mouth of a recess that one side
    alone has.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.levels import LEVEL_MM
from digitize.redraw.planes.plane_strokes import GAP_MM, Axis, Pen, Round, Straight, Stroke, crossing, is_on
from digitize.redraw.planes.stroke_ends import Drawn, drawn, image, middles_of
from digitize.strokes.primitives import Point

SYMMETRIC = 0.8  # of the length of a view's straight edges on either side: so much has images that are drawn ...
ROUND_ABOUT = 0.6  # ... or so much where figures call what lies about the line round, which is alike on both sides
LEAST_MM = 0.5  # of paper: a shorter stretch is what a pen overshoots or leaves open
ALONG_SINE = math.sin(math.radians(10.0))  # an edge that runs along an image turns from it by no more


def edges_mirrored(
    straights: Sequence[Straight],
    curves: Sequence[Round | Bent],
    centres: Sequence[Straight],
    pen: Pen,
    turned: Sequence[tuple[Axis, float]] = (),
) -> list[Straight]:
    """The edges of one view that its own symmetry puts back.

    Parameters
    ----------
    straights : sequence of Straight
        In part mm.
    curves : sequence of Round or Bent
        Its other visible strokes.
    centres : sequence of Straight
        Its centre lines.
    pen : Pen
    turned : sequence of (Axis, float)
        Across which axes figures call what they span round, and where its middle lies.
    """
    seen = drawn([*straights, *curves], tuple(middles_of(centres, pen)), pen)
    edges = [each for each in straights if each.length]
    found: list[Straight] = []
    for axis, middle in seen.middles if seen.loose else ():
        every = [*edges, *found]
        lacking = [part for each in edges for part in _lacking(_image(each, axis, middle), every, pen)]
        beside = sum(each.length - _own_image(each, axis, middle) for each in edges)
        alike = ROUND_ABOUT if _round_about(axis, middle, turned, pen) else SYMMETRIC
        if sum(part.length for part in lacking) <= (1 - alike) * beside:
            sides = replace(seen, middles=((axis, middle),))
            chains = [each for each in _chains(lacking, pen) if _ends_well(each, sides, every, pen)]
            found += [part for chain in chains for part in chain]
    return found


def _round_about(axis: Axis, middle: float, turned: Sequence[tuple[Axis, float]], pen: Pen) -> bool:
    return any(across is axis and abs(at - middle) <= GAP_MM * pen.paper_mm for across, at in turned)


def _image(edge: Straight, axis: Axis, middle: float) -> Straight:
    return Straight(image(edge.start, axis, middle), image(edge.end, axis, middle))


def _own_image(edge: Straight, axis: Axis, middle: float) -> float:
    """How much of an edge is its own image, whatever the drawing: what lies square across a centre line as far on one
    side as on the other."""
    if abs(edge.direction[1 - axis.value]) > ALONG_SINE:
        return 0.0
    low, high = sorted((edge.start[axis.value] - middle, edge.end[axis.value] - middle))
    return 2 * max(min(-low, high), 0.0)


def _lacking(line: Straight, edges: Sequence[Straight], pen: Pen) -> Iterator[Straight]:
    """Stretches of an image that no edge covers."""
    slack = pen.slack(LEVEL_MM)
    spans = sorted(span for each in edges if (span := _covered(line, each, slack)) is not None)
    reach = [(0.0, 0.0), *spans, (line.length, line.length)]
    done = 0.0
    for (_, high), (low, _) in pairwise(reach):
        done = max(done, high)
        if low - done >= LEAST_MM * pen.paper_mm:
            yield Straight(_at(line, done), _at(line, low))


def _covered(line: Straight, edge: Straight, slack: float) -> tuple[float, float] | None:
    """From where to where an edge covers a line; None where it does not run along it."""
    (ax, ay), (bx, by) = line.direction, edge.direction
    if abs(ax * by - ay * bx) > ALONG_SINE:
        return None
    low, high = sorted((line.along(edge.start), line.along(edge.end)))
    low, high = max(low, 0.0), min(high, line.length)
    middle = _at(line, (low + high) / 2)
    off = abs((middle[0] - edge.start[0]) * by - (middle[1] - edge.start[1]) * bx)
    return (low, high) if low < high and off <= slack else None


def _at(line: Straight, along: float) -> Point:
    (dx, dy), (x, y) = line.direction, line.start
    return x + along * dx, y + along * dy


def _chains(parts: Sequence[Straight], pen: Pen) -> list[list[Straight]]:
    gap, chains = GAP_MM * pen.paper_mm, list[list[Straight]]()
    for part in parts:
        touching = [each for each in chains if any(_meet(part, other, gap) for other in each)]
        chains = [each for each in chains if each not in touching]
        chains.append([part, *(other for each in touching for other in each)])
    return chains


def _meet(one: Straight, other: Straight, gap: float) -> bool:
    return any(math.dist(a, b) <= gap for a in (one.start, one.end) for b in (other.start, other.end))


def _ends_well(chain: Sequence[Straight], seen: Drawn, edges: Sequence[Straight], pen: Pen) -> bool:
    """Whether a chain comes to loose ends, and to nothing else but edges across it and corners of both sides; and no
    edge is drawn from one of its ends to another, as a bevel is that the other side has filled."""
    gap = GAP_MM * pen.paper_mm
    loose = [each.at for each in seen.loose]
    ends = [(at, part) for part in chain for at in (part.start, part.end)]

    def joined(at: Point, part: Straight) -> bool:
        near = min(gap, part.length / 2)  # of a short stretch one end alone comes to what it is joined with
        return any(math.dist(at, other) <= near for other, of in ends if of is not part)

    free = [(at, part) for at, part in ends if not joined(at, part)]
    if any(_runs_between(each, [at for at, _ in free], gap) for each in edges):
        return False
    at_loose = [any(math.dist(at, each) <= gap for each in loose) for at, _ in free]
    return any(at_loose) and all(
        ended or any(_across(each, at, part, gap) for each in seen.strokes) or seen.alike_across(at, part, gap)
        for ended, (at, part) in zip(at_loose, free, strict=True)
    )


def _runs_between(edge: Straight, places: Sequence[Point], gap: float) -> bool:
    """Whether an edge goes from one of some places to another."""
    at_start, at_end = (
        [n for n, at in enumerate(places) if math.dist(end, at) <= gap] for end in (edge.start, edge.end)
    )
    return any(one != other for one in at_start for other in at_end)


def _across(stroke: Stroke, at: Point, part: Straight, gap: float) -> bool:
    """Whether a stretch ends upon a straight edge that goes on beyond it on both sides."""
    if not isinstance(stroke, Straight) or not crossing(stroke, part) or not is_on(stroke, at, gap):
        return False
    return gap < stroke.along(at) < stroke.length - gap
