"""What the rows of gear-data blocks, title blocks and notes on the unit mean."""

import re
from dataclasses import replace
from fractions import Fraction

from digitize import standards
from digitize.lettering.meaning import numbers
from digitize.lettering.meaning.callouts import callout_values
from digitize.lettering.meaning.detail_titles import detail_title
from digitize.lettering.meaning.gear_notes import gear_note
from digitize.lettering.meaning.governing import governing_values
from digitize.lettering.meaning.labels import Row, gear_row, title_row
from digitize.lettering.meaning.numbers import Number, Refused
from digitize.lettering.meaning.several_notes import several_notes
from digitize.lettering.text import Kind, TypedValue, Unit

GEAR_UNITS = {
    "count": Unit.COUNT,
    "none": Unit.NONE,
    "mm": Unit.MM,
    "deg": Unit.DEGREE,
    "unmarked": Unit.UNMARKED,
}


_MONTH = r"(?:JAN|FEB|MAR|APR|MAY|JUNE?|JULY?|AUG|SEPT?|OCT|NOV|DEC)[A-Z]*\.?"
_DATE = re.compile(
    rf"\d{{1,2}}(?:ST|ND|RD|TH)? {_MONTH},? \d{{4}}|{_MONTH} \d{{1,2}},? \d{{4}}|\d{{1,2}}[-.]\d{{1,2}}[-.]\d{{2,4}}"
)


_TWO_NUMBERS = re.compile(r"(\d{1,2})[/-](\d{1,2})")
LEAST_OF_TWO = 4
"""Two-number pitches go from 4/5 to 12/14: 3/4 is three quarters."""
SIZE_ALONE = re.compile(r'(?:Ø|R ?)?[\d /]*\.?[\d /]*"?(?: ?(?:R|RAD|D|DIA|BORE|DRILL|REAM))?\.?')
"""Figures with one point at most, and a word of what they are, are a size, and no row, date or scale: so are nearly all
slips of a reading."""
PITCHES, FINEST_PITCH = frozenset({"diametral_pitch", "normal_pitch"}), 200
"""The finest diametral pitch of any series (ASA B6.7, from memory): 811 is 8/10, its bar taken for a figure."""
_SPAN = re.compile(r"(?:SPAN )?OVER (\d{1,2}) TEETH[ :=-]*(\S.*)")


def row_values(text: str, comma: bool) -> tuple[TypedValue, ...] | None:
    """The value of a row of a gear-data block or title block, or of a note on units; None where it is none."""
    if SIZE_ALONE.fullmatch(text):
        return None
    if unit := _unit_note(text):
        return (TypedValue(Kind.NOTE, None, unit, name="unit"),)
    if len(notes := several_notes(text)) > 1 or (notes and notes[0] != text):
        return tuple(value for note in notes for value in row_values(note, comma) or ())
    if governing := governing_values(text, comma):
        return governing
    if together := gear_note(text):
        return tuple(_gear_value(row, comma) for row in together)
    if (title := detail_title(text)) is not None:
        count = callout_values(title.count, comma) if title.count else ()
        data = tuple(_gear_value(row, comma) for row in title.gear)
        return (*count, *data) or (TypedValue(Kind.NOTE, None, Unit.NONE, name="words"),)
    if span := _SPAN.fullmatch(text):
        size = _only_size(span[2], comma)
        return (replace(size, kind=Kind.GEAR_DATA, name="span", count=int(span[1])),)
    if row := gear_row(text):
        return (_gear_value(row, comma),)
    if row := title_row(text):
        nominal = _scale(row.filled) if row.label.key == "scale" else None
        return (TypedValue(Kind.NOTE, nominal, Unit.NONE, name=row.label.key),)
    if _DATE.fullmatch(text):
        return (TypedValue(Kind.NOTE, None, Unit.NONE, name="date"),)
    if (scale := _scale(text)) and not re.fullmatch(r"[\d /.]+", text):
        return (TypedValue(Kind.NOTE, scale, Unit.NONE, name="scale"),)
    return None


def _unit_note(text: str) -> Unit | None:
    match = re.fullmatch(r"(?:ALL )?(?:DIMENSIONS|DIMS\.?|SIZES)(?: ARE)?( IN)? (.+?)\.?", text)
    if match is None:
        return None
    # "DIMENSIONS IN", its end lost, names no unit: the short form needs the word before it.
    if re.fullmatch(r"INCH(?:ES)?|INS" + ("|IN" if match[1] else ""), match[2]):
        return Unit.INCH
    return Unit.MM if re.fullmatch(r"M\.?M|MILLIMET(?:RE|ER)S?", match[2]) else None


def _scale(text: str) -> Fraction | None:
    """Drawn over real, where a scale is stated without doubt."""
    if match := re.fullmatch(r"(\d+(?:\.\d+)?) ?: ?(\d+(?:\.\d+)?)", text):
        return Fraction(match[1]) / Fraction(match[2]) if Fraction(match[2]) else None
    note = standards.scale_note(text)
    return note.drawn_over_real if note is not None and note.kind != "ambiguous" else None


def _gear_value(row: Row, comma: bool) -> TypedValue:
    label, filled = row.label, row.filled
    unit = GEAR_UNITS[label.unit]
    if label.value == "words" or not filled:
        return TypedValue(Kind.GEAR_DATA, None, unit, name=label.key)
    if label.value == "size":
        size = _only_size(filled, comma)
        return replace(size, kind=Kind.GEAR_DATA, name=label.key)
    if label.value == "angle":
        angle = numbers.angle(filled if "°" in filled else f"{filled}°")
        return TypedValue(Kind.GEAR_DATA, angle.value, unit, place=angle.place, style="angle", name=label.key)
    if label.key == "diametral_pitch" and (first := _first_of_two(filled)):
        return TypedValue(Kind.GEAR_DATA, first, unit, style="two_numbers", name=label.key)
    number = _bare_number(filled, comma)
    if label.value == "integer" and number.style != "integer":
        raise Refused(f"{label.text} is a whole number, not {filled}.")
    if label.key in PITCHES and number.value > FINEST_PITCH:
        raise Refused(f"No gear is cut as fine as {filled} teeth to the inch of diameter.")
    return TypedValue(Kind.GEAR_DATA, number.value, unit, place=number.place, style=number.style, name=label.key)


def _first_of_two(text: str) -> Fraction | None:
    """The first number of a two-number pitch, which fixes pitch diameter and thickness; None where it is none."""
    match = _TWO_NUMBERS.fullmatch(text)
    if match is None or not LEAST_OF_TWO <= int(match[1]) < int(match[2]) <= int(match[1]) + 2:
        return None
    return Fraction(match[1])


def _bare_number(text: str, comma: bool) -> Number:
    bare = re.sub(r" ?M\.?M\.?$", "", text)
    if not re.fullmatch(r"(?:\d+[ -])?\d+/\d+|\d*[.,]\d+|\d+", bare):
        raise Refused(f"{text} is no number.")
    return numbers.any_number(bare, comma)


def _only_size(text: str, comma: bool) -> TypedValue:
    values = callout_values(text, comma)
    if len(values) != 1 or values[0].kind not in (Kind.LINEAR, Kind.DIAMETER):
        raise Refused(f"{text} is not one size.")
    return values[0]
