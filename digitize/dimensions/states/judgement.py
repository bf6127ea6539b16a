"""From witnesses to states: judge every entry against the geometry, its chains and its rivals."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from digitize.dimensions.linking.entries import Entry, is_length
from digitize.dimensions.reasons import Reason, quoted
from digitize.dimensions.states.contradictions import (
    circles_told,
    free_slots,
    is_contradicted,
    is_of_several,
    is_slip,
    misfits,
    none_fits,
)
from digitize.dimensions.states.judged import Judged
from digitize.dimensions.states.single_witness import single_witness, unmeasured
from digitize.dimensions.table import State
from digitize.dimensions.witnesses.chain_sums import ChainWords, chain_factors, chain_words, intervals_of
from digitize.dimensions.witnesses.chains import Chain, find_chains
from digitize.dimensions.witnesses.grounds import (
    LEAST_SINGLE,
    Stand,
    doubts,
    fit_words,
    is_likely,
    measures,
    seconded_words,
)
from digitize.dimensions.witnesses.other_views import view_factors, view_words
from digitize.dimensions.witnesses.restated import restated_factors, restated_words
from digitize.dimensions.witnesses.slips import lacks_count, without_point
from digitize.dimensions.witnesses.weighing import (
    Bench,
    Weighed,
    figure_before_would_show,
    in_unit,
    usual_shares,
    verdict_of,
    weigh,
)
from digitize.dimensions.witnesses.witness import DISPUTE_Z, LEAST_READING, OWN_SHARE, RIVAL_Z, SURE_READING, Verdict
from digitize.lettering.text import TypedValue

BORNE_OUT = 0.05
"""Posterior error up to which a weak reading that fits its line is shown."""
LEAST_DOUBTED = 0.2
"""A reading that may be a part of a longer one is carried by the drawing from this probability on (of 63 between this
and a half that fit their lines so, on 1,060 sheets, none was wrong)."""
IN_PART = (Reason.RUNS_ON, Reason.ONE_LIMIT)
"""Why a figure may be a part of something longer."""
FINEST_MM = 25.4 / 64
"""Sizes in whole numbers and fractions differ by no less, in mm of the part."""


def judge_all(entries: Sequence[Entry], bench: Bench) -> tuple[Judged, ...]:
    """Give every entry its state.

    Parameters
    ----------
    entries : sequence of Entry
    bench : Bench
        Its slots are all of the sheet's: another line nearby that fits withdraws a dispute.

    Returns
    -------
    tuple of Judged
        One an entry, in order.
    """
    weighed = [weigh(i, entry, bench) for i, entry in enumerate(entries)]
    usual = [usual_shares(entry, _others(i, entries)) for i, entry in enumerate(entries)]
    alone = [
        verdict_of(entry, w, prior, restated_factors(entry.options))
        for entry, w, prior in zip(entries, weighed, usual, strict=True)
    ]
    unplaced = (*bench.unplaced, *misfits(entries, weighed))
    told = circles_told(entries, alone)
    bench = replace(bench, slots=free_slots(entries, alone, bench), unplaced=unplaced, circles_told=told)
    chains = find_chains(intervals_of(entries), bench.mm_per_px)
    values = {
        i: entry.options[verdict.best].value
        for i, (entry, verdict) in enumerate(zip(entries, alone, strict=True))
        if verdict is not None and verdict.z < DISPUTE_Z
    }
    sound = [c for c in chains if all(i in values for i in (*c.parts, c.total))]
    judged = []
    for i, (entry, w) in enumerate(zip(entries, weighed, strict=True)):
        own = [c for c in sound if i in (*c.parts, c.total)]
        views = _in_other_views(i, entries, values, bench)
        factors = chain_factors(i, entry, own, values, bench.unit)
        seen = view_factors(entry, [value for _, _, value in views], bench.unit)
        dual = restated_factors(entry.options)
        verdict = verdict_of(entry, w, usual[i], [a * b * c for a, b, c in zip(factors, seen, dual, strict=True)])
        judged.append(_state(entry, w, verdict, _sum_words(entry, own, views, values, bench), bench))
    return tuple(judged)


def _others(index: int, entries: Sequence[Entry]) -> list[TypedValue]:
    """What the other figures of the sheet say: none is a witness of its own habit."""
    return [entry.value for i, entry in enumerate(entries) if i != index and entry.value is not None]


def _in_other_views(
    index: int, entries: Sequence[Entry], values: Mapping[int, TypedValue], bench: Bench
) -> list[tuple[str, str, TypedValue]]:
    """View, text and value of the figures that give an entry's size elsewhere, whole and not contradicted themselves.

    What may be a part of something longer, as of two limits, neither bears out nor contradicts.
    """
    elsewhere = bench.elsewhere[index].given if bench.elsewhere else ()
    given = [j for j in elsewhere if j in values and entries[j].part_for not in IN_PART]
    own = entries[index].value
    like = [j for j in given if bench.unit_sure or (own is not None and own.unit is values[j].unit)]
    return [(entries[j].view or "", quoted(entries[j].options[0].text), values[j]) for j in like]


def _sum_words(
    entry: Entry,
    chains: Sequence[Chain],
    views: Sequence[tuple[str, str, TypedValue]],
    values: Mapping[int, TypedValue],
    bench: Bench,
) -> ChainWords:
    """What the chains that an entry stands in and the figures of other views say of it."""
    sums = chain_words(chains, values, bench.unit)
    if not entry.options:
        return sums
    other = view_words(entry.options[0].value, views, bench.unit)
    beside = restated_words(entry)
    broken = sums.broken or other.broken or beside.broken
    return ChainWords((*sums.words, *other.words, *beside.words), broken, other.broken or beside.broken)


def _state(entry: Entry, w: Weighed | None, verdict: Verdict | None, chain: ChainWords, bench: Bench) -> Judged:
    if entry.value is None or not entry.options:
        return unmeasured(entry)
    if w is None or verdict is None:
        return single_witness(entry, chain, bench)
    stand = _stand(entry, w, verdict, bench)
    chosen = entry.options[stand.best]
    measured, std, name = in_unit(w, chosen.value, bench.unit)
    rivals = tuple(dict.fromkeys(entry.options[i].text for i in verdict.rivals))
    state = _decide(entry, w, stand, chain, bench)
    reasons = (
        Reason.READS.say(text=quoted(chosen.text)),
        measures(measured, std, name),
        *seconded_words(w, chosen.value, bench.unit),
        *fit_words(entry, w, stand, state, bench, (f"{measured:.4g}", name)),
        *doubts(entry, w, stand, rivals, bench),
        *chain.words,
    )
    confidence = 1.0 - stand.error if state is State.AGREED else min(1.0 - stand.error, entry.reading, 0.99)
    return Judged(entry, chosen, state, max(confidence, 0.0), measured, std, reasons, rivals)


def _stand(entry: Entry, w: Weighed, verdict: Verdict, bench: Bench) -> Stand:
    """Which reading is shown, and how it stands.

    One that only geometry prefers stays a suggestion: the value shown is what the reader saw best. But where the
    drawing contradicts that, and bears out a reading that differs by its point alone, that was a speck, or was lost.
    """

    def stands(best: int) -> Stand:
        z = abs(w.measured - w.expected[best]) / w.sigma
        return Stand(best, z, verdict.error if best == verdict.best else 1.0, verdict)

    first = stands(verdict.best if entry.options[verdict.best].probability >= LEAST_READING else 0)
    fitting = verdict.fitting
    if fitting is None or fitting == first.best or not is_contradicted(entry, w, first, bench):
        return first
    seen, drawn = entry.options[first.best], entry.options[fitting]
    speck = drawn.probability > OWN_SHARE and without_point(seen.value, drawn.value)
    return stands(fitting) if speck else first


def _decide(entry: Entry, w: Weighed, stand: Stand, chain: ChainWords, bench: Bench) -> State:
    if chain.broken and (w.error_bound > 0 or chain.on_any_scale) and stand.z < DISPUTE_Z:
        return State.DISPUTED if entry.reading > SURE_READING else State.UNPROVEN
    shown = _longer_would_show(entry, w) or figure_before_would_show(entry, w)
    likely = entry.options[0].probability >= LEAST_READING and (
        entry.reading >= LEAST_SINGLE or (entry.reading >= LEAST_DOUBTED and shown)
    )
    sure = stand.first_and_best and likely and not lacks_count(entry.options[0]) and entry.part_for is None
    if sure and stand.error <= w.error_bound and not stand.verdict.rivals and entry.certain_line:
        return State.AGREED
    if is_contradicted(entry, w, stand, bench):
        # What the drawing contradicts and the reader is not sure of, or read a part of, has no witness left.
        in_part = entry.part_for in IN_PART
        if none_fits(entry, w) and not in_part and not is_slip(entry, w, stand, bench):
            return State.UNPROVEN if is_of_several(entry, bench) else State.DISPUTED
        if w.error_bound > 0 or bench.scaled.shape_unknown:
            return State.UNREAD
    # A weak reading that the drawing bears out has a second witness, though not enough of one to be agreed.
    borne_out = stand.first_and_best and stand.z < RIVAL_Z and stand.error < BORNE_OUT and entry.certain_line
    return State.UNPROVEN if is_likely(entry) or borne_out else State.UNREAD


def _longer_would_show(entry: Entry, w: Weighed) -> bool:
    """Is the drawing exact enough to tell the reading from every longer one that it may be a part of?

    A whole number or fraction that lost a figure is another by a rule's finest division at least; a decimal is not.
    """
    value = entry.value
    if value is None or not is_length(value) or value.style not in ("fraction", "integer", "feet"):
        return False
    return RIVAL_Z * w.sigma * w.part_per_paper < FINEST_MM
