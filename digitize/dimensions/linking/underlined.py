"""Underlined figures: the part was changed and the drawing was not (ISO 129-1 and older office habit, from memory)."""

import math
from collections.abc import Sequence
from dataclasses import replace

from digitize.dimensions.linking.directions import across, along, fold_deg, line_angle_deg, unit
from digitize.dimensions.linking.entries import Entry
from digitize.lettering.text import Kind, Text, TextBlock
from digitize.strokes.primitives import Line, Point, Strokes

PARALLEL_DEG = 4.0
"""An underline runs along its figure to this."""
BELOW_HEIGHTS = 0.05, 0.7
"""It lies this far under the figure, in figure heights ..."""
BEYOND_HEIGHTS = 0.5
"""... reaches no further beyond either end ..."""
LEAST_COVER = 0.7
"""... and runs under this share of it at least."""
FREE_MM = 0.8
"""Nothing else ends or crosses this near to its ends, in mm of paper, nor an arrow twice as near to any of it: a
dimension line, an extension line, a table's rule and an edge all meet something."""
SIZES = (Kind.LINEAR, Kind.DIAMETER, Kind.RADIUS, Kind.ANGLE)


def mark_underlined(
    entries: Sequence[Entry], texts: Sequence[Text], strokes: Strokes, mm_per_px: float
) -> tuple[Entry, ...]:
    """Take sizes with a stroke of their own under them for not to scale.

    Parameters
    ----------
    entries : sequence of Entry
        Not yet measured.
    texts : sequence of Text
    strokes : Strokes
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    tuple of Entry
        In the same order.
    """
    return tuple(
        _off_scale(entry)
        if entry.value is not None
        and entry.value.kind in SIZES
        and texts[entry.text].block.group is None
        and _is_underlined(texts[entry.text].block, strokes, FREE_MM / mm_per_px)
        else entry
        for entry in entries
    )


def _off_scale(entry: Entry) -> Entry:
    options = tuple(replace(o, value=replace(o.value, not_to_scale=True)) for o in entry.options)
    value = None if entry.value is None else replace(entry.value, not_to_scale=True)
    return replace(entry, value=value, options=options)


def _is_underlined(block: TextBlock, strokes: Strokes, free_px: float) -> bool:
    under = [line for line in strokes.lines if _runs_under(line, block)]
    return any(_stands_free(line, strokes, free_px) for line in under)


def _runs_under(line: Line, block: TextBlock) -> bool:
    if abs(fold_deg(line_angle_deg(line) - block.angle_deg)) > PARALLEL_DEG:
        return False
    way, height = unit(block.angle_deg), block.height_px
    foot = (block.quad[2][0] + block.quad[3][0]) / 2, (block.quad[2][1] + block.quad[3][1]) / 2
    middle = (line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2
    if not BELOW_HEIGHTS[0] < across(middle, foot, way) / height < BELOW_HEIGHTS[1]:
        return False
    half = math.dist(block.quad[2], block.quad[3]) / 2
    low, high = sorted(along(end, foot, way) for end in (line.start, line.end))
    covered = min(high, half) - max(low, -half)
    within = low > -half - BEYOND_HEIGHTS * height and high < half + BEYOND_HEIGHTS * height
    return within and covered > LEAST_COVER * 2 * half


def _stands_free(line: Line, strokes: Strokes, free_px: float) -> bool:
    others = [other for other in strokes.lines if other is not line]
    heads = [head.tip for head in strokes.arrowheads]
    met = any(_gap(end, other) < free_px for end in (line.start, line.end) for other in others)
    return not met and not any(_gap(tip, line) < 2 * free_px for tip in heads)


def _gap(point: Point, line: Line) -> float:
    """Distance from a point to a line's own length."""
    length = math.dist(line.start, line.end)
    way = (line.end[0] - line.start[0]) / length, (line.end[1] - line.start[1]) / length
    t = min(max(along(point, line.start, way), 0.0), length)
    return math.dist(point, (line.start[0] + t * way[0], line.start[1] + t * way[1]))
