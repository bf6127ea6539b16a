"""Chains as witnesses: do the figures of a row make their total?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from digitize.dimensions.figures_written import plain
from digitize.dimensions.linking.entries import LENGTHS, Entry, in_mm
from digitize.dimensions.linking.span import Span
from digitize.dimensions.reasons import Reason
from digitize.dimensions.witnesses.chains import Chain, Interval
from digitize.lettering.text import TypedValue, Unit

CHAIN_BROKEN = 0.01
"""Factor for a candidate that does not close its chain (simulated)."""


def intervals_of(entries: Sequence[Entry]) -> tuple[Interval, ...]:
    """The entries that are lengths between two stations, for the chains."""
    return tuple(
        Interval(i, e.measured.first, e.measured.second, e.view)
        for i, e in enumerate(entries)
        if e.measured is not None and isinstance(e.slot, Span) and e.value is not None and e.value.kind in LENGTHS
    )


def closes(chain: Chain, values: Mapping[int, TypedValue], unit: Unit) -> Fraction | None:
    """By how much a chain's parts miss its total, in mm, beyond what rounding excuses; None where it can't be said."""
    members = [*chain.parts, chain.total]
    if any(index not in values for index in members):
        return None
    lengths = {index: in_mm(values[index], unit) for index in members}
    total = lengths[chain.total]
    parts = [lengths[index] for index in chain.parts]
    if total is None or any(part is None for part in parts):
        return None
    gap = sum((part for part in parts if part is not None), Fraction(0)) - total
    return Fraction(0) if abs(gap) <= _rounding(members, values, unit) else gap


def _rounding(members: Sequence[int], values: Mapping[int, TypedValue], unit: Unit) -> Fraction:
    """Fractions must close exactly; decimals may each have been rounded."""
    inch = Fraction(254, 10) if unit is Unit.INCH else Fraction(1)
    rounded = [values[i].place for i in members if values[i].style.startswith(("decimal", "limits"))]
    return sum((place * Fraction(1, 2) for place in rounded), Fraction(0)) * inch


def chain_factors(
    index: int, entry: Entry, chains: Sequence[Chain], values: Mapping[int, TypedValue], unit: Unit
) -> list[float]:
    """Factor of each candidate of one entry from the chains it stands in."""
    factors = []
    for option in entry.options:
        trial = {**values, index: option.value}
        gaps = [closes(chain, trial, unit) for chain in chains if index in (*chain.parts, chain.total)]
        known = [gap for gap in gaps if gap is not None]
        factors.append(CHAIN_BROKEN if known and all(gap != 0 for gap in known) else 1.0)
    return factors


@dataclass(frozen=True)
class ChainWords:
    """Sentences about the chains of one entry, and whether one of them is broken with none closing.

    ``on_any_scale`` is True where that needs no scale to be seen.
    """

    words: tuple[str, ...]
    broken: bool
    on_any_scale: bool = False


def chain_words(chains: Sequence[Chain], values: Mapping[int, TypedValue], unit: Unit) -> ChainWords:
    words = []
    closing = broken = False
    for chain in chains:
        gap = closes(chain, values, unit)
        terms = " + ".join(plain(values[i].nominal or Fraction(0), values[i].style) for i in chain.parts)
        total = plain(values[chain.total].nominal or Fraction(0), values[chain.total].style)
        if gap == 0:
            closing = True
            words.append(Reason.CLOSES_CHAIN.say(terms=terms, total=total))
        elif gap is not None:
            broken = True
            words.append(Reason.BREAKS_CHAIN.say(terms=terms, total=total, gap=f"{float(abs(gap)):.3f} mm"))
    return ChainWords(tuple(words), broken and not closing)
