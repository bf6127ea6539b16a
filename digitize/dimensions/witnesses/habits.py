"""How usual a value is as it is written: by the sheet's own habit, by how offices write tolerances, by the tables."""

import math
import re
from collections.abc import Sequence
from fractions import Fraction

from digitize.dimensions.linking.candidates import Candidate, thread_designation
from digitize.lettering.text import Kind, TypedValue
from digitize.standards import threads

FINEST_BINARY = 64
"""The finest binary fraction that a rule shows."""
OFF_TABLE = 0.05
"""Share of threads on prints that no table holds, makers' own sizes among them (common practice, no source)."""


def style_prior(value: TypedValue, seen: Sequence[TypedValue]) -> float:
    """How usual the style and the last place of a value are on this sheet.

    Parameters
    ----------
    value : TypedValue
    seen : sequence of TypedValue
        Best readings of the other figures on the sheet.

    Returns
    -------
    float
        A probability-like weight; only ratios between rivals matter.

    Notes
    -----
    Counts with a start of one half for each style, and of 2 / log2-rank for each denominator: halves are usual
    before sixty-fourths are (common practice, no source). Decimals are counted by whether they are a binary fraction
    in full, as .5625 is and .562 is not: offices that work in such fractions write few others.
    """
    if value.style == "angle":
        return _angle_prior(value.nominal)
    styles = sum(1 for other in seen if other.style == value.style)
    weight = (styles + 0.5) / (len(seen) + 4.0)
    if value.style.startswith("decimal"):
        decimals = [other for other in seen if other.style.startswith("decimal")]
        alike = sum(_is_binary(other) == _is_binary(value) for other in decimals)
        weight *= (alike + 0.5) / (len(decimals) + 1.0)
    same = [other for other in seen if other.style == value.style]
    if value.style in ("fraction", "feet", "integer"):
        rank = math.log2(value.place.denominator) + 1 if value.place.denominator else 1.0
        usual = 2.0 / (1.0 + rank)
        places = sum(1 for other in same if other.place == value.place)
        weight *= (places + usual) / (len(same) + 3.0)
    return weight


def _is_binary(value: TypedValue) -> bool:
    """Is it a whole number of sixty-fourths, or of coarser parts?"""
    return value.nominal is not None and FINEST_BINARY % value.nominal.denominator == 0


def _angle_prior(nominal: Fraction | None) -> float:
    if nominal is None:
        return 0.02
    for step, weight in ((15, 0.5), (5, 0.3), (1, 0.18)):
        if nominal % step == 0:
            return weight
    return 0.02


UNEQUAL_PLACES = 0.05
"""Share of tolerances whose figures are not written to the same places (ASME Y14.5 wants them so; from memory)."""
ODD_TOLERANCE = 0.1
"""Share of tolerances that are no 1, 2 or 5 of their last place, of one-sided ones no 3 either (common practice, no
source)."""
LOPSIDED = 0.1
"""Share of tolerances to both sides that allow more on one of them (common practice, no source)."""
SMALLER_ABOVE = 0.1
"""Share of limits and deviations whose smaller one stands above (ASME Y14.5 has the larger above; from memory)."""
WIDE_TOLERANCE = 0.05
"""Share of tolerances wider than a twentieth of their size (common practice, no source)."""
WIDEST = Fraction(1, 20)
PLACES = re.compile(r"\.(\d+)")
STACKED = re.compile(r"([+-]?)(\d*\.?\d+)\s*\n\D*?([+-]?)(\d*\.?\d+)")
"""Two numbers one above the other, with their signs."""


def tolerance_prior(candidate: Candidate) -> float:
    """How much less usual a tolerance is than one of the plain ones; 1 for a value without.

    Examples
    --------
    >>> from digitize.lettering.grammar import parse
    >>> texts = ("1.125", "1.125 ±.001", "1.125 ±.007", "1.125 ±.01", "1.250\\n1.248", "1.25\\n1.248", "1.248\\n1.250")
    >>> [round(tolerance_prior(Candidate(text, parse(text).values[0], 1.0)), 3) for text in texts]
    [1.0, 1.0, 0.1, 0.05, 1.0, 0.05, 0.1]
    """
    value = candidate.value
    if value.upper is None or value.lower is None or not value.nominal:
        return 1.0
    weight = 1.0 if len({len(places) for places in PLACES.findall(candidate.text)}) <= 1 else UNEQUAL_PLACES
    if value.style != "limits":
        weight *= _allowance_prior(value.upper, value.lower)
    if _smaller_above(candidate.text):
        weight *= SMALLER_ABOVE
    return weight * (WIDE_TOLERANCE if value.upper - value.lower > WIDEST * value.nominal else 1.0)


def _allowance_prior(upper: Fraction, lower: Fraction) -> float:
    """How much less usual such allowances are than plain ones; those to one side of the size are of tables of fits."""
    if upper == -lower:
        return 1.0 if _last_figures(upper) in ("1", "2", "5") else ODD_TOLERANCE
    if upper == 0 or lower == 0:
        return 1.0 if _last_figures(upper - lower) in ("1", "2", "3", "5") else ODD_TOLERANCE
    return LOPSIDED if upper > 0 > lower else 1.0


def _smaller_above(text: str) -> bool:
    """Is the upper of two numbers that stand one above the other the smaller one?

    Examples
    --------
    >>> [_smaller_above(text) for text in ("1.248\\n1.250", "1.250\\n1.248", "1.5 -.002\\n-.001", "1.5 +.001\\n-.002")]
    [True, False, True, False]
    """
    found = STACKED.search(text)
    if found is None:
        return False
    above, below = (Fraction(sign + number) for sign, number in (found.group(1, 2), found.group(3, 4)))
    return above < below


def _last_figures(tolerance: Fraction) -> str:
    """The figures of a decimal without its noughts."""
    return f"{float(tolerance):.6f}".replace(".", "").strip("0")


def table_prior(value: TypedValue) -> float:
    """How much less usual a thread is that no table holds; 1 for every other value.

    Examples
    --------
    >>> from digitize.lettering.grammar import parse
    >>> [table_prior(parse(text).values[0]) for text in ("3/4-10 THDS.", "3/4-15 THDS.", "3/4")]
    [1.0, 0.05, 1.0]
    """
    if value.kind is not Kind.THREAD or not value.name:
        return 1.0
    return 1.0 if threads(thread_designation(value.name)) else OFF_TABLE
