"""From witnesses to states: judge every entry against the geometry, its chains and its rivals."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from digitize.dimensions.candidates import Candidate, style_prior, table_prior, tolerance_prior
from digitize.dimensions.chains import Chain, Interval, find_chains
from digitize.dimensions.entries import LENGTHS, Entry, in_mm, is_length
from digitize.dimensions.figures_written import plain
from digitize.dimensions.link import Slot
from digitize.dimensions.openings import Opening
from digitize.dimensions.reasons import Reason
from digitize.dimensions.slips import longer_figure, without_point
from digitize.dimensions.spans import Span
from digitize.dimensions.table import State
from digitize.dimensions.view_scales import Scaled, cos2_of
from digitize.dimensions.witness import (
    DISPUTE_Z,
    ERROR_BOUND,
    LEAST_READING,
    OWN_SHARE,
    RIVAL_Z,
    SURE_READING,
    Verdict,
    judge,
)
from digitize.lettering.text import Kind, TypedValue, Unit

BLIND_SHARE = 1 / 4.6
"""U: a length unconnected with its figure is log-uniform over a factor of a hundred (shared trial)."""
MOSTLY = 0.6
"""Share of tied figures from which an untied one is suspect."""
LEAST_SINGLE = 0.5
"""A reading without any other witness is given as a value from this probability on ..."""
MOST_SINGLE = 0.97
"""... and never with more confidence than this."""
BLIND_DEG = 1 / 180.0
ANGLE_PEN_DEG = 0.35
"""Error of a drawn angle, in degrees (common practice, no source)."""
LEAST_PEN_MM = 0.015
"""No drawing is judged as if drawn more exactly than this, in mm of paper: traced lines have faults of their own."""
DISPUTE_MM = 0.25
"""A length that is off by less, in mm of paper, is within the width of a pen line and contradicts nothing."""
LOOSE_LINK = 1.2
"""A figure further from its slot, in its own heights, may belong to something else: it contradicts nothing (of 500
that fit their slot, four stand so far off)."""
BORNE_OUT = 0.05
"""Posterior error up to which a weak reading that fits its line is shown."""
COUNT_SIGMA = 0.15
"""A count of drawn holes is whole: one more or less is many standard errors off."""
COUNT_DOF = 30.0
"""... with hardly a tail."""
BLIND_COUNT = 0.05
"""Density of a count that has nothing to do with the figure: up to a score of holes are usual."""
LEAST_DOUBTED = 0.35
"""A reading that may be a part of a longer one is carried by the drawing from this probability on."""
FINEST_MM = 25.4 / 64
"""Sizes in whole numbers and fractions differ by no less, in mm of the part."""
CHAIN_BROKEN = 0.01
"""Factor for a candidate that does not close its chain (shared trial)."""
NEARBY_MM = 15.0
"""A slot is nearby when an end of it is this close to the figure, in mm of paper."""


@dataclass(frozen=True)
class Judged:
    """An entry with its state, what it is believed to say, and why.

    ``chosen`` is None where nothing was read. ``measured_mm`` is in part mm (or degrees), with its standard error.
    """

    entry: Entry
    chosen: Candidate | None
    state: State
    confidence: float
    measured: float | None
    measured_std: float | None
    reasons: tuple[str, ...]
    rivals: tuple[str, ...]
    confirmed_by: str | None = None
    confirmed_on: str | None = None


@dataclass(frozen=True)
class Weighed:
    """An entry's measurement on the scale that it did not help to set; nothing may be agreed at an error bound of 0."""

    measured: float
    sigma: float
    dof: float
    expected: tuple[float, ...]
    part_per_paper: float
    blind: float
    error_bound: float


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
class Bench:
    """What every judgement of a sheet leans on.

    Its slots, scale, unit and whether that is sure, paper mm per level pixel, and whether most of its bare figures
    are tied to a line, so that one which is not is likely a part of something else.
    """

    slots: Sequence[Slot]
    scaled: Scaled
    unit: Unit
    mm_per_px: float
    unit_sure: bool = True
    mostly_tied: bool = False

    def in_doubt(self, value: TypedValue) -> bool:
        """Does the value hang on a unit that is not sure?"""
        return not self.unit_sure and value.unit is Unit.UNMARKED


