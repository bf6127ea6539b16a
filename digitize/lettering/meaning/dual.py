"""Dual dimensions: one length in inches and in millimetres, such as ``57.15 (2.250)``, or one over the other.

The size in brackets says again what stands before it (ASME Y14.5M-1982 describes both ways of writing; from memory). It
is no second size and measures nothing, but a slip in either shows, since the two must be one length.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from lark.exceptions import LarkError

from digitize.lettering.meaning.numbers import Refused
from digitize.lettering.text import Kind, Restated, TypedValue, Unit

MM_PER_INCH = Fraction(254, 10)
LEAST_RATIO, MOST_RATIO = 20, 32
"""Millimetres over inches of two sizes that were meant to be one length: a slip in a later figure changes no more."""
BRACKETED = re.compile(r"([^()\[\]\n]+?) ?[(\[]([^()\[\]\n]+)[)\]]")
HALF_SEEN = re.compile(r"([^()\[\]\n]+?) ?[(\[CE]([^()\[\]\n]+)[)\]]?|([^()\[\]\n]+?) ([^()\[\]\n ]+)[)\]]")
"""Square brackets are no signs that the reader knows: it takes the first for a round one, a letter or nothing, and the
last for a round one or a 1."""
OVER = re.compile(r"([^()\[\]\n]+)\n[(\[]?([^()\[\]\n]+)[)\]]?")
LENGTHS = (Kind.LINEAR, Kind.DIAMETER, Kind.RADIUS)

Values = Callable[[str, bool], tuple[TypedValue, ...]]


def dual_values(text: str, comma: bool, values_of: Values) -> tuple[TypedValue, ...] | None:
    """The values of a dual dimension, the first size in its own unit; None where the text is none.

    Parameters
    ----------
    text : str
        In capitals, one space between words.
    comma : bool
        Whether a comma before three figures is a decimal comma.
    values_of : callable
        What either part means by itself.
    """
    if (written := BRACKETED.fullmatch(text)) is not None:
        return _both(written[1], written[2], comma, values_of)
    half_seen = HALF_SEEN.fullmatch(text) or OVER.fullmatch(text)
    if half_seen is None:
        return None
    first, second = (part for part in half_seen.groups() if part is not None)
    found = _both(first, second, comma, values_of)
    # Without brackets nothing says that they are one length but that they are: whole numbers may be so by chance.
    return found if found is not None and any(_is_exactly_dual(value) for value in found) else None


def _both(first: str, second: str, comma: bool, values_of: Values) -> tuple[TypedValue, ...] | None:
    try:
        values, again = values_of(first.strip(), comma), values_of(second.strip(), comma)
    except (Refused, LarkError):
        return None
    lengths = [value for value in values if _is_size(value)]
    if len(lengths) != 1 or len(again) != 1 or not _is_size(again[0]) or again[0].count is not None:
        return None
    (own,), (other,) = lengths, again
    units = _units(own, other)
    if units is None:
        return None
    dual = replace(own, unit=units[0], restated=_restated(replace(own, unit=units[0]), replace(other, unit=units[1])))
    return tuple(dual if value is own else value for value in values)


def _is_exactly_dual(value: TypedValue) -> bool:
    said = value.restated
    return said is not None and said.agrees and "integer" not in (value.style, said.style)


def _is_size(value: TypedValue) -> bool:
    return value.kind in LENGTHS and value.nominal is not None and value.nominal > 0


def _units(own: TypedValue, other: TypedValue) -> tuple[Unit, Unit] | None:
    """Which of two sizes is in inches and which in millimetres: a length has more millimetres than inches."""
    one, two = own.nominal or Fraction(0), other.nominal or Fraction(0)
    units = (Unit.MM, Unit.INCH) if one > two else (Unit.INCH, Unit.MM)
    ratio = max(one, two) / min(one, two)
    said = (own.unit in (Unit.UNMARKED, units[0])) and (other.unit in (Unit.UNMARKED, units[1]))
    same_sort = other.kind in (Kind.LINEAR, own.kind)
    return units if said and same_sort and LEAST_RATIO < ratio < MOST_RATIO else None


def _restated(own: TypedValue, other: TypedValue) -> Restated:
    sizes: Sequence[TypedValue] = (own, other)
    lengths = [_in_mm(value, value.nominal or Fraction(0)) for value in sizes]
    allowed = sum((_in_mm(value, _half_place(value)) for value in sizes), Fraction(0))
    return Restated(other.nominal or Fraction(0), other.unit, other.style, abs(lengths[0] - lengths[1]) <= allowed)


def _in_mm(value: TypedValue, length: Fraction) -> Fraction:
    return length * MM_PER_INCH if value.unit is Unit.INCH else length


def _half_place(value: TypedValue) -> Fraction:
    """What rounding may have taken or given: nothing from fractions and whole inches, which are exact."""
    rounded = value.style.startswith("decimal") or (value.style == "integer" and value.unit is Unit.MM)
    return value.place / 2 if rounded else Fraction(0)
