"""The two ways out from a figure, and the pairs of heads that lie on them.

Glossary
--------
way
    A direction out from the middle of a figure's block.
axis
    A straight line through it: two ways.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.directions import across, along, fold_deg
from digitize.dimensions.linking.figure_side import (
    ASIDE_HEIGHTS,
    LEAST_INKED,
    SHAFT_OFF_PX,
    SHORT_HEIGHTS,
    Side,
    Tip,
    angle_deg_of,
    place_of,
)
from digitize.lettering.text import TextBlock
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.heads.heads_along import inked
from digitize.strokes.primitives import Arrowhead, Point

AT_TIP = 1.5
"""A block whose middle is so near to a tip, in lengths of the head, may be the head itself."""
SLANT_COST = 5.0
"""Of several pairs the nearest is taken; a slant counts for so much further off."""
ONE_AXIS_MM, ONE_AXIS_SLOPE = 0.5, 0.025
"""Two heads of one dimension line lie on one axis to this, in mm of paper and in the slope of a line ruled by eye."""
LEAST_SHORT = 0.15
"""Share that is ink where there is room for one dash."""
NEAR_HEIGHTS = 0.8
"""A head so near to its figure needs no shaft between them."""


def _passes(pair: tuple[Tip, Tip], block: TextBlock, axis: Point, others: Sequence[TextBlock]) -> bool:
    """Does another block stand between the heads of a pair, in their line? One at a tip may be the head itself."""
    ahead, behind = pair
    return any(
        AT_TIP * behind.length - behind.out
        < along(other.centre, block.centre, axis)
        < ahead.out - AT_TIP * ahead.length
        and abs(across(other.centre, block.centre, axis)) <= ASIDE_HEIGHTS * min(block.height_px, other.height_px)
        for other in others
    )


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
    def outward(self) -> tuple[Side, Side]:
        """Heads that point away from the figure; those along the axis first."""
        return self._sides(inward=False)

    @cached_property
    def inward(self) -> tuple[Side, Side]:
        """Heads that point at the figure."""
        return self._sides(inward=True)

    def _sides(self, *, inward: bool) -> tuple[Side, Side]:
        ways = self.axis, (-self.axis[0], -self.axis[1])
        ahead, behind = (Side(self.sheet, self.dark, self.block, self.words, way, inward) for way in ways)
        return ahead, behind

    def known(self, sides: tuple[Side, Side], within: float) -> tuple[list[Tip], list[Tip]]:
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

    def fitting(self, sides: tuple[Side, Side], within: float) -> tuple[Tip, Tip] | None:
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
    first = place_of(block.centre, (-axis[0], -axis[1]), other.out, other.aside)
    second = place_of(block.centre, axis, one.out, one.aside)
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
                place_of(block.centre, way, out, tip.aside + shift + slope * (out - tip.out)) for out in (start, stop)
            )
            shares.append(inked(dark, x0, y0, x1, y1))
        if max(shares) < (LEAST_INKED if stop - start > SHORT_HEIGHTS * block.height_px else LEAST_SHORT):
            return False
    return True
