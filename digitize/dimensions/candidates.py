"""What a figure may say: the reader's best strings and every one-character confusion that still parses.

A rival reading that the geometry can't tell from the best one is what lets a wrong value pass as right, so rivals are
listed whether or not the reader thought of them.
"""

import math
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from digitize.lettering.text import Callout, Kind, Reading, TypedValue
from digitize.standards import threads

DIGITS = "0123456789"
SUBSTITUTED_SHARE = 0.003
"""Probability left to one figure taken for another, or made up (simulated, for a reader that is calibrated; of 6,583
crops that ours accepted one was wrong; of 5,553 texts read at .99 and more on whole sheets none)."""
LOST_SHARE = 0.017
"""Probability left to a figure lost at the beginning, or a point lost or gained: on whole sheets blocks are cut short
oftener than misread (of the same 5,553 fourteen lack their beginning and one its point, beside marks and words)."""
TEMPER = 0.75
"""Share of the reader's log-probabilities that is believed: no reader is as sure as it says. On 1,060 sheets those of
its own rivals that are so given .003 to .05 should have been what the print says 69 times and were 11 times, each by a
first figure or a point lost or gained (by halves of the logarithms, as simulated, 188 times and 4)."""
LEAST_PROBABILITY = 1e-9
FINEST_BINARY = 64
"""The finest binary fraction that a rule shows."""
OFF_TABLE = 0.05
"""Share of threads on prints that no table holds, makers' own sizes among them (common practice, no source)."""

Parser = Callable[[str], Callout | None]


@dataclass(frozen=True)
class Candidate:
    """One value that a figure may say.

    ``probability`` is q(s): the reader's, tempered, mixed with the confusions'. ``text`` is the whole callout.
    """

    text: str
    value: TypedValue
    probability: float


def substitutions(text: str) -> Iterator[str]:
    """Every string in which one figure is another.

    Examples
    --------
    >>> list(substitutions("1 R"))
    ['0 R', '2 R', '3 R', '4 R', '5 R', '6 R', '7 R', '8 R', '9 R']
    """
    for i, character in enumerate(text):
        if character in DIGITS:
            yield from (text[:i] + digit + text[i + 1 :] for digit in DIGITS if digit != character)


def made_up(text: str) -> Iterator[str]:
    """Every string that lacks one figure, which was read where nothing is.

    Examples
    --------
    >>> list(made_up("7.25"))
    ['.25', '7.5', '7.2']
    """
    if len(text) > 1:
        yield from (text[:i] + text[i + 1 :] for i, character in enumerate(text) if character in DIGITS)


def losses(text: str) -> Iterator[str]:
    """Every string with a leading 1 that the reader lost, a point lost or gained, or a gap run together.

    Examples
    --------
    >>> sorted(losses("7.52"))
    ['.7.52', '17.52', '7..52', '7.152', '7.5 2', '7.5.2', '752']
    """
    for i, character in enumerate(text):
        if character in DIGITS:
            if i > 0 and text[i - 1] in DIGITS:
                yield text[:i] + " " + text[i:]
            yield text[:i] + "." + text[i:]
            if i == 0 or text[i - 1] not in DIGITS:
                yield text[:i] + "1" + text[i:]
        if character == "." and len(text) > 1:
            yield text[:i] + text[i + 1 :]
            if i == 0 or text[i - 1] not in DIGITS:
                yield text[:i] + "1" + text[i:]


