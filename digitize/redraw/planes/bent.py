"""Curves of the plane graph that are neither straight nor round: cams, freehand edges, flanks of teeth.

Such a curve meets other strokes where it ends, or where they end on it. No figure shapes it: between the nodes at its
ends it goes along as drawn, turned and scaled with them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy.interpolate import BSpline
from shapely import LineString
from shapely import Point as Spot

from digitize.report.frame import Frame
from digitize.strokes.primitives import Point, Spline

CHORDS = 24  # of each knot span: leaves the curve by a thousandth of the span's own rise
CLOSED_MM = 0.8  # of paper: a curve whose ends come so near each other is a loop


@dataclass(frozen=True)
class Bent:
    """A curve as a chain of chords."""

    points: tuple[Point, ...]

    @property
    def line(self) -> LineString:
        """The chain."""
        return LineString(self.points)

    @property
    def length(self) -> float:
        """Length in mm."""
        return float(self.line.length)

    def along(self, point: Point) -> float:
        """How far along the curve the place lies that is nearest to a point."""
        return float(self.line.project(Spot(point)))

    def at(self, along: float) -> Point:
        """The place so far along the curve."""
        spot = self.line.interpolate(along)
        return float(spot.x), float(spot.y)

    def miss(self, point: Point) -> float:
        """Distance of a point from the curve."""
        return float(self.line.distance(Spot(point)))

    def between(self, first: Point, last: Point) -> list[Point]:
        """The chain from one place on it to another, which are its ends exactly."""
        low, high = self.along(first), self.along(last)
        places = np.cumsum([0.0, *(math.dist(a, b) for a, b in pairwise(self.points))])
        inner = [p for p, at in zip(self.points, places, strict=True) if min(low, high) < at < max(low, high)]
        return [first, *(inner if low <= high else inner[::-1]), last]

    def carried(self, old: tuple[Point, Point], new: tuple[Point, Point]) -> "Bent":
        """The curve turned, scaled and moved so that two places on it come to two others."""
        (a, b), (c, d) = ((complex(*p), complex(*q)) for p, q in (old, new))
        turn = complex(1.0) if a == b else (d - c) / (b - a)
        moved = [c + (complex(*point) - a) * turn for point in self.points]
        return replace(self, points=tuple((each.real, each.imag) for each in moved))


def bent_of(spline: Spline, frame: Frame) -> list[Bent]:
    """A traced curve in the frame of its view; a loop in two halves."""
    knots = np.array(spline.knots)
    curve = BSpline(knots, np.array(spline.control), len(knots) - len(spline.control) - 1)
    spans = np.unique(knots)
    places = np.unique(np.concatenate([np.linspace(a, b, CHORDS + 1) for a, b in pairwise(spans)]))
    points = [(float(x), float(y)) for x, y in frame.level_to_mm(curve(places))]
    if math.dist(points[0], points[-1]) > CLOSED_MM * frame.paper_mm:
        return [Bent(tuple(points))]
    half = len(points) // 2
    return [Bent(tuple(points[: half + 1])), Bent((*points[half:-1], points[0]))]


def ends_on(curve: Bent, others: Sequence[Point], gap: float) -> list[Point]:
    """Places on a curve where some points end on it."""
    return [curve.at(curve.along(each)) for each in others if curve.miss(each) <= gap]
