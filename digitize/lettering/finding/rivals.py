"""Other ways to part the ink of short rows into figures, for the reader to choose from.

Shape alone does not settle where a figure ends, or which way it reads, when the dashes of its own dimension line look
like its fraction bar and open arrowheads like letters. For each short row, the parts round it are set in columns in
both directions in which a drawing reads, and every run of columns is a rival of the row.
"""

from collections.abc import Iterator, Sequence
from enum import Enum
from itertools import permutations, product

import numpy as np
from scipy.spatial import cKDTree

from digitize.lettering.finding.clusters import is_blot
from digitize.lettering.finding.parts import Look, Part
from digitize.lettering.finding.placing import SQUARE_ON_DEG, TALL, Placed, place
from digitize.lettering.finding.row import STACKED, Row, row_of
from digitize.lettering.text import Layout, TextBlock

MOST_LETTERS, MOST_IN_LINE = 8, 40
"""Rows with more letters are notes, and read well; deep ones may be figures of a chain, with the heads between them."""
LARGEST_PART = 2.4
"""A larger part is no figure, in figure heights."""
MOST_NEAR = 100
"""Parts of which some figure may be made; in a larger crowd, as of a scan's dirt, nothing tells figures apart. The
fullest of ten engraved plates holds 68."""
NEAR = 0.75
"""Paper between parts of one figure, in figure heights."""
REACH = 1.3
"""Middles of a figure's parts lie this far over and under its own, in figure heights."""
BAR_ROOM, LEVEL_STEP = 0.9, 0.3
"""Paper between the figures of a fraction; levels nearer than this are one. In figure heights."""
MARK_OVER, MARK_TALL = 0.25, 0.15
"""An inch mark stands over the middle of its figure by this much, and is this tall, in figure heights."""
POINT_UNDER = 0.2
"""A decimal point stands under the middle of its figure by this much, in figure heights."""
MOST_COLUMNS = 8
LONGEST, DEEPEST, SHALLOWEST = 6.5, 3.6, 0.7
"""Extents of a figure with its fraction, in figure heights."""
SLOPING = 0.3
"""Boxes of sloping figures reach this far over each other, in figure heights."""
SAME_PLACE = 0.25
"""Corners nearer than this are the same, in figure heights."""
PIECE, STACK_DEPTH = 0.35, 1.25
"""Least height of a fraction's figure, and depth of a fraction, where whole figures are the usual ones."""
STACK_FIGURE = 0.42
"""Height of a figure of a stack, in heights of the stack."""
LEAST_OBLIQUE_DEG, APART_DEG = 22.0, 8.0
"""Strokes of sloping letters lean less than a direction in which figures stand does; such directions differ by more."""
LONG_BAR = 0.6
"""Bars from this length on, in figure heights, may be dashes of an oblique dimension line, or fraction bars."""
MOST_OBLIQUE = 2


class MarkSide(Enum):
    """At which end of a figure a mark stands."""

    BEFORE = "before"
    AFTER = "after"


def block_of(row: Row) -> TextBlock:
    """A row as a block, its parts forgotten."""
    top_left, top_right, bottom_right, bottom_left = row.quad
    return TextBlock(
        quad=(top_left, top_right, bottom_right, bottom_left),
        angle_deg=row.angle_deg % 360.0,
        height_px=row.height,
        layout=Layout.STACK if row.stacked else Layout.ROW,
    )


def rivals_of(
    rows: Sequence[Row], perhaps: Sequence[Row], parts: Sequence[Part], height_px: float
) -> tuple[TextBlock, ...]:
    """Other ways to part the ink of short rows.

    Parameters
    ----------
    rows : sequence of Row
        Rows of lettering.
    perhaps : sequence of Row
        What may be lettering: only fractions are sought there.
    parts : sequence of Part
        All parts of the sheet that may be of a figure.
    height_px : float
        The sheet's usual figure height.

    Returns
    -------
    tuple of TextBlock
        Without repetition.
    """
    small = [
        part
        for part in parts
        if part.size < LARGEST_PART * height_px and part.look is not Look.WEDGE and not is_blot(part)
    ]
    short = [(row, False) for row in rows if row.letters <= (MOST_IN_LINE if row.stacked else MOST_LETTERS)]
    short += [(row, True) for row in perhaps if 0 < row.letters <= MOST_LETTERS]
    if not small or not short:
        return ()
    tree = cKDTree(np.array([part.centre for part in small]))
    found: dict[tuple[int, ...], TextBlock] = {}
    for row, stacks_only in short:
        near = _neighbourhood(row, small, tree, height_px)
        if len(near) > MOST_NEAR:
            continue
        for angle_deg in (*SQUARE_ON_DEG, *_oblique_angles(near, height_px)):
            for run in _runs(row, near, angle_deg, height_px):
                if not stacks_only or _has_stack(run, height_px):
                    block = _rival(run, angle_deg, height_px)
                    found.setdefault(_place(block, height_px), block)
    return tuple(found.values())


def _place(block: TextBlock, height_px: float) -> tuple[int, ...]:
    """Where a block lies, roughly: what lies as near to another reads the same."""
    return tuple(round(at / (SAME_PLACE * height_px)) for corner in block.quad for at in corner)


def _has_stack(run: Sequence[Placed], height_px: float) -> bool:
    """Whether a run may hold a fraction: deep, and of more pieces than one figure."""
    depth = max(item.bottom for item in run) - min(item.top for item in run)
    pieces = sum(item.part.look is not Look.DOT and item.height > PIECE * height_px for item in run)
    return depth > STACK_DEPTH * height_px and pieces > 1