def weigh(index: int, entry: Entry, bench: Bench) -> Weighed | None:
    """What each candidate would measure, in mm of paper (or degrees); None where nothing can be compared."""
    if entry.measured is None or entry.value is None or not entry.options:
        return None
    if entry.value.kind is Kind.COUNT:
        counts = tuple(float(option.value.nominal or 0) for option in entry.options)
        return Weighed(entry.measured.size, COUNT_SIGMA, COUNT_DOF, counts, 1.0, BLIND_COUNT, ERROR_BOUND)
    if entry.value.kind is Kind.ANGLE:
        sigma = math.hypot(entry.measured.size_std, ANGLE_PEN_DEG)
        # What lies between two legs is an angle, whatever the reader makes of its degree sign.
        degrees = (float(o.value.nominal or 0) if o.value.kind is Kind.ANGLE else math.inf for o in entry.options)
        return Weighed(entry.measured.size, sigma, 6.0, tuple(degrees), 1.0, BLIND_DEG, ERROR_BOUND)
    if not is_length(entry.value) or entry.value.not_to_scale:
        return None
    fit = bench.scaled.leave_out(index)
    group = bench.scaled.group_of[entry.view]
    if fit is None or group is None:
        return None
    log_scale, log_std = fit.log_scale(group, cos2_of(entry.measured))
    measured = entry.measured.size * bench.mm_per_px
    pen = max(fit.pen_std_mm, LEAST_PEN_MM)
    sigma = math.sqrt(pen**2 + (entry.measured.size_std * bench.mm_per_px) ** 2 + (measured * log_std) ** 2)
    part_per_paper = math.exp(log_scale)
    expected = tuple(float(in_mm(option.value, bench.unit) or 0) / part_per_paper for option in entry.options)
    bound = 0.0 if bench.in_doubt(entry.value) else bench.scaled.error_bound(group)
    return Weighed(measured, sigma, fit.dof, expected, part_per_paper, BLIND_SHARE / measured, bound)


def is_bare(entry: Entry) -> bool:
    """Is it a figure alone, without a word or sign that says what it is of?"""
    return entry.value is not None and entry.value.kind is Kind.LINEAR and entry.value.name is None


def _has_own_mark(entry: Entry) -> bool:
    """Does a figure say its unit, as a size does, and a number that is part of something else does not?"""
    return entry.value is not None and entry.value.unit is not Unit.UNMARKED


def mostly_tied(entries: Sequence[Entry]) -> bool:
    """Are most bare figures of the sheet tied to a line?"""
    bare = [entry for entry in entries if is_bare(entry)]
    return sum(entry.slot is not None for entry in bare) > MOSTLY * len(bare)


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
    seen = [entry.value for entry in entries if entry.value is not None]
    weighed = [weigh(i, entry, bench) for i, entry in enumerate(entries)]
    alone = [_verdict(entry, w, seen, [1.0] * len(entry.options)) for entry, w in zip(entries, weighed, strict=True)]
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
        verdict = _verdict(entry, w, seen, chain_factors(i, entry, own, values, bench.unit))
        judged.append(_state(entry, w, verdict, _chain_words(own, values, bench.unit), bench))
    return tuple(judged)


def _verdict(entry: Entry, w: Weighed | None, seen: Sequence[TypedValue], chain: Sequence[float]) -> Verdict | None:
    if w is None:
        return None
    reading = [option.probability for option in entry.options]
    prior = [style_prior(o.value, seen) * table_prior(o.value) * tolerance_prior(o) for o in entry.options]
    return judge(w.measured, w.expected, w.sigma, w.dof, reading, prior, chain, w.blind, entry.unlisted)


