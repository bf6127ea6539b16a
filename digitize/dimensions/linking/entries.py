"""One entry a value: what was read, what it may say and, once tied, what it measures, before any state is given."""

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from digitize.dimensions.linking.candidates import Candidate, Parser, candidates
from digitize.dimensions.linking.link import Slot
from digitize.dimensions.linking.span import Span
from digitize.dimensions.reasons import Reason
from digitize.dimensions.table import Measured
from digitize.lettering.meaning.lone_letters import lone_letter
from digitize.lettering.text import Callout, Kind, LineThrough, Reading, Text, TypedValue, Unit

MM_PER_INCH = Fraction(254, 10)
LENGTHS = (Kind.LINEAR, Kind.DIAMETER, Kind.RADIUS, Kind.CHAMFER, Kind.THREAD)
DRAWN_DATA = ("outside_diameter", "pitch_diameter")
"""Gear data that a circle of the gear's face shows."""


@dataclass(frozen=True)
class Entry:
    """One value of one figure.

    Attributes
    ----------
    text : int
        Index into the sheet's texts.
    which : int
        Place of the value in its callout.
    value : TypedValue or None
        As first read; None where nothing parses.
    options : tuple of Candidate
    measured : Measured or None
    slot : Slot or None
    view : str or None
    reading : float
        The reader's own probability of the best string.
    unlisted : float
        Probability that it says none of what the reader thought of: a part of a longer figure, say.
    why_not : str
        Why the best reading does not parse; empty where it does.
    figures : bool
        False where what was read is words, and no dimension is missed.
    link_cost : float
        How far the figure stands from where one is written for its slot, in its own heights.
    part_for : Reason or None
        Why it may be a part of something more, or struck out, by how it lies or what stands beside it; None where
        nothing says so.
    cut_before : bool
        Its reading is doubted for nothing but a figure that may stand right before it.
    item : int or None
        Which of several gears of the sheet's tables it is of, by its column; None where a table lists one.
    """

    text: int
    which: int
    value: TypedValue | None
    options: tuple[Candidate, ...]
    measured: Measured | None = None
    slot: Slot | None = None
    view: str | None = None
    reading: float = 0.0
    unlisted: float = 0.0
    why_not: str = ""
    figures: bool = True
    link_cost: float = 0.0
    part_for: Reason | None = None
    cut_before: bool = False
    item: int | None = None

    @property
    def certain_line(self) -> bool:
        """False where an end of the measured length had to be assumed."""
        return not isinstance(self.slot, Span) or self.slot.certain


def is_length(value: TypedValue) -> bool:
    """Is the value a length that the drawing shows?"""
    return value.kind in LENGTHS or (value.kind is Kind.GEAR_DATA and value.name in DRAWN_DATA)


def in_mm(value: TypedValue, sheet_unit: Unit) -> Fraction | None:
    """Nominal length in mm; None for what is no length."""
    unit = sheet_unit if value.unit is Unit.UNMARKED else value.unit
    if value.nominal is None or unit not in (Unit.MM, Unit.INCH):
        return None
    return value.nominal * MM_PER_INCH if unit is Unit.INCH else value.nominal


def half_place_mm(value: TypedValue, unit: Unit) -> Fraction:
    """Half of the last decimal place; fractions are exact."""
    if not value.style.startswith(("decimal", "limits")):
        return Fraction(0)
    own = unit if value.unit is Unit.UNMARKED else value.unit
    return value.place / 2 * (MM_PER_INCH if own is Unit.INCH else 1)


def collect(texts: Sequence[Text], parse: Parser, explain: Callable[[str], str]) -> tuple[Entry, ...]:
    """Turn readings into entries, one a value.

    Parameters
    ----------
    texts : sequence of Text
    parse : callable
        Canonical text to Callout or None.
    explain : callable
        Why a string does not parse.

    Returns
    -------
    tuple of Entry
    """
    entries: list[Entry] = []
    plane_letters = _plane_letters(texts)
    for index, text in enumerate(texts):
        if _lost_its_figure(text, parse):
            entries.append(Entry(index, 0, None, (), reading=text.readings[0].probability, why_not=NO_FIGURE))
            continue
        if text.line_through is LineThrough.OUT:
            why = Reason.STRUCK_OUT.say()
            entries.append(Entry(index, 0, None, (), reading=text.readings[0].probability, why_not=why))
            continue
        readings = _parsing_first(text, parse)
        callout = parse(readings[0].text) if readings else None
        if callout is None:
            why = explain(text.readings[0].text) if text.readings else ""
            probability = text.readings[0].probability if text.readings else 0.0
            no_size = _is_words(text) or _may_be_field(text, parse) or _names_plane(text, plane_letters, parse)
            entries.append(Entry(index, 0, None, (), reading=probability, why_not=why, figures=not no_size))
            continue
        unlisted = max(0.0, 1.0 - sum(r.probability for r in text.readings) + _otherwise(readings, callout, parse))
        for which, value in enumerate(callout.values):
            options = candidates(readings, which, parse) if value.nominal is not None else ()
            reading = _marginal(readings, which, value, parse)
            entries.append(
                Entry(index, which, value, options, reading=reading, unlisted=unlisted, cut_before=text.cut_before)
            )
    return tuple(entries)


