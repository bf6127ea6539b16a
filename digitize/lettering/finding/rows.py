"""Clusters of parts sorted into rows: what lies over what.

Glossary
--------
row
    Parts that are read one after the other: a figure with its stacked fraction is one row, and so are limits.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from digitize.lettering.finding.direction import reading_angle
from digitize.lettering.finding.parts import Look, Part
from digitize.lettering.finding.placing import TALL, Placed, Unit, fractions_of, frame_axes, place
from digitize.lettering.finding.sloped import sloped_fractions_of

ROW_STEP = 0.6
"""Middles of one row's letters differ by less than this, in figure heights."""
LIMITS_GAP, LIMITS_LONGEST = 0.45, 9
"""Two rows closer than this are limits rather than a note, if no row has more parts."""
LIKE_WIDTH, LIKE_WIDTH_LEVEL = 0.7, 0.5
"""A word may stand beside one of two limits that begin in line."""
BEGIN_ALIKE = 0.65
"""Sloping letters of the lower row begin further left than those of the upper one."""
FEW_GLYPHS = 2
FUSED_GAP, FEW_UNITS = 0.2, 3
"""Rows of so few letters so close are a fraction whose bar ran into one of its figures, in figure heights."""
FUSED_DEEP, FUSED_FIGURE, FUSED_TURNING = 1.5, 0.42, 1.9
"""Least depth of a fraction whose figures both ran into its bar, in figure heights; height of its figures, in its own;
and how much the pen turns in it."""
SIGN_HEIGHT = 0.85
"""A times sign is lower than this share of the figures of the fractions beside it, which are the lowest figures."""
LONGEST_HYPHEN = 1.0
MARK_REACH = 1.2
SPLIT_GAP = 1.25


@dataclass(frozen=True)
class Row:
    """Parts read one after the other.

    ``box`` is (left, top, right, bottom) in the frame of ``angle_deg``; ``height`` that of plain figures.
    """

    parts: tuple[Part, ...]
    angle_deg: float
    box: tuple[float, float, float, float]
    height: float
    stacked: bool

    @property
    def quad(self) -> tuple[tuple[float, float], ...]:
        """Corners in level pixels, in reading order from the top left."""
        left, top, right, bottom = self.box
        axes = frame_axes(self.angle_deg)
        corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)]) @ axes
        return tuple((float(x), float(y)) for x, y in corners)

    @property
    def is_pair(self) -> bool:
        """Whether it is two lines over each other without a fraction bar, such as limits."""
        if not self.stacked:
            return False
        placed = place(self.parts, self.angle_deg)
        middle = (self.box[1] + self.box[3]) / 2
        tall = [item for item in placed if item.height > TALL * self.height]
        return (
            len(tall) > 2
            and not any(item.top < middle < item.bottom for item in tall)
            and not fractions_of(placed, self.height)
        )

    @property
    def letters(self) -> int:
        """How many parts are letters or upright bars, roughly."""
        return sum(part.look in (Look.GLYPH, Look.RING) or part.length > TALL * self.height for part in self.parts)


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
    lines = _merge_overlapping(_level_lines([*fractions, *tall], height), height)
    runs = [run for line in lines for run in _split_wide_gaps(_with_marks(line, small, height), height)]
    return [row_of(items, angle_deg, height) for items in runs if any(_is_upright(item, height) for item in items)]


def _outside(fractions: Sequence[Unit], placed: Sequence[Placed]) -> list[Placed]:
    inside = {item.part.label for fraction in fractions for item in fraction.items}
    return [item for item in placed if item.part.label not in inside]


def stands_alone(bar: Placed, items: Sequence[Placed]) -> bool:
    """A level bar with nothing over it or under it."""
    if bar.part.look is not Look.BAR or bar.width < bar.height:
        return False
    left, right = bar.left + 0.2 * bar.width, bar.right - 0.2 * bar.width
    return not any(item is not bar and item.left < right and item.right > left for item in items)


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


def _level_lines(units: Sequence[Unit], height: float) -> list[list[Unit]]:
    """Units sorted into lines by the level of their middles."""
    lines: list[list[Unit]] = []
    for unit in sorted(units, key=lambda item: item.level):
        if lines and unit.level - lines[-1][-1].level < ROW_STEP * height:
            lines[-1].append(unit)
        else:
            lines.append([unit])
    return lines