@dataclass(frozen=True)
class ChainWords:
    """Sentences about the chains of one entry, and whether one of them is broken with none closing."""

    words: tuple[str, ...]
    broken: bool


def _chain_words(chains: Sequence[Chain], values: Mapping[int, TypedValue], unit: Unit) -> ChainWords:
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


@dataclass(frozen=True)
class Stand:
    """How the chosen candidate of an entry stands: ``best`` its place, ``z`` its residual, ``error`` its posterior."""

    best: int
    z: float
    error: float
    verdict: Verdict

    @property
    def first_and_best(self) -> bool:
        """Is what the reader saw best also what the witnesses prefer?"""
        return self.best == 0 and self.verdict.best == 0


def _state(entry: Entry, w: Weighed | None, verdict: Verdict | None, chain: ChainWords, bench: Bench) -> Judged:
    if entry.value is None or not entry.options:
        return _unmeasured(entry)
    if w is None or verdict is None:
        return _single_witness(entry, bench)
    # A reading that only geometry prefers stays a suggestion: the value shown is what the reader saw best.
    best = verdict.best if entry.options[verdict.best].probability >= LEAST_READING else 0
    z = abs(w.measured - w.expected[best]) / w.sigma
    stand = Stand(best, z, verdict.error if best == verdict.best else 1.0, verdict)
    chosen = entry.options[best]
    measured, std, name = _in_unit(w, chosen.value, bench.unit)
    rivals = tuple(dict.fromkeys(entry.options[i].text for i in verdict.rivals))
    state = _decide(entry, w, stand, chain, bench)
    reasons = (
        Reason.READS.say(text=_quoted(chosen.text)),
        _measures(measured, std, name),
        *_fit_words(entry, w, stand, state, bench, (f"{measured:.4g}", name)),
        *_doubts(entry, w, stand, rivals, bench),
        *chain.words,
    )
    confidence = 1.0 - stand.error if state is State.AGREED else min(1.0 - stand.error, entry.reading, 0.99)
    return Judged(entry, chosen, state, max(confidence, 0.0), measured, std, reasons, rivals)


def _decide(entry: Entry, w: Weighed, stand: Stand, chain: ChainWords, bench: Bench) -> State:
    if w.error_bound > 0 and chain.broken and stand.z < DISPUTE_Z:
        return State.DISPUTED if entry.reading > SURE_READING else State.UNPROVEN
    likely = entry.options[0].probability >= LEAST_READING and (
        entry.reading >= LEAST_SINGLE or (entry.reading >= LEAST_DOUBTED and _longer_would_show(entry, w))
    )
    sure = stand.first_and_best and likely
    if sure and stand.error <= w.error_bound and not stand.verdict.rivals and entry.certain_line:
        return State.AGREED
    counted = entry.value is not None and entry.value.kind is Kind.COUNT
    # Holes may be hidden or missed: a count that differs is a doubt, not a contradiction.
    apart = stand.z > DISPUTE_Z and (_is_angle(entry) or stand.z * w.sigma > DISPUTE_MM)
    loose = isinstance(entry.slot, Span) and entry.slot.loose
    standing_there = entry.certain_line and not loose and entry.link_cost < LOOSE_LINK
    contradicted = apart and w.error_bound > 0 and standing_there and not counted
    if contradicted and not _another_fits(entry, w, stand.best, bench):
        # What the drawing contradicts and the reader is not sure of has no witness left.
        slip = _own_slip(entry, stand) or _longer(entry, w, stand, bench) is not None
        return State.DISPUTED if entry.reading > SURE_READING and not slip else State.UNREAD
    # A weak reading that the drawing bears out has a second witness, though not enough of one to be agreed.
    borne_out = stand.first_and_best and stand.z < RIVAL_Z and stand.error < BORNE_OUT and entry.certain_line
    return State.UNPROVEN if entry.reading >= LEAST_SINGLE or borne_out else State.UNREAD


