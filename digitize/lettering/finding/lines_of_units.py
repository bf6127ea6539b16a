"""Letters and fractions sorted into lines, and lines over each other joined that are one row, such as limits."""

from collections.abc import Sequence
from itertools import pairwise

from digitize.lettering.finding.placing import Unit

ROW_STEP = 0.6
"""Middles of one row's letters differ by less than this, in figure heights."""
LIMITS_GAP, LIMITS_LONGEST = 0.45, 9
"""Two rows closer than this are limits rather than a note, if no row has more parts."""
LIKE_WIDTH, LIKE_WIDTH_LEVEL = 0.7, 0.5
"""A word may stand beside one of two limits that begin in line."""
BEGIN_ALIKE = 0.65
"""Sloping letters of the lower row begin further left than those of the upper one."""
FUSED_GAP, FEW_UNITS = 0.2, 3
"""Rows of so few letters so close are a fraction whose bar ran into one of its figures, in figure heights."""


def lines_of_units(units: Sequence[Unit], height: float) -> list[list[Unit]]:
    """Units sorted into lines from the top down; lines that make one row are one.

    Parameters
    ----------
    units : sequence of Unit
    height : float
        That of plain figures, in level pixels.
    """
    return _merge_overlapping(_level_lines(units, height), height)


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
