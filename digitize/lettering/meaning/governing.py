"""Notes that govern: what holds for every size beside which nothing else is said.

``TOLERANCES ±1/64 UNLESS OTHERWISE SPECIFIED``, by kind of figure too (``DECIMALS ±.005``, ``ANGLES ±1/2°``);
``ALL FILLETS 1/8 R``; ``ALL CHAMFERS 1/16 × 45°``. How they are worded is common practice (no source); that a general
tolerance may be given in a note is ASME Y14.5 (from memory).
"""

import re
from dataclasses import replace

from digitize.lettering.meaning import numbers
from digitize.lettering.meaning.callouts import callout_values
from digitize.lettering.meaning.numbers import Refused
from digitize.lettering.text import Kind, TypedValue, Unit

_EXCEPT = r"(?:UNLESS|EXCEPT WHERE) (?:OTHERWISE )?(?:NOTED|STATED|SPECIFIED|SHOWN|GIVEN)"
_WHICH = r"FRACTIONS?|FRACTIONAL|DECIMALS?|ANGLES|ANGULAR"
_OF = rf":?(?: ON)?(?: ALL)?(?: (?P<of>{_WHICH}))?(?: DIM(?:ENSION)?S\.?| SIZES)?"
_ALLOWED = r"(?:±|\+/-|\+ OR -) ?(?P<size>\d+/\d+|\d*[.,]\d+|\d+)(?P<sign> ?(?:\"|IN\b\.?|M\.?M\b\.?|°))?"
_TOLERANCE = re.compile(
    rf"(?:{_EXCEPT}[:,]? )?(?:(?:(?:GENERAL )?TOL(?:ERANCE)?S?\.?|LIMITS){_OF}|(?P<alone>{_WHICH}))"
    rf"(?: ARE| TO BE)? ?:? ?{_ALLOWED}(?:,? {_EXCEPT})?\.?"
)
_ALL = re.compile(
    rf"(?:{_EXCEPT}[:,]? )?(?:ALL )?(?P<what>FILLETS?(?: (?:AND|&) ROUNDS?)?|RADII|CHAMFERS)(?: ARE| TO BE)?:? "
    rf"(?P<size>[^A-WYZ]*(?:R\.?|RAD\.?)?|R ?[^A-Z]+)(?:,? {_EXCEPT})?\.?"
)
TOLERANCE = "general_tolerance"
NAME_OF = {"FRA": "tolerance_fractions", "DEC": "tolerance_decimals", "ANG": "tolerance_angles"}
"""Names of tolerances that a note gives for figures of one kind; `TOLERANCE` is that for all lengths."""


def governing_values(text: str, comma: bool) -> tuple[TypedValue, ...] | None:
    """The values of a note that governs, or None where the text is none.

    Parameters
    ----------
    text : str
        In capitals, one space between words.
    comma : bool
        Whether a comma before three figures is a decimal comma.

    Examples
    --------
    >>> (value,) = governing_values("TOLERANCES ±1/64 UNLESS OTHERWISE SPECIFIED", False)
    >>> value.name, str(value.upper), str(value.lower)
    ('general_tolerance', '1/64', '-1/64')
    >>> (value,) = governing_values("ALL FILLETS 1/8 R", False)
    >>> value.name, value.kind.value, str(value.nominal)
    ('fillets', 'radius', '1/8')
    """
    if match := _TOLERANCE.fullmatch(text):
        return (_tolerance(match, comma),)
    if match := _ALL.fullmatch(text):
        return _all_of(match, comma)
    return None


def _tolerance(match: re.Match[str], comma: bool) -> TypedValue:
    number = numbers.any_number(match["size"], comma)
    of = match["of"] or match["alone"] or ""
    sign = (match["sign"] or "").strip()
    name = NAME_OF.get(of[:3], TOLERANCE)
    if (sign == "°") != (name == NAME_OF["ANG"]):
        raise Refused("Angles go by degrees, and lengths do not.")
    unit = Unit.DEGREE if sign == "°" else Unit.MM if sign.startswith("M") else Unit.INCH if sign else Unit.UNMARKED
    return TypedValue(
        Kind.NOTE, None, unit, number.value, -number.value, place=number.place, style=number.style, name=name
    )


def _all_of(match: re.Match[str], comma: bool) -> tuple[TypedValue, ...]:
    values = callout_values(match["size"].strip(), comma)
    chamfers = match["what"] == "CHAMFERS"
    if chamfers != any(value.kind is Kind.CHAMFER for value in values) or (not chamfers and len(values) != 1):
        raise Refused("The size does not go with what it is of.")
    if chamfers:
        return tuple(replace(value, name="chamfers") for value in values)
    if values[0].kind not in (Kind.LINEAR, Kind.RADIUS) or values[0].name is not None:
        raise Refused("Fillets go by their radius.")
    return (replace(values[0], kind=Kind.RADIUS, name="fillets"),)
