"""The grounds on which a measured value stands, in a machinist's words."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from digitize.dimensions.figures_written import plain
from digitize.dimensions.linking.entries import Entry, is_length
from digitize.dimensions.linking.span import Span
from digitize.dimensions.reasons import Reason, quoted
from digitize.dimensions.table import State
from digitize.dimensions.witnesses.slips import lacks_count, longer_figure
from digitize.dimensions.witnesses.weighing import Bench, Weighed, figure_before_would_show, in_unit
from digitize.dimensions.witnesses.witness import DISPUTE_Z, LEAST_READING, RIVAL_Z, SURE_READING, Verdict
from digitize.lettering.text import Kind, TypedValue, Unit

LOOSE_LINK = 1.2
"""A figure further from its slot, in its own heights, may belong to something else: it contradicts nothing (of 500
that fit their slot, four stand so far off)."""
DISPUTE_MM = 0.5
"""A length that is off by less, in mm of paper, contradicts nothing: two ends by a pen that strays by .2 mm are off
by as much once in twelve times (pens stray by .1 to .3 mm, common practice, no source)."""
CLOSED = re.compile(r"\D*\d+\D*[^\d\s]")
"""One whole number with a mark or a word behind it."""
LEAST_SINGLE = 0.5
"""A reading without any other witness is given as a value from this probability on."""
LEAST_IN_PARTS, AHEAD = 0.25, 2.0
"""... and from this one on where it is of two parts, and so many times as probable as any other: what is cut short or
misread is seldom written as such a size (on 336 sheets and ten plates nine were so read, all rightly)."""
INCHES_PER_FOOT = 12
LEG_AND_ANGLE = re.compile(r".+ × \d+°")
"""A chamfer is of two parts as well (two were so read on 528 sheets, both rightly)."""


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


def measures(measured: float, std: float, name: str) -> str:
    if name == Unit.COUNT:
        return Reason.COUNTED.say(count=f"{measured:.0f}")
    places = _places(std)
    return Reason.MEASURES.say(measured=f"{measured:.{places}f}", std=f"{std:.{places}f}", unit=name)


def _places(std: float) -> int:
    """Decimal places that show a standard error with two figures."""
    return max(1, min(5, 1 - math.floor(math.log10(max(std, 1e-6)))))


def seconded_words(w: Weighed, value: TypedValue, unit: Unit) -> list[str]:
    """What another view shows of the same size."""
    if w.seconded is None:
        return []
    there = replace(w, measured=w.seconded.measured, sigma=w.seconded.sigma)
    measured, std, name = in_unit(there, value, unit)
    places = _places(std)
    shown = Reason.OTHER_VIEW.say(
        view=w.seconded.view, measured=f"{measured:.{places}f}", std=f"{std:.{places}f}", unit=name
    )
    return [shown]


def fit_words(entry: Entry, w: Weighed, stand: Stand, state: State, bench: Bench, shown: tuple[str, str]) -> list[str]:
    """How reading and measurement stand to each other."""
    if stand.z <= RIVAL_Z:
        return [Reason.FITS.say(z=stand.z)]
    measured, name = shown
    text, value = quoted(entry.options[stand.best].text), entry.options[stand.best].value
    nominal = float(value.nominal or 0)
    gap = f"{abs(float(measured) - nominal):.3g}"
    words = [Reason.CONTRADICTS.say(text=text, measured=measured, unit=name, gap=gap, z=stand.z)]
    if stand.verdict.fitting is not None:
        words.append(Reason.WOULD_FIT.say(rival=quoted(entry.options[stand.verdict.fitting].text)))
    longer = longer_shown(entry, w, stand, bench)
    if longer is not None:
        words.append(Reason.PART_OF.say(longer=plain(longer, value.style)))
    if state is State.DISPUTED and entry.reading <= SURE_READING:
        words.append(Reason.NONE_FITS.say())
    sure = entry.reading > SURE_READING and stand.z > DISPUTE_Z and name != Unit.COUNT
    if state is State.UNPROVEN and w.error_bound and sure:
        words.append(_why_not_disputed(entry, stand.z * w.sigma).say())
    return words


def is_loose(entry: Entry) -> bool:
    """May its slot be longer or shorter than what is drawn there, or be of something else?"""
    if isinstance(entry.slot, Span) and entry.measured is not None:
        return entry.slot.is_loose_for(entry.measured.text_at)
    return entry.slot is not None and entry.slot.loose


def _why_not_disputed(entry: Entry, apart_mm: float) -> Reason:
    """Why a sure reading that the drawing contradicts is not disputed."""
    if apart_mm <= DISPUTE_MM and entry.value is not None and is_length(entry.value):
        return Reason.PEN_STRAYS
    if not entry.certain_line or is_loose(entry):
        return Reason.LOOSE_LINE
    return Reason.FAR_LINK if entry.link_cost >= LOOSE_LINK else Reason.ANOTHER_LINE


def is_in_parts(value: TypedValue) -> bool:
    """Is it a whole number with a fraction, or feet with inches?

    Examples
    --------
    >>> from digitize.lettering.grammar import parse
    >>> [is_in_parts(parse(text).values[0]) for text in ('2 1/2"', "6'-4", '1/2"', "16'", "2.5")]
    [True, True, False, False, False]
    """
    mixed = value.style == "fraction" and value.nominal is not None and value.nominal > 1
    return mixed or (value.style == "feet" and value.place < INCHES_PER_FOOT)


def is_likely(entry: Entry) -> bool:
    """Is a reading without any other witness likely enough to be given as a value?"""
    in_parts = entry.value is not None and (is_in_parts(entry.value) or LEG_AND_ANGLE.fullmatch(entry.options[0].text))
    if entry.reading >= LEAST_SINGLE or not in_parts:
        return entry.reading >= LEAST_SINGLE
    rival = max((option.probability for option in entry.options[1:]), default=0.0)
    return entry.reading >= LEAST_IN_PARTS and entry.options[0].probability > AHEAD * rival


def doubts(entry: Entry, w: Weighed, stand: Stand, rivals: Sequence[str], bench: Bench) -> list[str]:
    """What keeps a value from being agreed though nothing contradicts it."""
    words = []
    if entry.value is not None and bench.in_doubt(entry.value):
        words.append(Reason.UNIT_UNSURE.say())
    elif w.error_bound == 0:
        shape_unknown = bench.scaled.shape_unknown and math.isfinite(w.unsure)
        words.append((Reason.SHAPE_UNKNOWN if shape_unknown else Reason.NO_SCALE).say())
    if stand.best != 0:
        words.append(Reason.SEEN_OTHERWISE.say(first=quoted(entry.options[0].text)))
    if rivals:
        words.append(Reason.RIVALS.say(rivals=", ".join(quoted(rival) for rival in rivals[:4])))
    elif w.error_bound and stand.z <= RIVAL_Z and w.error_bound < stand.error < 1.0:
        words.append(Reason.UNDECIDED.say(odds=f"{1 / stand.error:.0f}", limit=f"{1 / w.error_bound:.0f}"))
    if figure_before_would_show(entry, w) and stand.z <= RIVAL_Z:
        words.append(Reason.CUT_BEFORE.say())
    elif entry.options[0].probability < LEAST_READING or entry.reading < LEAST_SINGLE:
        words.append(Reason.UNCERTAIN_READING.say(probability=entry.reading))
    if lacks_count(entry.options[0]):
        words.append(Reason.NO_COUNT.say())
    if entry.part_for is not None:
        words.append(entry.part_for.say())
    if not entry.certain_line:
        words.append(Reason.ASSUMED_END.say())
    if entry.value is not None and entry.value.reference:
        words.append(Reason.REFERENCE.say())
    return words


def longer_shown(entry: Entry, w: Weighed, stand: Stand, bench: Bench) -> Fraction | None:
    """The longer figure that would fit what is drawn, and that the reading may be a part of."""
    text, value = entry.options[stand.best].text, entry.options[stand.best].value
    if not (is_length(value) or value.kind is Kind.ANGLE):
        return None
    measured, std, _ = in_unit(w, value, bench.unit)
    unit = bench.unit if value.unit is Unit.UNMARKED else value.unit
    closed = CLOSED.fullmatch(text) is not None
    return longer_figure(replace(value, unit=unit), measured, RIVAL_Z * std, closed=closed)