def _otherwise(readings: Sequence[Reading], best: Callout, parse: Parser) -> float:
    """Probability of the readings that hold another number of values: they are no candidates for any of these."""
    parsed = ((reading.probability, parse(reading.text)) for reading in readings)
    return sum(probability for probability, c in parsed if c is not None and len(c.values) != len(best.values))


def _marginal(readings: Sequence[Reading], which: int, value: TypedValue, parse: Parser) -> float:
    """Probability of one value of a callout: of all readings that agree on it, however they spell the rest."""
    key = _told(value)
    total = 0.0
    for reading in readings:
        callout = parse(reading.text)
        if callout is not None and which < len(callout.values):
            total += reading.probability * (_told(callout.values[which]) == key)
    return min(total, 1.0)


def _told(value: TypedValue) -> tuple[object, ...]:
    """What makes two values say the same, and of a dual dimension whether what stands beside it does."""
    return value.kind, value.nominal, value.upper, value.lower, value.restated and value.restated.agrees


WORDS = re.compile(r"[A-Za-z]{3}")
"""Three letters in a row are no figure."""
DATE = re.compile(r"\b(JAN|FEB|MAR|APR|MAY|JUNE?|JULY?|AUG|SEPT?|OCT|NOV|DEC)", re.IGNORECASE)
"""Digits beside a month are a date."""


def _is_words(text: Text) -> bool:
    """Was something read that is words or a date, so that no figure is missed by leaving it out?"""
    if not text.readings:
        return False
    read = text.readings[0].text
    no_digits = not any(character.isdigit() for character in read)
    return WORDS.search(read) is not None and (no_digits or DATE.search(read) is not None)


NO_FIGURE = "Its figure was not found."
SAID_BEHIND = (Kind.DIAMETER, Kind.RADIUS, Kind.CHAMFER)
"""Kinds that a word tells which nobody writes without a figure; KEYWAY or NOT TO SCALE stands alone."""


def _lost_its_figure(text: Text, parse: Parser) -> bool:
    """Was nothing read but what stands behind a figure, such as RAD or DIA.?"""
    read = text.readings[0].text if text.readings else ""
    if WORDS.search(read) is None or any(character.isdigit() for character in read):
        return False
    with_one = parse(f"1 {read}")
    return with_one is not None and any(v.kind in SAID_BEHIND for v in with_one.values)


LEAST_SIZE = 0.01
"""From this probability of a size on, a lone letter may be a figure misread."""


def _plane_letters(texts: Sequence[Text]) -> frozenset[str]:
    """Capitals that stand alone twice or more, as at both ends of a cutting plane (ISO 128, from memory)."""
    alone = Counter(letter for text in texts if (letter := lone_letter(text)) is not None)
    return frozenset(letter for letter, count in alone.items() if count > 1)


def _names_plane(text: Text, plane_letters: frozenset[str], parse: Parser) -> bool:
    """Is it the letter of a cutting plane, and surely no figure?"""
    parsed = ((reading.probability, parse(reading.text)) for reading in text.readings)
    sizes = sum(chance for chance, c in parsed if c is not None and any(v.nominal is not None for v in c.values))
    return lone_letter(text) in plane_letters and sizes < LEAST_SIZE


LIKELY_FIELD = 0.05
"""What reads as no size is a field of the title block where that is one of its readings and this probable."""


def _may_be_field(text: Text, parse: Parser) -> bool:
    """Do some of a text's readings name a field, as BRG. NO. is likely DRG. NO., and none a size?"""
    likely = [c for r in text.readings if r.probability >= LIKELY_FIELD and (c := parse(r.text)) is not None]
    values = [value for callout in likely for value in callout.values]
    return bool(values) and all(value.kind is Kind.NOTE and value.name not in (None, "words") for value in values)


LIKELY_SLIP = 0.3
"""A second reading stands in for a first that does not parse when those that say the same are together so probable."""


def _parsing_first(text: Text, parse: Parser) -> tuple[Reading, ...]:
    """The readings from the first that parses, if that is the best one or nearly as probable."""
    parsed = [parse(reading.text) for reading in text.readings]
    for i, callout in enumerate(parsed):
        if callout is not None:
            alike = (c is not None and c.values == callout.values for c in parsed)
            likely = sum(r.probability for r, same in zip(text.readings, alike, strict=True) if same)
            return text.readings[i:] if i == 0 or likely >= LIKELY_SLIP else ()
    return ()


def parse_or_none(parse: Callable[[str], object]) -> Parser:
    """Wrap a parser whose failure is a falsy value that carries its reason."""

    def parsed(text: str) -> Callout | None:
        result = parse(text)
        return result if isinstance(result, Callout) else None

    return parsed
