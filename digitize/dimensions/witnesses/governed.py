"""Tolerances that a note gives to every size beside which none stands.

A size with a tolerance of its own, or given for reference, is not governed (ASME Y14.5, from memory). Only its reading
speaks for such a note, and each size that it governs says so.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from digitize.dimensions.figures_written import plain
from digitize.dimensions.linking.entries import MM_PER_INCH, Entry
from digitize.dimensions.reasons import Reason
from digitize.dimensions.table import Dimension, State
from digitize.dimensions.witnesses.witness import SURE_READING
from digitize.lettering.meaning.governing import NAME_OF, TOLERANCE
from digitize.lettering.text import Kind, Text, Unit

GOVERNED = (Kind.LINEAR, Kind.DIAMETER, Kind.RADIUS, Kind.ANGLE)
WIDEST_SHARE = Fraction(1, 4)
"""A tolerance that is a larger part of its size is none that the note can mean (common practice, no source)."""
FRACTIONAL = ("fraction", "integer", "feet")


@dataclass(frozen=True)
class Allowance:
    """What a note allows either way, in its unit, with its words."""

    allowed: Fraction
    unit: Unit
    style: str
    text: str


def allowances(entries: Iterable[Entry], texts: Sequence[Text], sheet_unit: Unit) -> dict[str, Allowance]:
    """Tolerances by name from the notes that are read surely; two notes that differ give none."""
    found: dict[str, Allowance] = {}
    for entry in entries:
        value = entry.value
        if value is None or value.upper is None or value.name not in (TOLERANCE, *NAME_OF.values()):
            continue
        unit = sheet_unit if value.unit is Unit.UNMARKED else value.unit
        note = Allowance(value.upper, unit, value.style, texts[entry.text].readings[0].text)
        same = found.get(value.name, note).allowed == note.allowed
        found[value.name] = note if same and entry.reading > SURE_READING else replace(note, allowed=Fraction(0))
    return {name: note for name, note in found.items() if note.allowed > 0}


def under_notes(rows: Sequence[Dimension], notes: Mapping[str, Allowance]) -> tuple[Dimension, ...]:
    """The rows, those that a note governs with the tolerance that it gives.

    Parameters
    ----------
    rows : sequence of Dimension
    notes : mapping of name to Allowance
    """
    return tuple(_governed(row, _note_for(row, notes)) for row in rows)


def _note_for(row: Dimension, notes: Mapping[str, Allowance]) -> Allowance | None:
    typed = row.typed
    tolerated = row.upper is not None or row.lower is not None
    if typed is None or typed.reference or tolerated or row.kind not in GOVERNED or row.state is State.UNREAD:
        return None
    if row.kind is Kind.ANGLE:
        return notes.get(NAME_OF["ANG"])
    fractional = row.unit is Unit.INCH and row.style in FRACTIONAL
    return notes.get(NAME_OF["FRA" if fractional else "DEC"]) or notes.get(TOLERANCE)


def _governed(row: Dimension, note: Allowance | None) -> Dimension:
    if note is None or row.value is None:
        return row
    allowed = note.allowed
    if note.unit is not row.unit:
        allowed *= MM_PER_INCH if row.unit is Unit.MM else 1 / MM_PER_INCH
    if allowed > WIDEST_SHARE * row.value:
        return row
    words = Reason.GOVERNED.say(allowed=plain(note.allowed, note.style), note=note.text)
    return replace(row, upper=allowed, lower=-allowed, evidence=(*row.evidence, words))
