"""The shape of an arrowhead, and whether the ink in and about it bears it out."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from digitize.strokes.compiled import compiled
from digitize.strokes.heads.flanks import STEP_PX, UNKNOWN

FloatArray = NDArray[np.float64]

UNEVEN_PX, UNEVEN_SHARE = 0.8, 0.2
"""One side of a head may reach so much further than the other, in px and as a share of its half width."""
ASIDE_PX = 1.6
"""A filled head drawn by whole pixels may lie so far beside its shaft: one side reaches further by an even step."""
SHAFT_PLACES = 4
"""Behind its tail a head leaves nothing but its shaft at so many places,"""
SLANTED_SHARE, STILL_HEAD, CLEAR_FLARE = 0.25, 0.75, 2.5
"""after a slanted back, as a hand or a scanner leaves: over this share of its length one side may be nearly as wide as
the head yet, where that is so many times as wide as its line."""
WIDEST_BARBS = 1.5
"""Ink further out than this times a head's half width is no barb of it."""
LEAST_AHEAD = 3
"""Places that tell what lies ahead of a tip."""
LEAST_SEEN_SHARE, LEAST_SEEN_BOTH_SHARE = 0.6, 0.25
HEAVIEST_BARB = 1.6
"""Thickness of a barb, measured across the shaft, over the width of the shaft."""
BEYOND = np.array([1.5, 1.7, 1.9])
"""Behind the tail it is looked whether the flanks run on, in lengths of the head from its tip."""


class Shape(NamedTuple):
    """A head read from its flanks: tip and tail behind the candidate, slope, scatter, half width, form.

    The slope is 0 where there is none.
    """

    tip: float
    tail: float
    slope: float
    rms: float
    peak: float
    is_open: bool


@compiled
def is_borne_out(
    inner: FloatArray, near: FloatArray, outer: FloatArray, shape: Shape, base: float, barb: float
) -> bool:
    """Whether what lies in and about a shape is what a head leaves; flanks are as `follow_flanks` makes them."""
    return bool(
        _is_seen(inner, outer, shape)
        and _is_even(inner, outer, shape)
        and _has_shaft(inner, shape, base)
        and not _goes_on(outer, shape)
        and not _is_heavy(near, outer, shape, base)
        and not _tapers_on(inner, shape, barb)
    )


@compiled
def _is_seen(inner: FloatArray, outer: FloatArray, shape: Shape) -> bool:
    """Whether strangers leave enough of a head free to tell."""
    first, end = int(max(shape.tip, 0.0) / STEP_PX), min(int(shape.tail / STEP_PX), inner.shape[1])
    one_side, both = 0, 0
    for k in range(first, end):
        known = min(inner[0, k], outer[0, k]) != UNKNOWN, min(inner[1, k], outer[1, k]) != UNKNOWN
        one_side += known[0] or known[1]
        both += known[0] and known[1]
    count = end - first
    return bool(count > 0 and one_side >= LEAST_SEEN_SHARE * count and both >= LEAST_SEEN_BOTH_SHARE * count)


@compiled
def _is_heavy(near: FloatArray, outer: FloatArray, shape: Shape, base: float) -> bool:
    """Whether what look like barbs are strokes of a heavier pen."""
    first, end = int(max(shape.tip, 0.0) / STEP_PX), min(int(shape.tail / STEP_PX), outer.shape[1])
    thickness, count = np.empty(outer.size), 0
    for side in range(2):
        for k in range(first, end):
            if near[side, k] > 0.0 and 0.0 < outer[side, k] <= WIDEST_BARBS * shape.peak:
                thickness[count] = outer[side, k] - near[side, k]
                count += 1
    return bool(count > 0 and np.median(thickness[:count]) > HEAVIEST_BARB * 2.0 * base + 1.0)


@compiled
def _tapers_on(inner: FloatArray, shape: Shape, barb: float) -> bool:
    """Whether ink, narrower than a barb, goes on ahead of an open head's tip: the point of a filled one."""
    end = min(int((shape.tip - barb) / STEP_PX), inner.shape[1])
    if not shape.is_open or end < LEAST_AHEAD:
        return False
    narrowest = np.minimum(inner[0, :end], inner[1, :end])
    return bool(narrowest.min() > 0.0 and narrowest.max() <= barb)


@compiled
def _is_even(inner: FloatArray, outer: FloatArray, shape: Shape) -> bool:
    """Whether the two sides of a head are alike over its rear half, where nothing but the head should be."""
    first = int((0.5 * shape.tail + 0.5 * max(shape.tip, 0.0)) / STEP_PX)
    apart, count = np.empty(inner.shape[1]), 0
    edges = np.empty(2)
    for k in range(first, min(int(shape.tail / STEP_PX) - 1, len(apart))):
        if min(inner[0, k], inner[1, k], outer[0, k], outer[1, k]) == UNKNOWN:
            continue
        for side in range(2):
            is_barb = shape.is_open and 0.0 < outer[side, k] <= WIDEST_BARBS * shape.peak
            edges[side] = outer[side, k] if is_barb else inner[side, k]
        apart[count] = edges[0] - edges[1]
        count += 1
    if count < 2:
        return False
    apart = apart[:count]
    if np.median(np.abs(apart)) <= UNEVEN_PX + UNEVEN_SHARE * shape.peak:
        return True
    aside = np.median(apart)
    set_aside = not shape.is_open and abs(aside) <= min(2.0 * ASIDE_PX, shape.peak)
    return bool(set_aside and np.median(np.abs(apart - aside)) <= 0.5 * UNEVEN_PX)


@compiled
def _goes_on(outer: FloatArray, shape: Shape) -> bool:
    """Whether the flanks run on well behind the tail: two lines that cross here, no head."""
    length = shape.tail - shape.tip
    if int((BEYOND[-1] * length + shape.tip) / STEP_PX) >= outer.shape[1]:
        return False
    for lengths in BEYOND:
        k, expected = int((lengths * length + shape.tip) / STEP_PX), shape.slope * lengths * length
        for side in range(2):
            if outer[side, k] <= 0.0 or abs(outer[side, k] - expected) > 2.0 + 0.25 * expected:
                return False
    return True


@compiled
def _has_shaft(inner: FloatArray, shape: Shape, base: float) -> bool:
    """Whether nothing but a thin line, or paper, follows behind the tail."""
    slanted = 0
    if shape.peak >= CLEAR_FLARE * base:
        slanted = int(SLANTED_SHARE * (shape.tail - shape.tip) / STEP_PX)
    width, count, seen = np.empty(SHAFT_PLACES), 0, 0
    for k in range(int(shape.tail / STEP_PX) + 2, inner.shape[1]):
        if min(inner[0, k], inner[1, k]) == UNKNOWN:
            continue
        here = max(inner[0, k], inner[1, k])
        seen += 1
        if count == 0 and seen <= slanted and here > STILL_HEAD * shape.peak:
            continue
        width[count] = here
        count += 1
        if count == SHAFT_PLACES:
            break
    return bool(count > 0 and width[:count].max() >= 0.0 and np.median(width[:count]) <= 1.25 * base + 0.6)
