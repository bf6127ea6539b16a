"""What a figure may say: the reader's best strings and every one-character confusion that still parses.

A rival reading that the geometry can't tell from the best one is what lets a wrong value pass as right, so rivals are
listed whether or not the reader thought of them.
"""

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from digitize.lettering.text import Callout, Kind, Reading, TypedValue
from digitize.standards.lookup import threads

DIGITS = "0123456789"
SUBSTITUTED_SHARE = 0.003
"""Probability left to one figure taken for another (shared trial, for a reader that is calibrated; of 6,583 crops that
ours accepted one was wrong)."""
LOST_SHARE = 0.017
"""Probability left to a figure or a point lost or gained: on whole sheets blocks are cut short oftener than misread."""
TEMPER = 0.5
"""Log-probabilities of the reader are halved: no reader is as sure as it says (shared trial)."""
LEAST_PROBABILITY = 1e-9
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


def losses(text: str) -> Iterator[str]:
    """Every string with a figure or a point lost, a leading 1 or a point gained.

    Examples
    --------
    >>> sorted(losses("7.5"))
    ['.5', '.7.5', '17.5', '7.', '7..5', '7.15', '75']
    """
    for i, character in enumerate(text):
        if character in DIGITS:
            yield text[:i] + "." + text[i:]
            if i == 0 or text[i - 1] not in DIGITS:
                yield text[:i] + "1" + text[i:]
        if (character in DIGITS or character == ".") and len(text) > 1:
            yield text[:i] + text[i + 1 :]


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
    for share, strings in ((SUBSTITUTED_SHARE, substitutions), (LOST_SHARE, losses)):
        _spread(share, strings(readings[0].text), best, which, parse, weights, seen)
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
    others: Iterator[str],
    best: Callout,
    which: int,
    parse: Parser,
    weights: dict[tuple[object, ...], float],
    seen: dict[tuple[object, ...], tuple[str, TypedValue]],
) -> None:
    """Share out a part of the probability evenly over the strings that change only this value."""
    rivals: dict[tuple[object, ...], tuple[str, TypedValue]] = {}
    for other in others:
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
        weights[key] += share / len(rivals)
        seen.setdefault(key, found)


def style_prior(value: TypedValue, seen: Sequence[TypedValue]) -> float:
    """How usual the style and the last place of a value are on this sheet.

    Parameters
    ----------
    value : TypedValue
    seen : sequence of TypedValue
        Best readings of all other figures on the sheet.

    Returns
    -------
    float
        A probability-like weight; only ratios between rivals matter.

    Notes
    -----
    Counts with a start of one half for each style, and of 2 / log2-rank for each denominator: halves are usual
    before sixty-fourths are (common practice, no source).
    """
    if value.style == "angle":
        return _angle_prior(value.nominal)
    styles = sum(1 for other in seen if other.style == value.style)
    weight = (styles + 0.5) / (len(seen) + 4.0)
    same = [other for other in seen if other.style == value.style]
    if value.style in ("fraction", "feet", "integer"):
        rank = math.log2(value.place.denominator) + 1 if value.place.denominator else 1.0
        usual = 2.0 / (1.0 + rank)
        places = sum(1 for other in same if other.place == value.place)
        weight *= (places + usual) / (len(same) + 3.0)
    return weight


def _angle_prior(nominal: Fraction | None) -> float:
    if nominal is None:
        return 0.02
    for step, weight in ((15, 0.5), (5, 0.3), (1, 0.18)):
        if nominal % step == 0:
            return weight
    return 0.02


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