def candidates(readings: Sequence[Reading], which: int, parse: Parser) -> tuple[Candidate, ...]:
    """Values that one place of a callout may hold.

    Parameters
    ----------
    readings : sequence of Reading
        Best first; the first must parse.
    which : int
        Index of the value in the callout.
    parse : callable
        Canonical text to Callout, or None.

    Returns
    -------
    tuple of Candidate
        Most probable first; each nominal and tolerance once; probabilities sum to one. Empty where the best reading
        does not parse to that many values.
    """
    best = parse(readings[0].text) if readings else None
    if best is None or which >= len(best.values):
        return ()
    shape = len(best.values)
    weights: dict[tuple[object, ...], float] = defaultdict(float)
    seen: dict[tuple[object, ...], tuple[str, TypedValue]] = {}
    read = [(r.text, max(r.probability, LEAST_PROBABILITY) ** TEMPER) for r in readings]
    _gather(read, which, shape, parse, weights, seen)
    total = sum(weights.values())
    for key in weights:
        weights[key] *= (1 - SUBSTITUTED_SHARE - LOST_SHARE) / total
    text = readings[0].text
    # The likelier slip comes first: of two that give one value it says how the value is written.
    for share, slips in ((LOST_SHARE, losses(text)), (SUBSTITUTED_SHARE, (*substitutions(text), *made_up(text)))):
        _spread(share, slips, best, which, parse, weights, seen)
    scale = sum(weights.values())
    ranked = sorted(weights, key=lambda key: -weights[key])
    return tuple(Candidate(*seen[key], weights[key] / scale) for key in ranked)


def _key(value: TypedValue) -> tuple[object, ...]:
    """What makes two values one: spacing in a designation, or the word for threads, does not tell them apart."""
    name = thread_designation(value.name).replace(" ", "") if value.name else None
    return value.kind, value.nominal, value.upper, value.lower, name


def _gather(
    strings: Sequence[tuple[str, float]],
    which: int,
    shape: int,
    parse: Parser,
    weights: dict[tuple[object, ...], float],
    seen: dict[tuple[object, ...], tuple[str, TypedValue]],
) -> None:
    for text, weight in strings:
        callout = parse(text)
        if callout is None or len(callout.values) != shape or callout.values[which].nominal is None:
            continue
        value = callout.values[which]
        weights[_key(value)] += weight
        seen.setdefault(_key(value), (callout.text, value))


def _spread(
    share: float,
    slips: Iterable[str],
    best: Callout,
    which: int,
    parse: Parser,
    weights: dict[tuple[object, ...], float],
    seen: dict[tuple[object, ...], tuple[str, TypedValue]],
) -> None:
    """Share out a part of the probability evenly over the slips; those that make no sense are ruled out, not shared."""
    rivals: dict[tuple[object, ...], tuple[str, TypedValue]] = {}
    distinct = tuple(dict.fromkeys(slips))
    for other in distinct:
        callout = parse(other)
        if callout is None or len(callout.values) != len(best.values):
            continue
        value = callout.values[which]
        kept = all(
            _key(a) == _key(b) for i, (a, b) in enumerate(zip(callout.values, best.values, strict=True)) if i != which
        )
        if kept and value.nominal is not None and value.nominal > 0 and value.kind is best.values[which].kind:
            rivals.setdefault(_key(value), (callout.text, value))
    for key, found in rivals.items():
        weights[key] += share / len(distinct)
        seen.setdefault(key, found)


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


HOLES = re.compile(r"\bHOLES\b", re.IGNORECASE)


def lacks_count(candidate: Candidate) -> bool:
    """Does a callout speak of holes and not say how many? Then the count may have run into the size.

    Examples
    --------
    >>> from digitize.lettering.grammar import parse
    >>> texts = ("DRILL .281 6 HOLES", "DRILL .2816 HOLES", "DRILL .281")
    >>> [lacks_count(Candidate(text, parse(text).values[0], 1.0)) for text in texts]
    [False, True, False]
    """
    counted = candidate.value.count is not None or candidate.value.name == "bolt_circle"
    return HOLES.search(candidate.text) is not None and not counted


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


def thread_designation(name: str) -> str:
    """A thread as the tables are asked for it: without the word for threads.

    Examples
    --------
    >>> thread_designation('1 1/2"-6 THDS.'), thread_designation("M10 × 1.5")
    ('1 1/2"-6', 'M10 × 1.5')
    """
    words = [word for word in name.split() if not word.upper().startswith(("THD", "THREAD"))]
    return " ".join(words)