def _neighbourhood(row: Row, parts: Sequence[Part], tree: cKDTree, height_px: float) -> list[Part]:
    """The row's own parts and those near to them, and near to these."""
    chosen = {part.label: part for part in row.parts}
    for _ in range(2):
        for part in list(chosen.values()):
            reach = part.size / 2 + (LARGEST_PART / 2 + NEAR) * height_px
            for index in tree.query_ball_point(part.centre, reach):
                other = parts[index]
                if other.label not in chosen and _gap(part, other) < NEAR * height_px:
                    chosen[other.label] = other
    return list(chosen.values())


def _oblique_angles(parts: Sequence[Part], height_px: float) -> list[float]:
    """Directions of the longest oblique bars: dashes of the line on which a figure stands, or its fraction bar."""
    bars = [part for part in parts if part.look is Look.BAR and part.length > LONG_BAR * height_px]
    found: list[float] = []
    for bar in sorted(bars, key=lambda bar: -bar.length):
        oblique = min(abs(bar.axis_deg), 90.0 - abs(bar.axis_deg)) > LEAST_OBLIQUE_DEG
        if oblique and all(abs(bar.axis_deg - other) > APART_DEG for other in found):
            found.append(bar.axis_deg)
    return found[:MOST_OBLIQUE]


def _gap(one: Part, two: Part) -> float:
    across = max(one.box[0], two.box[0]) - min(one.box[2], two.box[2])
    down = max(one.box[1], two.box[1]) - min(one.box[3], two.box[3])
    return float(np.hypot(max(across, 0.0), max(down, 0.0)))


def _runs(row: Row, parts: Sequence[Part], angle_deg: float, height_px: float) -> Iterator[list[Placed]]:
    """Runs of neighbouring columns that are as large as a figure and hold some part of the row."""
    own = {part.label for part in row.parts}
    placed = place(parts, angle_deg)
    for level in _levels(placed, own, height_px):
        columns = _columns([item for item in placed if abs(item.middle[1] - level) < REACH * height_px], height_px)
        starts = [index for index, column in enumerate(columns) if _may_end(column, level, height_px, MarkSide.BEFORE)]
        ends = [index + 1 for index, column in enumerate(columns) if _may_end(column, level, height_px, MarkSide.AFTER)]
        for first, past in product(starts, ends):
            run = [item for column in columns[first:past] for item in column]
            few = 0 < past - first <= MOST_COLUMNS and any(item.part.label in own for item in run)
            if few and _is_as_large_as_figure(run, height_px):
                yield run


def _levels(items: Sequence[Placed], own: set[int], height_px: float) -> list[float]:
    """Where a row's figure may have its middle: at that of a tall part, or between two that stand over each other."""
    tall = [item for item in items if item.height > TALL * height_px]
    found = [item.middle[1] for item in tall if item.part.label in own]
    for upper, lower in permutations(tall, 2):
        over = min(upper.right, lower.right) > max(upper.left, lower.left)
        of_row = upper.part.label in own or lower.part.label in own
        if of_row and over and 0 < lower.top - upper.bottom < BAR_ROOM * height_px:
            found.append((upper.bottom + lower.top) / 2)
    levels: list[float] = []
    for level in sorted(found):
        if not levels or level - levels[-1] > LEVEL_STEP * height_px:
            levels.append(level)
    return levels


def _may_end(column: Sequence[Placed], level: float, height_px: float, side: MarkSide) -> bool:
    """Whether a figure may begin, or end, with a column: with a figure, a point, or with an inch mark at its end."""
    tall = any(
        item.part.look in (Look.GLYPH, Look.RING) or (item.part.look is Look.BAR and item.height > TALL * height_px)
        for item in column
    )
    return tall or any(
        _is_point(item, level, height_px) or (side is MarkSide.AFTER and _is_mark(item, level, height_px))
        for item in column
    )


def _is_point(item: Placed, level: float, height_px: float) -> bool:
    return item.part.look is Look.DOT and item.middle[1] > level + POINT_UNDER * height_px


def _is_mark(item: Placed, level: float, height_px: float) -> bool:
    return item.middle[1] < level - MARK_OVER * height_px and item.height > MARK_TALL * height_px


def _columns(items: Sequence[Placed], height_px: float) -> list[list[Placed]]:
    """Parts that stand over each other."""
    columns: list[list[Placed]] = []
    right = -np.inf
    for item in sorted(items, key=lambda item: item.left):
        if columns and item.left < right - SLOPING * height_px:
            columns[-1].append(item)
        else:
            columns.append([item])
            right = -np.inf
        right = max(right, item.right)
    return columns


def _is_as_large_as_figure(run: Sequence[Placed], height_px: float) -> bool:
    width = max(item.right for item in run) - min(item.left for item in run)
    depth = max(item.bottom for item in run) - min(item.top for item in run)
    return width < LONGEST * height_px and SHALLOWEST * height_px < depth < DEEPEST * height_px


def _rival(run: Sequence[Placed], angle_deg: float, height_px: float) -> TextBlock:
    depth = max(item.bottom for item in run) - min(item.top for item in run)
    stacked = depth > STACKED * height_px
    height = STACK_FIGURE * depth if stacked else min(depth, height_px)
    return block_of(row_of(run, angle_deg, height))
