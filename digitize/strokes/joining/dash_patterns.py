"""What the dashes of a line repeat, by their lengths and the gaps between them.

Glossary
--------
pattern
    "dashed" (all alike), "chain" (long and short by turns), "double_chain" (long and two short).
"""

from itertools import pairwise
from statistics import median, quantiles

LONGEST_SHORT_DASH_MM = 9.0
"""Dashes of a plain dashed line are shorter than this (ISO 128-20 on A0: 12 pen widths)."""
SHORT_SHARE = 0.38
"""A short dash of a chain line is at most this share of a long one."""
LEAST_TURNS = 2
"""Where so many short dashes stand between long ones, a second one at an end is a long one cut short."""
LEAST_LONG = 2
"""A chain line with two short dashes shows so many long ones."""
LEAST_GAPS = 0.02
"""Share of a broken line that is gaps; less is dropouts. (By ASME Y14.2 it is .07; crossings hide some.)"""
GAP_RATIO = 1.8
GAP_SLACK_MM = 0.35
DASH_RATIO = 1.6
DASH_SLACK_MM = 0.5
MOST_SWALLOWED, LEAST_TO_COUNT = 0.4, 6
"""Dashes that swallowed gaps are no more than this share of a plain dashed line; of a chain line that damage has put
out of turn the long ones would be half."""
PAIR_RATIO = 1.5
PAIR_DASH_MM = 5.5
PAIR_GAP_MM = 1.8


def pattern_of(lengths: list[float], gaps: list[float], px_per_mm: float) -> str | None:
    """Name the pattern of a sequence; None where it keeps to none.

    Parameters
    ----------
    lengths : list of float
        Of its dashes, px; a dash may have swallowed gaps where another line crosses.
    gaps : list of float
        Between them, px; one fewer.
    px_per_mm : float

    Examples
    --------
    >>> pattern_of([30, 31, 30, 12], [9, 9, 9], 10)
    'dashed'
    >>> pattern_of([120, 25, 121, 24, 119], [15, 15, 15, 15], 10)
    'chain'
    >>> pattern_of([24, 25, 117, 25, 116, 24, 117], [14] * 6, 10)
    'chain'
    >>> pattern_of([400, 30, 31], [9, 9], 10) is None
    True
    >>> pattern_of([400, 30, 31, 30], [9, 9, 9], 10) is None
    True
    >>> pattern_of([1400, 20, 760], [8, 8], 10) is None
    True
    """
    if len(lengths) == 2:
        return _pair(lengths, gaps[0], px_per_mm)
    if len(lengths) < 3 or not _gaps_repeat(gaps, px_per_mm):
        return None
    if sum(gaps) < LEAST_GAPS * sum(lengths):
        return None
    return _chain(lengths) or _dashed(lengths, gaps, px_per_mm)


def _gaps_repeat(gaps: list[float], px_per_mm: float) -> bool:
    usual = median(gaps)
    slack = GAP_SLACK_MM * px_per_mm
    return all(usual / GAP_RATIO - slack <= gap <= usual * GAP_RATIO + slack for gap in gaps)


def _pair(lengths: list[float], gap: float, px_per_mm: float) -> str | None:
    """Two dashes are a dashed line if they are short and alike."""
    short, long = sorted(lengths)
    alike = long <= PAIR_RATIO * short and long <= PAIR_DASH_MM * px_per_mm
    return "dashed" if alike and gap <= min(PAIR_GAP_MM * px_per_mm, 0.7 * short) else None


def _dashed(lengths: list[float], gaps: list[float], px_per_mm: float) -> str | None:
    """All inner dashes are one, two or three dashes long, most of them one; those at the ends may be cut short."""
    inner = lengths[1:-1] if len(lengths) > 3 else lengths
    unit = quantiles(inner, n=5, method="inclusive")[1]
    gap, slack = median(gaps), DASH_SLACK_MM * px_per_mm
    if unit > LONGEST_SHORT_DASH_MM * px_per_mm:
        return None
    swallowed = 0
    for length in inner:
        count = max(1, round((length + gap) / (unit + gap)))
        swallowed += count > 1
        whole = count * (unit + gap) - gap
        if count > 3 or not whole / DASH_RATIO - slack <= length <= whole * DASH_RATIO + slack:
            return None
    if len(inner) >= LEAST_TO_COUNT and swallowed > MOST_SWALLOWED * len(inner):
        return None
    ends_fit = all(length <= 2 * (unit + gap) * DASH_RATIO for length in lengths)
    return "dashed" if ends_fit else None


def _chain(lengths: list[float]) -> str | None:
    """Long and short dashes by turns; a long one may have swallowed a short one where another line crosses."""
    least = 0.5 * max(quantiles(lengths, n=4, method="inclusive")[2], 1e-9)
    long = median(n for n in lengths if n >= least)
    short = [n < SHORT_SHARE * long for n in lengths]
    inner = short[1:-1]
    if not any(inner):
        return None
    in_pairs = sum(a and b for a, b in pairwise(inner))
    triples = sum(a and b and c for a, b, c in zip(inner, inner[1:], inner[2:], strict=False))
    longs_in_row = sum(not a and not b for a, b in pairwise(short))
    if triples or longs_in_row > max(1, len(lengths) // 4):
        return None
    in_turn = in_pairs == 0 and sum(inner) >= LEAST_TURNS and not longs_in_row
    if in_turn or not any(a and b for a, b in pairwise(short)):
        return "chain"
    # an edge on one line with the dashes of an extension line has but one long dash, at its end
    repeats = sum(not n for n in short) >= LEAST_LONG
    return "double_chain" if repeats and 2 * in_pairs >= 0.8 * sum(inner) else None


def split_sequence(lengths: list[float], gaps: list[float], px_per_mm: float) -> list[tuple[int, int, str]]:
    """Find the parts of a sequence that keep to a pattern: first dash, end dash (exclusive), pattern."""
    if len(lengths) < 2:
        return []
    pattern = pattern_of(lengths, gaps, px_per_mm)
    if pattern is not None:
        return [(0, len(lengths), pattern)]
    at = _worst_gap(lengths, gaps)
    left = split_sequence(lengths[: at + 1], gaps[:at], px_per_mm)
    right = split_sequence(lengths[at + 1 :], gaps[at + 1 :], px_per_mm)
    return left + [(a + at + 1, b + at + 1, name) for a, b, name in right]


def _worst_gap(lengths: list[float], gaps: list[float]) -> int:
    """Number of the gap at which a sequence falls apart best: beside an over-long end dash, or the oddest gap."""
    usual, gap = max(median(lengths), 1e-6), max(median(gaps), 1e-6)
    oddness = [max(g / gap, gap / max(g, 1e-6)) for g in gaps]
    if max(oddness) < GAP_RATIO or len(gaps) == 1:
        oddness[0] = max(oddness[0], lengths[0] / usual)
        oddness[-1] = max(oddness[-1], lengths[-1] / usual)
    return oddness.index(max(oddness))
