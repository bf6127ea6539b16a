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

from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.directions import across, along, fold_deg
from digitize.lettering.text import TextBlock
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.heads.barbs import barb_lengths
from digitize.strokes.heads.heads_along import any_ink, heads_along, inked
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
    """One way of looking for the heads of a figure: along an axis, and up to ``within`` px inside its block."""

    sheet: LevelSheet
    dark: ByteImage
    heads: Sequence[Arrowhead]
    block: TextBlock
    others: Sequence[TextBlock]
    words: Sequence[TextBlock]
    axis: Point
    within: float

    def sides(self, *, inward: bool) -> tuple["Side", "Side"]:
        """The one along the axis first."""
        ahead, behind = (
            Side(self.sheet, self.block, self.words, way, inward, self.within)
            for way in (self.axis, (-self.axis[0], -self.axis[1]))
        )
        return ahead, behind

    def known(self, sides: tuple["Side", "Side"]) -> tuple[list[Tip], list[Tip]]:
        """Heads on both sides that were found before."""
        return list(sides[0].known(self.heads)), list(sides[1].known(self.heads))

    def known_pair(self) -> tuple[Arrowhead, Arrowhead] | None:
        """The nearest two heads that were both found before, those that point away from the figure first."""
        for inward in (False, True):
            ahead, behind = self.known(self.sides(inward=inward))
            pairs = [
                (one, other)
                for one in ahead
                for other in behind
                if _are_level(one, other, self.sheet) and not _passes((one, other), self.block, self.axis, self.others)
            ]
            if pairs:
                return _arrowheads(min(pairs, key=_cost), self.block, self.axis, 0.0)
        return None

    def fitting(self, *, inward: bool) -> tuple[Tip, Tip] | None:
        """The nearest pair of heads."""
        sides = self.sides(inward=inward)
        if not all(side.begins(self.dark) for side in sides):
            return None
        ahead, behind = self.known(sides)
        ahead += sides[0].new(self.dark, ahead)
        if not ahead:  # looking is slow
            return None
        behind += sides[1].new(self.dark, behind)
        pairs = [
            (one, other)
            for one in ahead
            for other in behind
            if _are_level(one, other, self.sheet)
            and (inward or _is_drawn(self.dark, self.block, self.axis, one, other))
            and not _passes((one, other), self.block, self.axis, self.others)
        ]
        return min(pairs, key=_cost, default=None)

    def pair(self) -> tuple[Arrowhead, Arrowhead] | None:
        """Two heads that point away from the figure, else two that point at it."""
        outward, inward = self.fitting(inward=False), self.fitting(inward=True)
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
    """One way out from a block; whether heads on it are to point back at it, and how far within it they may lie.

    Letters of words are none.
    """

    sheet: LevelSheet
    block: TextBlock
    words: Sequence[TextBlock]
    way: Point
    inward: bool
    within: float

    @property
    def points(self) -> Point:
        return (-self.way[0], -self.way[1]) if self.inward else self.way

    @property
    def reach(self) -> tuple[float, float, float]:
        """Where heads may lie: from, to, and aside, in px."""
        shadow = max(along(corner, self.block.centre, self.way) for corner in self.block.quad)
        far = self.sheet.px(FARTHEST_OUTSIDE_MM if self.inward else FARTHEST_MM)
        return shadow - self.within, shadow + far, ASIDE_HEIGHTS * self.block.height_px

    def begins(self, dark: ByteImage) -> bool:
        """Is there any ink beside the block, where a dimension line would begin?"""
        first, _, widest = self.reach
        beside = first + BEGINS_HEIGHTS * self.block.height_px
        return any_ink(dark, *self.block.centre, *self.way, first, beside, widest)

    def known(self, heads: Sequence[Arrowhead]) -> Iterator[Tip]:
        """Heads that were found before, in the figure's line or in one that it stands over."""
        first, last, _ = self.reach
        widest = OVER_HEIGHTS * self.block.height_px
        for head in heads:
            out, aside = (part(head.tip, self.block.centre, self.way) for part in (along, across))
            aligned = abs(fold_deg(head.direction_deg - angle_deg_of(self.points), 360.0)) < ALIGNED_DEG
            if aligned and first < out < last and abs(aside) <= widest:
                yield Tip(out, aside, head.length_px, head.form, known=head)

    def new(self, dark: ByteImage, known: Sequence[Tip]) -> list[Tip]:
        """Heads in the picture besides the known ones, the best of each place."""
        shortest, longest = barb_lengths(self.sheet, self.sheet.pen_px)
        size = self.sheet.pen_px, LED_TO * shortest, longest
        hits = heads_along(dark, *self.block.centre, *self.way, *self.reach, *self.points, *size)
        found: list[Tip] = []
        apart = self.sheet.px(SAME_HEAD_MM)
        for _, out, aside, length, is_open, runs_on in sorted(hits.tolist(), reverse=True):
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