def _own_slip(entry: Entry, stand: Stand) -> bool:
    """Does another reading that the reader thought of itself, or the same without its point, fit what is drawn?"""
    if stand.verdict.fitting in (None, stand.best):
        return False
    fitting = entry.options[stand.verdict.fitting or 0]
    return fitting.probability > OWN_SHARE or without_point(entry.options[stand.best].value, fitting.value)


def _longer(entry: Entry, w: Weighed, stand: Stand, bench: Bench) -> Fraction | None:
    """The longer figure that would fit what is drawn, and that the reading may be a part of."""
    value = entry.options[stand.best].value
    if not is_length(value):
        return None
    measured, std, _ = _in_unit(w, value, bench.unit)
    unit = bench.unit if value.unit is Unit.UNMARKED else value.unit
    return longer_figure(replace(value, unit=unit), measured, RIVAL_Z * std)


def _longer_would_show(entry: Entry, w: Weighed) -> bool:
    """Is the drawing exact enough to tell the reading from every longer one that it may be a part of?

    A whole number or fraction that lost a figure is another by a rule's finest division at least; a decimal is not.
    """
    value = entry.value
    if value is None or not is_length(value) or value.style not in ("fraction", "integer", "feet"):
        return False
    return RIVAL_Z * w.sigma * w.part_per_paper < FINEST_MM


def _is_angle(entry: Entry) -> bool:
    return entry.value is not None and entry.value.kind is Kind.ANGLE


def _another_fits(entry: Entry, w: Weighed, best: int, bench: Bench) -> bool:
    """Does another slot near the figure fit its reading? Then the link is in doubt, not the figure."""
    if entry.measured is None or entry.slot is None:
        return False
    at = entry.measured.text_at
    for slot in bench.slots:
        if slot is entry.slot:
            continue
        size, points = _size(slot)
        if size is None or min(math.dist(at, point) for point in points) * bench.mm_per_px > NEARBY_MM:
            continue
        measured = size if isinstance(slot, Opening) else size * bench.mm_per_px
        if abs(measured - w.expected[best]) < RIVAL_Z * w.sigma:
            return True
    return False


def _size(slot: Slot) -> tuple[float | None, tuple[tuple[float, float], ...]]:
    if isinstance(slot, Span):
        middle = (slot.first[0] + slot.second[0]) / 2, (slot.first[1] + slot.second[1]) / 2
        return slot.size, (slot.first, slot.second, middle)
    if isinstance(slot, Opening):
        return slot.size_deg, (slot.middle,)
    return None, (slot.tail,)


def _in_unit(w: Weighed, value: TypedValue, unit: Unit) -> tuple[float, float, str]:
    """Measured size and its standard error in the value's own unit, with the unit's name."""
    if value.kind in (Kind.ANGLE, Kind.COUNT):
        return w.measured, w.sigma if value.kind is Kind.ANGLE else 0.0, value.unit.value
    own = unit if value.unit is Unit.UNMARKED else value.unit
    factor = w.part_per_paper / (25.4 if own is Unit.INCH else 1.0)
    return w.measured * factor, w.sigma * factor, own.value


def _measures(measured: float, std: float, name: str) -> str:
    if name == Unit.COUNT:
        return Reason.COUNTED.say(count=f"{measured:.0f}")
    places = max(1, min(5, 1 - math.floor(math.log10(max(std, 1e-6)))))
    return Reason.MEASURES.say(measured=f"{measured:.{places}f}", std=f"{std:.{places}f}", unit=name)


def _quoted(text: str) -> str:
    return text.replace("\n", " over ")


