"""What a figure may say: the reader's best strings and every one-character confusion that still parses.

A rival reading that the geometry can't tell from the best one is what lets a wrong value pass as right, so rivals are
listed whether or not the reader thought of them.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from digitize.lettering.text import Callout, Reading, TypedValue

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
first figure or a point lost or gained (by halves of the logarithms, as simulated, 188 times and 4). Of three trainings
since, on 82, 44 and 135 sheets, 1.0 of 89, .5 of 46 and 2.2 of 235 should have been, and one was: too few to believe it
more."""
LEAST_PROBABILITY = 1e-9

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
        if character in ".," and len(text) > 1:
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


def gives_number(reading: Reading, parse: Parser) -> bool:
    """Whether a reading holds a value."""
    callout = parse(reading.text)
    return callout is not None and any(value.nominal is not None for value in callout.values)


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


def thread_designation(name: str) -> str:
    """A thread as the tables are asked for it: without the word for threads.

    Examples
    --------
    >>> thread_designation('1 1/2"-6 THDS.'), thread_designation("M10 × 1.5")
    ('1 1/2"-6', 'M10 × 1.5')
    """
    words = [word for word in name.split() if not word.upper().startswith(("THD", "THREAD"))]
    return " ".join(words)
