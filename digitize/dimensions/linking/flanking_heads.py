"""Small arrowheads on both sides of a figure that stands in its dimension line, as on hand-lettered plates.

Such a head is a blot of a few pens' width, and the dashes behind it are often no traced stroke; alone it would be taken
for anything. So it is looked for from the figure: outwards along the figure's axis to either side, wherever ink
crosses that axis. Two that point away from each other on one axis, with ink between, end a dimension line. What the
figure says plays no part.

Glossary
--------
axis
    A straight line near the middle of a figure, along its rows, as figures in their line are lettered, or square to
    them, where figures stand upright in upright lines.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibrate.sheet import LevelSheet
from digitize.dimensions.linking.directions import across, along, fold_deg, line_angle_deg, unit
from digitize.dimensions.linking.figure_side import (
    ALIGNED_DEG,
    ASIDE_HEIGHTS,
    SAME_HEAD_MM,
    angle_deg_of,
    width_px,
    within_px,
)
from digitize.dimensions.linking.figure_sides import Look
from digitize.lettering.grammar import makes_sense
from digitize.lettering.text import Text, TextBlock
from digitize.strokes.centre_lines.thinning import ByteImage
from digitize.strokes.primitives import Arrowhead, Line, Point, Role, Strokes

LARGEST_STROKE = 0.5
"""A stroke of a figure takes no more of its width."""
LEAST_FIGURE = 0.8
"""What is read as a size is one from this probability on."""
BESIDE = 1.5
"""A figure whose dimension line passes another stands at most so many times as far from that line's head."""
LONGEST_BLOCK_HEIGHTS = 5.0
"""Longer rows are words."""
ENOUGH_HEADS = 6
SHORTER_PERCENTILE, LEAST_OF_SHORTER = 10.0, 0.6
"""Where so many heads were seen, what is shorter than this share of the shorter ones among them is none: one hand draws
one size, and how evenly it draws they show. (Of 200 drawn sheets 1 head of 80 beside figures would go by .7, none by
.6, and most false ones.)"""
DASH_OFF_MM = 0.35
"""Strokes between two heads are parts of their dimension line within this of its axis, in mm of paper."""


def with_flanking_heads(
    sheet: LevelSheet,
    strokes: Strokes,
    blocks: Sequence[TextBlock],
    of: Sequence[TextBlock] | None = None,
) -> Strokes:
    """Add the small heads that stand on both sides of figures, and give the strokes between them their role.

    Parameters
    ----------
    sheet : LevelSheet
    strokes : Strokes
        Level pixels, as seen.
    blocks : sequence of TextBlock
        All lettering.
    of : sequence of TextBlock, optional
        Those that heads are looked for from; all by default.

    Returns
    -------
    Strokes
    """
    figures = [block for block in (blocks if of is None else of) if not _is_words(block)]
    if not figures:
        return strokes
    dark = np.asarray(255 - sheet.grey, dtype=np.uint8)
    least_px = _least_px(strokes.arrowheads)
    for block in figures:
        pair = _pair(sheet, dark, strokes, block, [each for each in blocks if each is not block])
        if pair is not None and min(head.length_px for head in pair) >= least_px:
            strokes = _with_pair(strokes, pair, sheet)
    return strokes


def with_heads_of_read(
    sheet: LevelSheet, strokes: Strokes, seen: Sequence[TextBlock], texts: Sequence[Text]
) -> Strokes:
    """Look again now that it is known which way figures read, and what is a stroke of one.

    Parameters
    ----------
    sheet : LevelSheet
    strokes : Strokes
        Level pixels, as seen.
    seen : sequence of TextBlock
        Those that heads were looked for from before anything was read.
    texts : sequence of Text
    """
    blocks = [text.block for text in texts]
    cleared = without_heads_in_figures(strokes, texts)
    gone = [head for head in strokes.arrowheads if head not in cleared.arrowheads]
    anew = [block for block in blocks if block not in seen or any(block.holds(head.tip) for head in gone)]
    return without_heads_in_figures(with_flanking_heads(sheet, cleared, blocks, anew), texts)


def has_heads_beside_poor(strokes: Strokes, before: Strokes, texts: Sequence[Text]) -> bool:
    """Was a head found only now that stands at lettering which reads poorly? It may have been read as a part of it.

    Parameters
    ----------
    strokes, before : Strokes
        With what was found since, and without.
    texts : sequence of Text
        All that was read.
    """
    new = [head for head in strokes.arrowheads if head not in before.arrowheads]
    poor = [text.block for text in texts if not text.readings or text.readings[0].probability < LEAST_FIGURE]
    return any(
        math.dist(head.tip, block.centre) < math.dist(block.quad[0], block.quad[2]) / 2 + block.height_px
        for head in new
        for block in poor
    )


