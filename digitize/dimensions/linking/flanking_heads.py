"""Small arrowheads on both sides of a figure that stands in its dimension line, as on hand-lettered plates.

Such a head is a blot of a few pens' width, and the dashes behind it are often no traced stroke; alone it would be taken
for anything. So it is looked for from the figure: outwards along the figure's axis to either side, wherever ink
crosses that axis. Two that point away from each other on one axis, with ink between, end a dimension line. What the
figure says plays no part.

Glossary
--------
axis
    A straight line near the middle of a figure, along its rows: figures in their line are lettered along it.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.directions import across, along, fold_deg, line_angle_deg, unit
from digitize.lettering.text import TextBlock
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.heads.barbs import barb_lengths
from digitize.strokes.heads.heads_along import any_ink, heads_along, inked
from digitize.strokes.primitives import Arrowhead, Line, Point, Role, Strokes

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
BESIDE = 1.5
"""A figure whose dimension line passes another stands at most so many times as far from that line's head."""
BEGINS_HEIGHTS = 2.0
"""A dimension line that is broken for its figure begins so near to it."""
OVER_HEIGHTS = 2.0
"""A figure that stands over or under its dimension line is no further off it."""
LONGEST_BLOCK_HEIGHTS = 5.0
"""Longer rows are words."""
SLANT_COST = 5.0
"""Of several pairs the nearest is taken; a slant counts for so much further off."""
SAME_HEAD_MM = 1.0
ONE_AXIS_MM, ONE_AXIS_SLOPE = 0.5, 0.025
"""Two heads of one dimension line lie on one axis to this, in mm of paper and in the slope of a line ruled by eye."""
ALIGNED_DEG = 5.0
LEAST_INKED = 0.3
"""Share of the axis between figure and heads that is ink: dashes and their gaps."""
SHAFT_OFF_PX = (-2.0, -1.0, 0.0, 1.0, 2.0)
"""How far the dashes may lie off the straight line between two tips."""
NEAR_HEIGHTS = 0.8
"""A head so near to its figure needs no shaft between them."""
DASH_OFF_MM = 0.35
"""Strokes between two heads are parts of their dimension line within this of its axis, in mm of paper."""


@dataclass(frozen=True)
class _Tip:
    """A head beside a figure: how far out and how far aside of the middle its tip lies, in px.

    ``runs_on`` is True where its shaft is seen behind it; ``known`` is the head where it was found before.
    """

    out: float
    aside: float
    length: float
    form: str
    runs_on: bool = True
    known: Arrowhead | None = None


def with_flanking_heads(sheet: LevelSheet, strokes: Strokes, blocks: Sequence[TextBlock]) -> Strokes:
    """Add the small heads that stand on both sides of figures, and give the strokes between them their role.

    Parameters
    ----------
    sheet : LevelSheet
    strokes : Strokes
        Level pixels, as seen.
    blocks : sequence of TextBlock
        All lettering.

    Returns
    -------
    Strokes
    """
    dark = np.asarray(255 - sheet.grey, dtype=np.uint8)
    for block in blocks:
        if _is_words(block):
            continue
        pair = _pair(sheet, dark, strokes, block, [each for each in blocks if each is not block])
        if pair is not None:
            strokes = _with_pair(strokes, pair, sheet)
    return strokes


def _is_words(block: TextBlock) -> bool:
    return _width(block) > LONGEST_BLOCK_HEIGHTS * block.height_px


def _is_anothers(head: Arrowhead, block: TextBlock, axis: Point, others: Sequence[TextBlock]) -> bool:
    """Does another block stand behind a head, hardly further than this one, and nearer to the head's line?"""
    aside = abs(across(head.tip, block.centre, axis))
    if aside <= ASIDE_HEIGHTS * block.height_px:
        return False
    way = unit(head.direction_deg)
    behind = (along(other.centre, head.tip, way) for other in others)
    return any(
        -BESIDE * abs(along(block.centre, head.tip, way)) < back < 0
        and abs(across(other.centre, head.tip, way)) < aside
        for back, other in zip(behind, others, strict=True)
    )


def _passes(pair: tuple["_Tip", "_Tip"], block: TextBlock, axis: Point, others: Sequence[TextBlock]) -> bool:
    """Does another block stand between the heads of a pair, in their line? One at a tip may be the head itself."""
    ahead, behind = pair
    return any(
        behind.length - behind.out < along(other.centre, block.centre, axis) < ahead.out - ahead.length
        and abs(across(other.centre, block.centre, axis)) <= ASIDE_HEIGHTS * block.height_px
        for other in others
    )


def _width(block: TextBlock) -> float:
    return math.dist(block.quad[0], block.quad[1])


def _pair(
    sheet: LevelSheet, dark: ByteImage, strokes: Strokes, block: TextBlock, others: Sequence[TextBlock]
) -> tuple[Arrowhead, Arrowhead] | None:
    """The nearest two heads on a figure's axis that point away from it, else two close by that point at it.

    None where both are known, or none.
    """
    axis = unit(block.angle_deg)
    words = [each for each in others if _is_words(each)]
    heads = [head for head in strokes.arrowheads if not _is_anothers(head, block, axis, others)]
    for within in (0.0, min(WITHIN_HEIGHTS * block.height_px, WITHIN_SHARE * _width(block))):
        found = [_fitting(sheet, dark, heads, block, words, axis, within, inward=inward) for inward in (False, True)]
        if None in found:
            return None
        outward, inward = (
            min((pair for pair in pairs or () if not _passes(pair, block, axis, others)), key=_cost, default=None)
            for pairs in found
        )
        if outward is not None and (inward is None or any(tip.runs_on for tip in outward)):
            return _arrowheads(outward, block, axis, 0.0)
        if inward is not None:
            return _arrowheads(inward, block, axis, 180.0)
    return None


