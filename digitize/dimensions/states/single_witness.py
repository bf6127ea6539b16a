"""What becomes of figures that no measured length speaks for: only what was read, or not even that."""

from collections.abc import Sequence

from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.reasons import Reason, quoted
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.states.too_large import is_too_large
from digitize.dimensions.table import State
from digitize.dimensions.witnesses.chain_sums import ChainWords
from digitize.dimensions.witnesses.grounds import LEAST_SINGLE, is_in_parts, is_likely
from digitize.dimensions.witnesses.weighing import Bench
from digitize.dimensions.witnesses.witness import SURE_READING
from digitize.lettering.text import Kind, Unit

MOSTLY = 0.6
"""Share of tied figures from which an untied one is suspect."""
MOST_SINGLE = 0.97
"""A value that only its reading speaks for is never given with more confidence than this."""


def _is_bare(entry: Entry) -> bool:
    """Is it a figure alone, without a word or sign that says what it is of?"""
    return entry.value is not None and entry.value.kind is Kind.LINEAR and entry.value.name is None


def _reads_as_size(entry: Entry) -> bool:
    """Is a figure written as sizes alone are: with a unit, or, read surely, as a whole number and a fraction?"""
    value = entry.value
    if value is None:
        return False
    return value.unit is not Unit.UNMARKED or (is_in_parts(value) and entry.reading > SURE_READING)


def _is_whole(entry: Entry) -> bool:
    """Is it a whole number without a unit, or a lone 1? At no line it is likelier a part of something, or a dash.

    (Of 15 that stood so on 528 sheets, 12 were no size.)
    """
    whole = entry.value is not None and entry.value.style == "integer" and entry.value.unit is Unit.UNMARKED
    return whole or entry.options[0].text.rstrip("\"'") == "1"


def mostly_tied(entries: Sequence[Entry]) -> bool:
    """Are most bare figures of the sheet tied to a line?"""
    bare = [entry for entry in entries if _is_bare(entry)]
    return sum(entry.slot is not None for entry in bare) > MOSTLY * len(bare)


def unmeasured(entry: Entry) -> Judged:
    """Nothing that parses to a number: unread, or words."""
    if entry.value is not None:
        return Judged(entry, None, State.UNPROVEN, entry.reading, None, None, (), ())
    reason = Reason.UNREADABLE.say()
    if entry.why_not:
        reason = entry.why_not
    return Judged(entry, None, State.UNREAD, 0.0, None, None, (reason,), ())


def single_witness(entry: Entry, chain: ChainWords, bench: Bench) -> Judged:
    """A value that only its reading speaks for; where that is less likely right than wrong, it is unread.

    What another view gives otherwise is disputed on any scale. A whole number that a line runs through is likelier the
    line, or a part of something.
    """
    chosen = entry.options[0]
    reasons = [Reason.READS.say(text=quoted(chosen.text))]
    if entry.value is not None and entry.value.not_to_scale:
        reasons.append(Reason.MARKED_OFF_SCALE.say())
    elif entry.value is not None and entry.value.name == "required":
        reasons.append(Reason.HOW_MANY.say())
    elif entry.measured is None:
        reasons.append(Reason.NOT_MEASURED.say())
    elif bench.scaled.fit is not None and bench.scaled.group_of[entry.view] is None:
        reasons.append(Reason.OFF_SCALE_VIEW.say())
    else:
        reasons.append(Reason.NO_SCALE.say())
    reasons += chain.words
    if chain.broken and entry.reading > SURE_READING:
        return Judged(entry, chosen, State.DISPUTED, min(entry.reading, MOST_SINGLE), None, None, tuple(reasons), ())
    suspect = _is_whole(entry) or (bench.mostly_tied and not _reads_as_size(entry))
    stray = suspect and _is_bare(entry) and entry.slot is None
    if stray:
        reasons.append(Reason.STRAY.say())
    too_large = is_too_large(entry, bench.room_mm, bench.unit, bench.unit_sure)
    if too_large:
        reasons.append(Reason.TOO_LARGE.say())
    struck = _is_whole(entry) and _is_bare(entry) and entry.measured is None and entry.part_for is Reason.STRUCK_OUT
    if entry.reading < LEAST_SINGLE:
        reasons.append(Reason.UNCERTAIN_READING.say(probability=entry.reading))
    if stray or struck or too_large or not is_likely(entry):
        return Judged(entry, None, State.UNREAD, entry.reading, None, None, tuple(reasons), (chosen.text,))
    return Judged(entry, chosen, State.UNPROVEN, min(entry.reading, MOST_SINGLE), None, None, tuple(reasons), ())
