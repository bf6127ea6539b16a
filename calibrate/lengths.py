"""Lengths as a person types them at the desk, exact.

``5.5in``, ``5 1/2in``, ``5 1/2"``, ``5-1/2 in``, ``139.7mm``, ``139,7 mm``, each with an optional tolerance:
``5.5in+-0.01in``, ``5.5±.01in``.
"""

import re
from dataclasses import dataclass
from fractions import Fraction

from calibrate.errors import InputError

INCH_MM = Fraction(254, 10)
FRACTION_PLACE_IN = Fraction(1, 64)
"""A size written as a fraction is rounded to a sixty-fourth at the worst, whatever its own denominator."""
TOLERANCE_STDS = 2
"""A tolerance given with a size is taken as two standard errors."""
_NUMBER = r"\d+[ -]\d+/\d+|\d+/\d+|\d+[.,]\d*|[.,]\d+|\d+"
_UNIT = r"in|inch|inches|\"|″|mm"
_PART = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})?\s*", re.IGNORECASE)


@dataclass(frozen=True)
class GivenLength:
    """A length as given: exact value and tolerance in millimetres, last written place, and the text itself."""

    value_mm: Fraction
    tolerance_mm: Fraction | None
    place_mm: Fraction
    unit: str
    text: str

    @property
    def std_mm(self) -> float | None:
        """Standard error that the tolerance stands for; None where none was given."""
        return None if self.tolerance_mm is None else float(self.tolerance_mm) / TOLERANCE_STDS


def parse_length(text: str, name: str) -> GivenLength:
    """Read a length with its unit.

    Parameters
    ----------
    text : str
    name : str
        What it is of, for the sentence of an error.

    Raises
    ------
    InputError
        Where it is not a length above zero with a unit.

    Examples
    --------
    >>> parse_length("5 1/2in", "outside diameter").value_mm
    Fraction(1397, 10)
    >>> given = parse_length("5.5in+-0.01in", "outside diameter")
    >>> float(given.tolerance_mm), given.unit
    (0.254, 'in')
    """
    plain = re.sub(r"\s+", " ", re.sub(r"\+/-|\+-", "±", text))
    size, sign, tolerance = plain.partition("±")
    main, extra = _PART.fullmatch(size), _PART.fullmatch(tolerance) if sign else None
    unit_text = (main and main["unit"]) or (extra and extra["unit"])
    if main is None or (sign and extra is None):
        raise InputError(f'The {name} "{text}" is no length; write it like 5.5in, 5 1/2in or 139.7mm.')
    if not unit_text:
        raise InputError(f'The {name} "{text}" has no unit; write {text}in or {text}mm.')
    unit = "mm" if unit_text.lower() == "mm" else "in"
    value = exact_number(main["number"]) * _factor(unit)
    if value <= 0:
        raise InputError(f'The {name} "{text}" must be larger than zero.')
    allowed = None
    if extra is not None:
        extra_unit = (extra["unit"] or unit_text).lower()
        allowed = exact_number(extra["number"]) * _factor("mm" if extra_unit == "mm" else "in")
    return GivenLength(value, allowed, _place(main["number"], unit), unit, text)


def _factor(unit: str) -> Fraction:
    return INCH_MM if unit == "in" else Fraction(1)


def exact_number(text: str) -> Fraction:
    """A whole, mixed or decimal number, exact.

    Raises
    ------
    InputError
        For a fraction over zero.

    Examples
    --------
    >>> exact_number("14 1/2"), exact_number("12,5")
    (Fraction(29, 2), Fraction(25, 2))
    """
    whole, _, rest = text.replace(",", ".").replace("-", " ").rpartition(" ")
    try:
        return Fraction(whole or 0) + Fraction(rest.rstrip(".") or 0)
    except (ValueError, ZeroDivisionError) as error:
        raise InputError(f'"{text}" is no number; write it like 8, 14 1/2 or 12.5.') from error


def _place(number: str, unit: str) -> Fraction:
    if "/" in number:
        return FRACTION_PLACE_IN * _factor(unit)
    decimals = len(re.split("[.,]", number)[1]) if re.search("[.,]", number) else 0
    return Fraction(1, 10**decimals) * _factor(unit)