def without_heads_in_figures(strokes: Strokes, texts: Sequence[Text]) -> Strokes:
    """Leave out heads that are strokes of a figure: such as lie well within what was read as one.

    Parameters
    ----------
    strokes : Strokes
        Level pixels, as seen.
    texts : sequence of Text
        All that was read.
    """
    figures = [text.block for text in texts if _is_figure(text)]
    heads = tuple(head for head in strokes.arrowheads if not any(_is_stroke_of(head, block) for block in figures))
    return strokes if len(heads) == len(strokes.arrowheads) else replace(strokes, arrowheads=heads)


def _is_figure(text: Text) -> bool:
    best = text.readings[0] if text.readings else None
    return best is not None and best.probability >= LEAST_FIGURE and bool(makes_sense(best.text))


def _is_stroke_of(head: Arrowhead, block: TextBlock) -> bool:
    """Does a head lie within a block, tip and back, and not at an end of its rows? The block may be the head itself."""
    if head.length_px > LARGEST_STROKE * width_px(block):
        return False
    axis, way = unit(block.angle_deg), unit(head.direction_deg)
    back = head.tip[0] - head.length_px * way[0], head.tip[1] - head.length_px * way[1]
    half_width, half_depth = width_px(block) / 2, math.dist(block.quad[0], block.quad[3]) / 2
    inner = half_width - within_px(block)
    return all(
        abs(along(point, block.centre, axis)) < inner and abs(across(point, block.centre, axis)) < half_depth
        for point in (head.tip, back)
    )


def _least_px(seen: Sequence[Arrowhead]) -> float:
    """The shortest that a head of this sheet is; 0 where too few were seen to tell."""
    lengths = [head.length_px for head in seen if head.form in ("filled", "open")]
    if len(lengths) < ENOUGH_HEADS:
        return 0.0
    return LEAST_OF_SHORTER * float(np.percentile(lengths, SHORTER_PERCENTILE))


def _is_words(block: TextBlock) -> bool:
    return width_px(block) > LONGEST_BLOCK_HEIGHTS * block.height_px


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


def _pair(
    sheet: LevelSheet, dark: ByteImage, strokes: Strokes, block: TextBlock, others: Sequence[TextBlock]
) -> tuple[Arrowhead, Arrowhead] | None:
    """The nearest two heads on a figure's axis that point away from it, else two close by that point at it.

    The axis lies along its rows, or square to them where figures stand upright in upright lines. Two that are known go
    before any that are not.
    """
    words = [each for each in others if _is_words(each)]
    looks = []
    for axis in (unit(block.angle_deg + turn_deg) for turn_deg in (0.0, 90.0)):
        heads = [head for head in strokes.arrowheads if not _is_anothers(head, block, axis, others)]
        look = Look(sheet, dark, heads, block, others, words, axis)
        looks += [(look, within) for within in (0.0, within_px(block))]
    known = next((pair for look, within in looks if (pair := look.known_pair(within)) is not None), None)
    return known or next((pair for look, within in looks if (pair := look.pair(within)) is not None), None)


def _with_pair(strokes: Strokes, pair: tuple[Arrowhead, Arrowhead], sheet: LevelSheet) -> Strokes:
    """Add two heads that may be known, and make dimension lines of the broken strokes that lie between them."""
    new = [head for head in pair if head not in strokes.arrowheads]
    heads = tuple(sorted((*strokes.arrowheads, *new), key=lambda head: (head.tip, head.direction_deg)))
    first, second = pair[1].tip, pair[0].tip
    axis = unit(angle_deg_of((second[0] - first[0], second[1] - first[1])))
    lines = tuple(
        replace(line, role=Role.DIMENSION) if _lies_between(line, first, second, axis, sheet) else line
        for line in strokes.lines
    )
    return replace(strokes, arrowheads=heads, lines=lines)


def _lies_between(line: Line, first: Point, second: Point, axis: Point, sheet: LevelSheet) -> bool:
    off, past = sheet.px(DASH_OFF_MM), sheet.px(SAME_HEAD_MM)
    length = math.dist(first, second)
    return (
        all(abs(across(end, first, axis)) < off for end in (line.start, line.end))
        and all(-past < along(end, first, axis) < length + past for end in (line.start, line.end))
        and abs(fold_deg(line_angle_deg(line) - angle_deg_of(axis))) < ALIGNED_DEG
    )
