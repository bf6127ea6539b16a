"""Clusters of parts sorted into rows: what lies over what."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from digitize.lettering.finding.direction import reading_angle
from digitize.lettering.finding.lines_of_units import lines_of_units
from digitize.lettering.finding.parts import Look, Part
from digitize.lettering.finding.placing import TALL, Placed, Unit, fractions_of, place
from digitize.lettering.finding.row import Row, row_of
from digitize.lettering.finding.sloped import sloped_fractions_of

FEW_GLYPHS = 2
FUSED_DEEP, FUSED_FIGURE, FUSED_TURNING = 1.5, 0.42, 1.9
"""Least depth of a fraction whose figures both ran into its bar, in figure heights; height of its figures, in its own;
and how much the pen turns in it."""
SIGN_HEIGHT = 0.85
"""A times sign is lower than this share of the figures of the fractions beside it, which are the lowest figures."""
LONGEST_HYPHEN = 1.0
MARK_REACH = 1.2
SPLIT_GAP = 1.25


def split_rows(parts: Sequence[Part], usual_height: float) -> list[Row]:
    """Sort one cluster into rows, in its likeliest reading direction."""
    rows = rows_at(parts, reading_angle(parts, usual_height), usual_height)
    return [_alone(row, usual_height) if len(row.parts) == 1 else row for row in rows]


def _alone(row: Row, usual_height: float) -> Row:
    """A single letter, as it stands by itself: what else is near it, and is no letter, does not tell how it reads.

    One as deep as a fraction, in which the pen turned as much, is one whose figures ran into its bar.
    """
    (part,) = row.parts
    turned = rows_at(row.parts, reading_angle(row.parts, usual_height), usual_height)
    alone = turned[0] if len(turned) == 1 else row
    depth = alone.box[3] - alone.box[1]
    fused = part.look is Look.GLYPH and part.turning > FUSED_TURNING and depth > FUSED_DEEP * usual_height
    return replace(alone, height=FUSED_FIGURE * depth, stacked=True) if fused else alone


def rows_at(parts: Sequence[Part], angle_deg: float, usual_height: float) -> list[Row]:
    """Sort one cluster into rows in a given reading direction."""
    placed = place(parts, angle_deg)
    fractions = fractions_of(placed, usual_height)
    fractions += sloped_fractions_of(_outside(fractions, placed), angle_deg, usual_height)
    loose = _outside(fractions, placed)
    height = _plain_height(loose, fractions, usual_height)
    tall = [Unit((item,)) for item in loose if _stands(item, height)]
    standing = {unit.items[0].part.label for unit in tall}
    small = [item for item in loose if item.part.label not in standing]
    lines = lines_of_units([*fractions, *tall], height)
    runs = [run for line in lines for run in _split_wide_gaps(_with_marks(line, small, height), height)]
    return [row_of(items, angle_deg, height) for items in runs if any(_is_upright(item, height) for item in items)]


def _outside(fractions: Sequence[Unit], placed: Sequence[Placed]) -> list[Placed]:
    inside = {item.part.label for fraction in fractions for item in fraction.items}
    return [item for item in placed if item.part.label not in inside]


def _is_upright(item: Placed, height: float) -> bool:
    return item.height > 0.4 * height


def _plain_height(loose: Sequence[Placed], fractions: Sequence[Unit], usual_height: float) -> float:
    """Height of the plain figures: those outside fractions where there are any."""
    inside = [item.height for unit in fractions for item in unit.items[1:] if item.height > 0.4 * usual_height]
    least = float(np.median(inside)) if inside else 0.0  # what is lower is a sign between two fractions
    plain = [item.height for item in loose if item.part.look is Look.GLYPH and item.height > 0.5 * usual_height]
    plain += [item.height for item in loose if item.part.look is Look.RING and item.height > 0.7 * usual_height]
    plain = [height for height in plain if height > SIGN_HEIGHT * least]
    if len(plain) < FEW_GLYPHS:
        plain += [item.height for item in loose if _is_steep(item) and 0.55 < item.height / usual_height < 1.5]
    plain = plain or inside
    return float(np.percentile(plain, 60)) if plain else usual_height


def _is_steep(item: Placed) -> bool:
    return item.part.look is Look.BAR and item.height > item.width


def _stands(item: Placed, height: float) -> bool:
    if item.part.look is Look.BAR:
        tallest = 1.5 if item.width < 0.4 * item.height else 2.8
        return _is_steep(item) and TALL * height < item.height < tallest * height
    return item.part.look in (Look.GLYPH, Look.RING) and item.height > TALL * height


def without_false_pairs(rows: Sequence[Row], usual_height: float) -> list[Row]:
    """The rows, those parted again that are two lines of other figures.

    A word joined to a line of limits may show that there are none: the whole lines are not of like width.
    """
    return [piece for row in rows for piece in (_lines_of(row, usual_height) if row.is_pair else [row])]


def _lines_of(row: Row, usual_height: float) -> list[Row]:
    lines = rows_at(row.parts, row.angle_deg, usual_height)
    return lines if sum(len(line.parts) for line in lines) == len(row.parts) else [row]


def _split_wide_gaps(line: Sequence[Placed], height: float) -> list[list[Placed]]:
    runs: list[list[Placed]] = []
    right = -math.inf
    for item in sorted(line, key=lambda item: item.left):
        if runs and item.left - right < SPLIT_GAP * height:
            runs[-1].append(item)
        else:
            runs.append([item])
            right = -math.inf
        right = max(right, item.right)
    return runs


def _with_marks(line: Sequence[Unit], small: Sequence[Placed], height: float) -> list[Placed]:
    """The parts of a line, with the points, marks and signs that stand in it, each near what is there already."""
    left, right = min(unit.left for unit in line), max(unit.right for unit in line)
    top, bottom = min(unit.top for unit in line), max(unit.bottom for unit in line)
    items = [item for unit in line for item in unit.items]
    within = [
        item
        for item in small
        if top - 0.35 * height < item.middle[1] < bottom + 0.3 * height and not _is_underline(item, bottom, height)
    ]
    for item in sorted(within, key=lambda item: max(left - item.middle[0], item.middle[0] - right)):
        if left - MARK_REACH * height < item.middle[0] < right + MARK_REACH * height:
            items.append(item)
            left, right = min(left, item.left), max(right, item.right)
    return items


def _is_underline(item: Placed, bottom: float, height: float) -> bool:
    level = item.part.look is Look.BAR and item.width > item.height
    return level and (item.middle[1] > bottom - 0.1 * height or item.width > LONGEST_HYPHEN * height)