def _merge_overlapping(lines: list[list[Unit]], height: float) -> list[list[Unit]]:
    """Join lines that lie into one another, and pairs of short lines that are limits."""
    merged: list[list[Unit]] = []
    for line in lines:
        fused = merged and _may_be_fused(merged[-1], line)
        into = merged and _gap_below(merged[-1], line) < (FUSED_GAP if fused else -FUSED_GAP) * height
        if into and not _stand_over(merged[-1], line):
            merged[-1] = [*merged[-1], *line]
        else:
            merged.append(line)
    pairs = [_are_limits(upper, lower, height) for upper, lower in pairwise(merged)]
    out: list[list[Unit]] = []
    for index, line in enumerate(merged):
        if index and pairs[index - 1] and sum(pairs[max(index - 2, 0) : index + 1]) == 1:
            out[-1] = [*out[-1], *line]
        else:
            out.append(line)
    return out


def _may_be_fused(upper: Sequence[Unit], lower: Sequence[Unit]) -> bool:
    """Whether two lines may be the figures of one fraction: of few letters, over each other, no fraction in either."""
    few = max(len(upper), len(lower)) <= FEW_UNITS and not any(unit.is_fraction for unit in (*upper, *lower))
    return few and _are_over_each_other(upper, lower)


def _are_over_each_other(upper: Sequence[Unit], lower: Sequence[Unit]) -> bool:
    """Whether some letter of one line stands over some letter of the other."""
    return any(_shares_column(one, two) for one in upper for two in lower)


def _shares_column(one: Unit, two: Unit) -> bool:
    shared = min(one.right, two.right) - max(one.left, two.left)
    return shared > 0.5 * min(one.right - one.left, two.right - two.left)


def _stand_over(upper: Sequence[Unit], lower: Sequence[Unit]) -> bool:
    """Whether a letter stands right over another one of a line that reaches up beside it by its fraction only."""
    if not any(unit.is_fraction for unit in (*upper, *lower)):
        return False
    return any(
        _shares_column(one, two) and one.bottom <= two.top
        for one in upper
        for two in lower
        if not one.is_fraction and not two.is_fraction
    )


def _gap_below(upper: Sequence[Unit], lower: Sequence[Unit]) -> float:
    return min(unit.top for unit in lower) - max(unit.bottom for unit in upper)


def _are_limits(upper: Sequence[Unit], lower: Sequence[Unit], height: float) -> bool:
    """Two short lines of like width, close over each other."""
    units = (*upper, *lower)
    if any(unit.is_fraction for unit in units) or max(len(upper), len(lower)) > LIMITS_LONGEST:
        return False
    spans = [(min(unit.left for unit in line), max(unit.right for unit in line)) for line in (upper, lower)]
    widths = sorted(right - left for left, right in spans)
    shared = min(spans[0][1], spans[1][1]) - max(spans[0][0], spans[1][0])
    begin_alike = abs(spans[0][0] - spans[1][0]) < BEGIN_ALIKE * height and widths[0] > LIKE_WIDTH_LEVEL * widths[1]
    alike = shared > 0.8 * widths[0] and (widths[0] > LIKE_WIDTH * widths[1] or begin_alike)
    return _gap_below(upper, lower) < LIMITS_GAP * height and alike


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


def row_of(items: Sequence[Placed], angle_deg: float, height: float) -> Row:
    """A row of parts placed in the frame of ``angle_deg``, with figures of a height."""
    box = (
        min(item.left for item in items),
        min(item.top for item in items),
        max(item.right for item in items),
        max(item.bottom for item in items),
    )
    stacked = box[3] - box[1] > 1.55 * height and len(items) > 2
    parts = tuple(sorted((item.part for item in items), key=lambda part: part.label))
    return Row(parts, angle_deg, box, height, stacked)


def without_end_dashes(row: Row) -> Row:
    """A row without level bars that stand alone at its ends: bits of a dimension line, for no figure ends so."""
    items = sorted(place(row.parts, row.angle_deg), key=lambda item: item.left)
    count = len(items)
    while items and stands_alone(items[0], items):
        items.pop(0)
    items.sort(key=lambda item: item.right)
    while items and stands_alone(items[-1], items):
        items.pop()
    return row_of(items, row.angle_deg, row.height) if 0 < len(items) < count else row


def joined(one: Row, two: Row, between: Sequence[Part] = ()) -> Row:
    """Two rows in line and signs between them, as one; all is carried into the first one's frame."""
    items = place([*one.parts, *between, *two.parts], one.angle_deg)
    row = row_of(items, one.angle_deg, max(one.height, two.height))
    return replace(row, stacked=one.stacked or two.stacked)