def _fitting(
    sheet: LevelSheet,
    dark: ByteImage,
    heads: Sequence[Arrowhead],
    block: TextBlock,
    words: Sequence[TextBlock],
    axis: Point,
    within: float,
    *,
    inward: bool,
) -> list[tuple[_Tip, _Tip]] | None:
    """Pairs of heads on both sides of a figure, the one along its axis first; None where both are known."""
    sides = [_Side(sheet, block, words, way, inward, within) for way in (axis, (-axis[0], -axis[1]))]
    known = [tuple(side.known(heads)) for side in sides]
    if any(_are_level(one, other, sheet) for one in known[0] for other in known[1]):
        return None
    if not all(side.begins(dark) for side in sides):
        return []
    ahead, behind = ([*tips, *side.new(dark, tips)] for side, tips in zip(sides, known, strict=True))
    return [
        (one, other)
        for one in ahead
        for other in behind
        if _are_level(one, other, sheet) and (inward or _is_drawn(dark, block, axis, one, other))
    ]


def _arrowheads(pair: tuple[_Tip, _Tip], block: TextBlock, axis: Point, turn_deg: float) -> tuple[Arrowhead, Arrowhead]:
    """The heads of a pair, pointing away from each other, or turned round."""
    one, other = pair
    first = _place(block.centre, (-axis[0], -axis[1]), other.out, other.aside)
    second = _place(block.centre, axis, one.out, one.aside)
    turn_deg += _angle_deg((second[0] - first[0], second[1] - first[1]))
    return _arrowhead(one, second, turn_deg), _arrowhead(other, first, turn_deg + 180.0)


def _are_level(one: _Tip, other: _Tip, sheet: LevelSheet) -> bool:
    """Do two tips lie on one axis, each as seen on its own way out?"""
    return abs(one.aside + other.aside) < sheet.px(ONE_AXIS_MM) + ONE_AXIS_SLOPE * (one.out + other.out)


def _cost(pair: tuple[_Tip, _Tip]) -> float:
    one, other = pair
    return one.out + other.out + SLANT_COST * abs(one.aside + other.aside)


def _arrowhead(tip: _Tip, place: Point, direction_deg: float) -> Arrowhead:
    return tip.known or Arrowhead(place, fold_deg(direction_deg, 360.0), tip.length, tip.form)


def _angle_deg(way: Point) -> float:
    return math.degrees(math.atan2(-way[1], way[0]))


def _place(middle: Point, way: Point, out: float, aside: float) -> Point:
    return middle[0] + out * way[0] - aside * way[1], middle[1] + out * way[1] + aside * way[0]


@dataclass(frozen=True)
class _Side:
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

    def known(self, heads: Sequence[Arrowhead]) -> Iterator[_Tip]:
        """Heads that were found before, in the figure's line or in one that it stands over."""
        first, last, _ = self.reach
        widest = OVER_HEIGHTS * self.block.height_px
        for head in heads:
            out, aside = (part(head.tip, self.block.centre, self.way) for part in (along, across))
            aligned = abs(fold_deg(head.direction_deg - _angle_deg(self.points), 360.0)) < ALIGNED_DEG
            if aligned and first < out < last and abs(aside) <= widest:
                yield _Tip(out, aside, head.length_px, head.form, known=head)

    def new(self, dark: ByteImage, known: Sequence[_Tip]) -> list[_Tip]:
        """Heads in the picture besides the known ones, the best of each place."""
        shortest, longest = barb_lengths(self.sheet, self.sheet.pen_px)
        size = self.sheet.pen_px, LED_TO * shortest, longest
        hits = heads_along(dark, *self.block.centre, *self.way, *self.reach, *self.points, *size)
        found: list[_Tip] = []
        apart = self.sheet.px(SAME_HEAD_MM)
        for _, out, aside, length, is_open, runs_on in sorted(hits.tolist(), reverse=True):
            clear = [math.hypot(out - tip.out, aside - tip.aside) > max(apart, tip.length) for tip in (*known, *found)]
            place = _place(self.block.centre, self.way, out, aside)
            if all(clear) and not any(row.holds(place) for row in self.words):
                found.append(_Tip(out, aside, length, "open" if is_open else "filled", bool(runs_on)))
        return found


def _is_drawn(dark: ByteImage, block: TextBlock, axis: Point, one: _Tip, other: _Tip) -> bool:
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
        if max(shares) < LEAST_INKED:
            return False
    return True


def _with_pair(strokes: Strokes, pair: tuple[Arrowhead, Arrowhead], sheet: LevelSheet) -> Strokes:
    """Add two heads, and make dimension lines of the broken strokes that lie between them."""
    new = [head for head in pair if head not in strokes.arrowheads]
    if not new:
        return strokes
    heads = tuple(sorted((*strokes.arrowheads, *new), key=lambda head: (head.tip, head.direction_deg)))
    first, second = pair[1].tip, pair[0].tip
    axis = unit(_angle_deg((second[0] - first[0], second[1] - first[1])))
    lines = tuple(
        replace(line, role=Role.DIMENSION) if _lies_between(line, first, second, axis, sheet) else line
        for line in strokes.lines
    )
    return replace(strokes, arrowheads=heads, lines=lines)


def _lies_between(line: Line, first: Point, second: Point, axis: Point, sheet: LevelSheet) -> bool:
    off, past = sheet.px(DASH_OFF_MM), sheet.px(SAME_HEAD_MM)
    length = math.dist(first, second)
    return abs(fold_deg(line_angle_deg(line) - _angle_deg(axis))) < ALIGNED_DEG and all(
        -past < along(end, first, axis) < length + past and abs(across(end, first, axis)) < off
        for end in (line.start, line.end)
    )
