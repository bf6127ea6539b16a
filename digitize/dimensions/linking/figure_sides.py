"""The two ways out from a figure, and the heads that lie on them.

Glossary
--------
way
    A direction out from the middle of a figure's block.
axis
    A straight line through it: two ways.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.directions import across, along, fold_deg
from digitize.lettering.text import TextBlock
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.heads.barbs import barb_lengths
from digitize.strokes.heads.heads_along import any_ink, heads_along, inked, inked_as_far_as
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
AT_TIP = 1.5
"""A block whose middle is so near to a tip, in lengths of the head, may be the head itself."""
BEGINS_HEIGHTS = 2.0
"""A dimension line that is broken for its figure begins so near to it."""
OVER_HEIGHTS = 2.0
"""A figure that stands over or under its dimension line is no further off it."""
SLANT_COST = 5.0
"""Of several pairs the nearest is taken; a slant counts for so much further off."""
SAME_HEAD_MM = 1.0
ONE_AXIS_MM, ONE_AXIS_SLOPE = 0.5, 0.025
"""Two heads of one dimension line lie on one axis to this, in mm of paper and in the slope of a line ruled by eye."""
ALIGNED_DEG = 5.0
LEAST_INKED, LEAST_SHORT = 0.3, 0.15
"""Share of the axis between figure and heads that is ink: dashes and gaps; one dash where there is room for one."""
SHAFT_OFF_PX = (-2.0, -1.0, 0.0, 1.0, 2.0)
"""How far the dashes may lie off the straight line between two tips."""
NEAR_HEIGHTS, SHORT_HEIGHTS = 0.8, 2.0
"""A head so near to its figure needs no shaft between them, or no more than one dash."""


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


def _passes(pair: tuple["Tip", "Tip"], block: TextBlock, axis: Point, others: Sequence[TextBlock]) -> bool:
    """Does another block stand between the heads of a pair, in their line? One at a tip may be the head itself."""
    ahead, behind = pair
    return any(
        AT_TIP * behind.length - behind.out
        < along(other.centre, block.centre, axis)
        < ahead.out - AT_TIP * ahead.length
        and abs(across(other.centre, block.centre, axis)) <= ASIDE_HEIGHTS * min(block.height_px, other.height_px)
        for other in others
    )


def within_px(block: TextBlock) -> float:
    """How far a head may lie within a block that it was taken for a part of, in px."""
    return min(WITHIN_HEIGHTS * block.height_px, WITHIN_SHARE * width_px(block))


def width_px(block: TextBlock) -> float:
    return math.dist(block.quad[0], block.quad[1])


@dataclass(frozen=True)
class Look:
    """Looking for the heads of a figure along an axis: outside its block, or up to ``within`` px inside it as well."""

    sheet: LevelSheet
    dark: ByteImage
    heads: Sequence[Arrowhead]
    block: TextBlock
    others: Sequence[TextBlock]
    words: Sequence[TextBlock]
    axis: Point

    @cached_property
    def outward(self) -> tuple["Side", "Side"]:
        """Heads that point away from the figure; those along the axis first."""
        return self._sides(inward=False)

    @cached_property
    def inward(self) -> tuple["Side", "Side"]:
        """Heads that point at the figure."""
        return self._sides(inward=True)

    def _sides(self, *, inward: bool) -> tuple["Side", "Side"]:
        ways = self.axis, (-self.axis[0], -self.axis[1])
        ahead, behind = (Side(self.sheet, self.dark, self.block, self.words, way, inward) for way in ways)
        return ahead, behind

    def known(self, sides: tuple["Side", "Side"], within: float) -> tuple[list[Tip], list[Tip]]:
        """Heads on both sides that were found before."""
        return list(sides[0].known(self.heads, within)), list(sides[1].known(self.heads, within))

    def known_pair(self, within: float) -> tuple[Arrowhead, Arrowhead] | None:
        """The nearest two heads that were both found before, those that point away from the figure first."""
        for sides in (self.outward, self.inward):
            ahead, behind = self.known(sides, within)
            pairs = [
                (one, other)
                for one in ahead
                for other in behind
                if _are_level(one, other, self.sheet) and not _passes((one, other), self.block, self.axis, self.others)
            ]
            if pairs:
                return _arrowheads(min(pairs, key=_cost), self.block, self.axis, 0.0)
        return None

    def fitting(self, sides: tuple["Side", "Side"], within: float) -> tuple[Tip, Tip] | None:
        """The nearest pair of heads."""
        if not all(side.begins(within) for side in sides):
            return None
        ahead, behind = self.known(sides, within)
        ahead += sides[0].new(ahead, within)
        if not ahead:  # looking is slow
            return None
        behind += sides[1].new(behind, within)
        pairs = [
            (one, other)
            for one in ahead
            for other in behind
            if _are_level(one, other, self.sheet)
            and (sides is self.inward or _is_drawn(self.dark, self.block, self.axis, one, other))
            and not _passes((one, other), self.block, self.axis, self.others)
        ]
        return min(pairs, key=_cost, default=None)

    def pair(self, within: float) -> tuple[Arrowhead, Arrowhead] | None:
        """Two heads that point away from the figure, else two that point at it."""
        outward, inward = self.fitting(self.outward, within), self.fitting(self.inward, within)
        if outward is not None and (inward is None or _is_surer(outward, inward)):
            return _arrowheads(outward, self.block, self.axis, 0.0)
        return None if inward is None else _arrowheads(inward, self.block, self.axis, 180.0)


def _is_surer(outward: tuple[Tip, Tip], inward: tuple[Tip, Tip]) -> bool:
    """Are heads that point away from a figure those that are drawn, not these turned round, which are shorter?"""
    shorter = sum(tip.length for tip in inward) < sum(tip.length for tip in outward)
    return shorter or any(tip.runs_on for tip in outward)


def _arrowheads(pair: tuple[Tip, Tip], block: TextBlock, axis: Point, turn_deg: float) -> tuple[Arrowhead, Arrowhead]:
    """The heads of a pair, pointing away from each other, or turned round."""
    one, other = pair
    first = _place(block.centre, (-axis[0], -axis[1]), other.out, other.aside)
    second = _place(block.centre, axis, one.out, one.aside)
    turn_deg += angle_deg_of((second[0] - first[0], second[1] - first[1]))
    return _arrowhead(one, second, turn_deg), _arrowhead(other, first, turn_deg + 180.0)


def _are_level(one: Tip, other: Tip, sheet: LevelSheet) -> bool:
    """Do two tips lie on one axis, each as seen on its own way out?"""
    return abs(one.aside + other.aside) < sheet.px(ONE_AXIS_MM) + ONE_AXIS_SLOPE * (one.out + other.out)


def _cost(pair: tuple[Tip, Tip]) -> float:
    one, other = pair
    return one.out + other.out + SLANT_COST * abs(one.aside + other.aside)


def _arrowhead(tip: Tip, place: Point, direction_deg: float) -> Arrowhead:
    return tip.known or Arrowhead(place, fold_deg(direction_deg, 360.0), tip.length, tip.form)


def angle_deg_of(way: Point) -> float:
    return math.degrees(math.atan2(-way[1], way[0]))


def _place(middle: Point, way: Point, out: float, aside: float) -> Point:
    return middle[0] + out * way[0] - aside * way[1], middle[1] + out * way[1] + aside * way[0]


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
        hits = heads_along(self.dark, *self.block.centre, *self.way, *reach, *self.points, *size)
        return sorted(map(tuple, hits.tolist()), reverse=True)

    def new(self, known: Sequence[Tip], within: float) -> list[Tip]:
        """Heads in the picture besides the known ones, the best of each place."""
        found: list[Tip] = []
        apart = self.sheet.px(SAME_HEAD_MM)
        for _, out, aside, length, is_open, runs_on in self.seen:
            if out < self.shadow - within:
                continue
            clear = [math.hypot(out - tip.out, aside - tip.aside) > max(apart, tip.length) for tip in (*known, *found)]
            place = _place(self.block.centre, self.way, out, aside)
            if all(clear) and not any(row.holds(place) for row in self.words):
                found.append(Tip(out, aside, length, "open" if is_open else "filled", bool(runs_on)))
        return found


def _is_drawn(dark: ByteImage, block: TextBlock, axis: Point, one: Tip, other: Tip) -> bool:
    """Is there ink enough between the figure and both heads for a dashed dimension line?"""
    slope = (one.aside + other.aside) / (one.out + other.out)
    for way, tip in ((axis, one), ((-axis[0], -axis[1]), other)):
        start = max(along(corner, block.centre, way) for corner in block.quad)
        stop = tip.out - tip.length
        if stop - start < NEAR_HEIGHTS * block.height_px:
            continue
        shares = []
        for shift in SHAFT_OFF_PX:
            (x0, y0), (x1, y1) = (
                _place(block.centre, way, out, tip.aside + shift + slope * (out - tip.out)) for out in (start, stop)
            )
            shares.append(inked(dark, x0, y0, x1, y1))
        if max(shares) < (LEAST_INKED if stop - start > SHORT_HEIGHTS * block.height_px else LEAST_SHORT):
            return False
    return True
