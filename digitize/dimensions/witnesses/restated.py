"""Dual dimensions: the size in the other unit is a witness of how the first is read, and none of the length."""

from collections.abc import Sequence

from digitize.dimensions.figures_written import plain
from digitize.dimensions.linking.candidates import Candidate
from digitize.dimensions.linking.entries import MM_PER_INCH, Entry
from digitize.dimensions.reasons import Reason
from digitize.dimensions.witnesses.chain_sums import CHAIN_BROKEN, ChainWords
from digitize.lettering.text import Restated, TypedValue, Unit


def restated_factors(options: Sequence[Candidate]) -> list[float]:
    """Factor of each candidate: one that what stands beside it contradicts is rarely what is printed."""
    return [CHAIN_BROKEN if (said := option.value.restated) and not said.agrees else 1.0 for option in options]


def restated_words(entry: Entry) -> ChainWords:
    """What the size beside it says of an entry; that needs no scale to be seen."""
    value = entry.value
    said = None if value is None else value.restated
    if value is None or said is None:
        return ChainWords((), False)
    other = f"{_written(said)} {said.unit}"
    if said.agrees:
        return ChainWords((Reason.RESTATED.say(other=other),), False)
    return ChainWords((Reason.RESTATED_OTHERWISE.say(other=other, told=_told(value, said)),), True, True)


def _told(value: TypedValue, said: Restated) -> str:
    """The first size in the unit of the second."""
    length = float(value.nominal or 0)
    other = length / float(MM_PER_INCH) if value.unit is Unit.MM else length * float(MM_PER_INCH)
    return f"{other:.4g} {said.unit}"


def _written(said: Restated) -> str:
    """The second size with the places that it has on the print."""
    places = said.style.removeprefix("decimal")
    return f"{float(said.nominal):.{places}f}" if places.isdigit() else plain(said.nominal, said.style)