def _fit_words(entry: Entry, w: Weighed, stand: Stand, state: State, bench: Bench, shown: tuple[str, str]) -> list[str]:
    """How reading and measurement stand to each other."""
    if stand.z <= RIVAL_Z:
        return [Reason.FITS.say(z=stand.z)]
    measured, name = shown
    text, value = _quoted(entry.options[stand.best].text), entry.options[stand.best].value
    nominal = float(value.nominal or 0)
    gap = f"{abs(float(measured) - nominal):.3g}"
    words = [Reason.CONTRADICTS.say(text=text, measured=measured, unit=name, gap=gap, z=stand.z)]
    if stand.verdict.fitting is not None:
        words.append(Reason.WOULD_FIT.say(rival=_quoted(entry.options[stand.verdict.fitting].text)))
    longer = _longer(entry, w, stand, bench)
    if longer is not None:
        words.append(Reason.PART_OF.say(longer=plain(longer, value.style)))
    sure = entry.reading > SURE_READING and stand.z > DISPUTE_Z and name != Unit.COUNT
    if state is State.UNPROVEN and w.error_bound and sure:
        words.append(Reason.ANOTHER_LINE.say())
    return words


def _doubts(entry: Entry, w: Weighed, stand: Stand, rivals: Sequence[str], bench: Bench) -> list[str]:
    """What keeps a value from being agreed though nothing contradicts it."""
    words = []
    if entry.value is not None and bench.in_doubt(entry.value):
        words.append(Reason.UNIT_UNSURE.say())
    elif w.error_bound == 0:
        words.append(Reason.NO_SCALE.say())
    if rivals:
        words.append(Reason.RIVALS.say(rivals=", ".join(_quoted(rival) for rival in rivals[:4])))
    elif w.error_bound and stand.z <= RIVAL_Z and w.error_bound < stand.error < 1.0:
        words.append(Reason.UNDECIDED.say(odds=f"{1 / stand.error:.0f}", limit=f"{1 / w.error_bound:.0f}"))
    if entry.options[0].probability < LEAST_READING or entry.reading < LEAST_SINGLE:
        words.append(Reason.UNCERTAIN_READING.say(probability=entry.reading))
    if not entry.certain_line:
        words.append(Reason.ASSUMED_END.say())
    if entry.value is not None and entry.value.reference:
        words.append(Reason.REFERENCE.say())
    return words


def _unmeasured(entry: Entry) -> Judged:
    """Nothing that parses to a number: unread, or words."""
    if entry.value is not None:
        return Judged(entry, None, State.UNPROVEN, entry.reading, None, None, (), ())
    reason = Reason.UNREADABLE.say()
    if entry.why_not:
        reason = entry.why_not
    return Judged(entry, None, State.UNREAD, 0.0, None, None, (reason,), ())


def _single_witness(entry: Entry, bench: Bench) -> Judged:
    """A value that only its reading speaks for; where that is less likely right than wrong, it is unread."""
    chosen = entry.options[0]
    reasons = [Reason.READS.say(text=_quoted(chosen.text))]
    if entry.value is not None and entry.value.not_to_scale:
        reasons.append(Reason.MARKED_OFF_SCALE.say())
    elif entry.measured is None:
        reasons.append(Reason.NOT_MEASURED.say())
    elif bench.scaled.fit is not None and bench.scaled.group_of[entry.view] is None:
        reasons.append(Reason.OFF_SCALE_VIEW.say())
    else:
        reasons.append(Reason.NO_SCALE.say())
    stray = bench.mostly_tied and is_bare(entry) and entry.slot is None and not _has_own_mark(entry)
    if stray:
        reasons.append(Reason.STRAY.say())
    if entry.reading < LEAST_SINGLE:
        reasons.append(Reason.UNCERTAIN_READING.say(probability=entry.reading))
    if stray or entry.reading < LEAST_SINGLE:
        return Judged(entry, None, State.UNREAD, entry.reading, None, None, tuple(reasons), (chosen.text,))
    return Judged(entry, chosen, State.UNPROVEN, min(entry.reading, MOST_SINGLE), None, None, tuple(reasons), ())
