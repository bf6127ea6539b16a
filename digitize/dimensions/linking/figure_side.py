"""One way out from a figure, and the heads that lie on it.

Glossary
--------
way
    A direction out from the middle of a figure's block.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from calibrate.sheet import FloatArray, LevelSheet
from digitize.dimensions.linking.directions import across, along, fold_deg
from digitize.lettering.text import TextBlock
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.heads.barbed_heads import barb_lengths
from digitize.strokes.heads.heads_along import any_ink, heads_along, inked_as_far_as
from digitize.strokes.primitives import Arrowhead, Point

FARTHEST_MM = 80.0
"""A head is looked for so far from its figure, in mm of paper."""
FARTHEST_OUTSIDE_MM = 8.0
"""... and one that points at its figure so far, the length being too short for both."""
LED_TO = 0.8
"""A head to which a figure leads may be smaller than one that nothing leads to."""
ASIDE_HEIGHTS = 0.6
"""The axis passes the middle of the figure within this."""
WITHIN_HEIGHTS, WITHIN_SHARE = 0.3, 0.1
"""Heads that were taken for a part of their figure lie so far within its block, in its heights and its widths."""
BEGINS_HEIGHTS = 2.0
"""A dimension line that is broken for its figure begins so near to it."""
OVER_HEIGHTS = 2.0
"""A figure that stands over or under its dimension line is no further off it."""
ALIGNED_DEG = 5.0
"""A head lies along its way to this."""
SAME_HEAD_MM = 1.0
"""Tips no further apart, in mm of paper, may be of one head."""
LEAST_INKED = 0.3
"""Share of the way between figure and head that is ink: dashes and gaps."""
SHAFT_OFF_PX = (-2.0, -1.0, 0.0, 1.0, 2.0)
"""How far the dashes may lie off the straight line between two tips."""
SHORT_HEIGHTS = 2.0
"""A head so near to its figure needs no more than one dash between them."""


@dataclass(frozen=True)
class Tip:
    """A head beside a figure: how far out and how far aside of the middle its tip lies, in px.

    ``runs_on`` is True where its shaft is seen behind it; ``known`` is the head where it was found before.
    """

    out: float
    aside: float
    length: float
    form: str
    runs_on: bool = True
    known: Arrowhead | None = None


@dataclass(frozen=True)
class Side:
    """One way out from a block, and whether heads on it are to point back at it. Letters of words are none."""

    sheet: LevelSheet
    dark: ByteImage
    block: TextBlock
    words: Sequence[TextBlock]
    way: Point
    inward: bool

    @property
    def points(self) -> Point:
        return (-self.way[0], -self.way[1]) if self.inward else self.way

    @property
    def shadow(self) -> float:
        """How far the block reaches out itself, in px."""
        return max(along(corner, self.block.centre, self.way) for corner in self.block.quad)

    @property
    def widest(self) -> float:
        """How far aside of the middle heads may lie, in px."""
        return ASIDE_HEIGHTS * self.block.height_px

    @property
    def farthest(self) -> float:
        """How far out heads may lie, in px."""
        return self.shadow + self.sheet.px(FARTHEST_OUTSIDE_MM if self.inward else FARTHEST_MM)

    def begins(self, within: float) -> bool:
        """Is there any ink beside the block, where a dimension line would begin?"""
        first = self.shadow - within
        beside = first + BEGINS_HEIGHTS * self.block.height_px
        return any_ink(self.dark, *self.block.centre, *self.way, first, beside, self.widest)

    def known(self, heads: Sequence[Arrowhead], within: float) -> Iterator[Tip]:
        """Heads that were found before, in the figure's line or in one that it stands over."""
        first, last = self.shadow - within, self.farthest
        widest = OVER_HEIGHTS * self.block.height_px
        for head in heads:
            out, aside = (part(head.tip, self.block.centre, self.way) for part in (along, across))
            aligned = abs(fold_deg(head.direction_deg - angle_deg_of(self.points), 360.0)) < ALIGNED_DEG
            if aligned and first < out < last and abs(aside) <= widest:
                yield Tip(out, aside, head.length_px, head.form, known=head)

    @cached_property
    def seen(self) -> Sequence[tuple[float, ...]]:
        """Rows of `heads_along`, the best first, of all heads outside the block and some way inside it.

        No further out than ink leads to, where heads point away from the figure.
        """
        shortest, longest = barb_lengths(self.sheet, self.sheet.pen_px)
        first, last = self.shadow, self.farthest
        if not self.inward:
            led = inked_as_far_as(
                self.dark, *self.block.centre, *self.way, first, last, self.widest + SHAFT_OFF_PX[-1], LEAST_INKED
            )
            last = min(last, max(led, first + SHORT_HEIGHTS * self.block.height_px) + longest)
        reach = first - within_px(self.block), last, self.widest
        size = self.sheet.pen_px, LED_TO * shortest, longest
        hits = heads_along(self.dark, *self.block.centre, *self.way, *reach, *self.points, *size, _sides_of(self.words))
        return sorted(map(tuple, hits.tolist()), reverse=True)

    def new(self, known: Sequence[Tip], within: float) -> list[Tip]:
        """Heads in the picture besides the known ones, the best of each place."""
        found: list[Tip] = []
        apart = self.sheet.px(SAME_HEAD_MM)
        for _, out, aside, length, is_open, runs_on in self.seen:
            if out < self.shadow - within:
                continue
            clear = [math.hypot(out - tip.out, aside - tip.aside) > max(apart, tip.length) for tip in (*known, *found)]
            if all(clear):
                found.append(Tip(out, aside, length, "open" if is_open else "filled", bool(runs_on)))
        return found


def _sides_of(rows: Sequence[TextBlock]) -> FloatArray:
    """Top left corner of each row's block, with its upper and its left side as vectors, shape (N, 6)."""
    corners = np.array([row.quad for row in rows]).reshape(-1, 4, 2)
    return np.column_stack([corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 3] - corners[:, 0]])


def within_px(block: TextBlock) -> float:
    """How far a head may lie within a block that it was taken for a part of, in px."""
    return min(WITHIN_HEIGHTS * block.height_px, WITHIN_SHARE * width_px(block))


def width_px(block: TextBlock) -> float:
    return math.dist(block.quad[0], block.quad[1])


def angle_deg_of(way: Point) -> float:
    return math.degrees(math.atan2(-way[1], way[0]))


def place_of(middle: Point, way: Point, out: float, aside: float) -> Point:
    return middle[0] + out * way[0] - aside * way[1], middle[1] + out * way[1] + aside * way[0]
