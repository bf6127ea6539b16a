"""Written numbers as exact values, and the figures that no drawing office would have written.

A figure that breaks a rule here was misread, and is refused rather than mended: an even numerator, a denominator that
is no power of two, a figure led by noughts.
"""

import re
from dataclasses import dataclass
from fractions import Fraction

FINEST_DENOMINATOR = 64
"""Rules were divided to sixty-fourths of an inch (common practice, no source)."""
MOST_PLACES = 4
LONGEST_INTEGER = 5
THOUSANDS = 3


class Refused(ValueError):  # noqa: N818
    """The text is lettering, but no figure that a drawing office would write; the message says why."""


@dataclass(frozen=True)
class Number:
    """A written number: its exact value, its last written place and the style of its figures."""

    value: Fraction
    place: Fraction
    style: str


def mixed(text: str) -> Number:
    """Read ``1 3/8`` or ``1-3/8``.

    Examples
    --------
    >>> mixed("1 3/8").value
    Fraction(11, 8)
    """
    whole, part = re.split(r"[ -]", text, maxsplit=1)
    rest = fraction(part)
    return Number(integer(whole).value + rest.value, rest.place, "fraction")


def fraction(text: str) -> Number:
    """Read ``3/8``: a proper fraction of a drawing office.

    Raises
    ------
    Refused
        Where the numerator is even or not less than the denominator, or the denominator is no power of two up to 64.
    """
    if re.fullmatch(r"[0-9]+/[0-9]+", text) is None:
        raise Refused(f"{text} is no fraction.")
    top, bottom = (int(part) for part in text.split("/"))
    if any(part.startswith("0") for part in text.split("/")):
        raise Refused(f"{text} is led by a nought.")
    if bottom < 2 or bottom > FINEST_DENOMINATOR or bottom & (bottom - 1):
        raise Refused(f"{text} has no denominator of a rule: 2, 4, 8, 16, 32 or 64.")
    if top % 2 == 0 or top >= bottom:
        raise Refused(f"{text} is not in lowest terms and below one.")
    return Number(Fraction(top, bottom), Fraction(1, bottom), "fraction")


def decimal(text: str, comma_is_point: bool = False) -> Number:
    """Read ``.625``, ``1.250`` or ``12,5``.

    Parameters
    ----------
    text : str
    comma_is_point : bool
        Whether a comma before three figures is known to be a decimal comma; it may part thousands otherwise.

    Raises
    ------
    Refused
    """
    if re.fullmatch(r"[0-9]*[.,][0-9]+", text) is None:
        raise Refused(f"{text} is no decimal.")
    whole, part = re.split(r"[.,]", text)
    if "," in text and len(part) == THOUSANDS and not comma_is_point:
        raise Refused(f"The comma of {text} may be a decimal comma or part thousands.")
    if "," in text and not whole:
        raise Refused(f"{text} starts with a comma.")
    if len(part) > MOST_PLACES:
        raise Refused(f"{text} has more than {MOST_PLACES} decimal places.")
    if len(whole) > 1 and whole.startswith("0"):
        raise Refused(f"{text} is led by noughts.")
    if not int(whole + part):
        raise Refused(f"{text} is no size.")
    place = Fraction(1, 10 ** len(part))
    return Number(int(whole + part) * place, place, f"decimal{len(part)}")


def integer(text: str) -> Number:
    """Read ``12``; nought and what begins with nought are refused."""
    if re.fullmatch(r"[1-9][0-9]*", text) is None or len(text) > LONGEST_INTEGER:
        raise Refused(f"{text} is no whole size.")
    return Number(Fraction(int(text)), Fraction(1), "integer")


def any_number(text: str, comma_is_point: bool = False) -> Number:
    """Read a number written in any of these ways.

    Examples
    --------
    >>> any_number("14 1/2").value, any_number("12,5").value, any_number("42").style
    (Fraction(29, 2), Fraction(25, 2), 'integer')
    """
    if "/" in text:
        return mixed(text) if re.search(r"[ -]", text) else fraction(text)
    if re.search(r"[.,]", text):
        return decimal(text, comma_is_point)
    return integer(text)


def signed(text: str, comma_is_point: bool = False) -> Fraction:
    """Read a deviation: ``+.002``, ``-1/64``, ``-.000``, ``0``."""
    sign = -1 if text.startswith("-") else 1
    bare = text.lstrip("+- ")
    if re.fullmatch(r"0?[.,]?0*", bare):
        return Fraction(0)
    return sign * any_number(bare, comma_is_point).value


def angle(text: str) -> Number:
    """Read an angle in degrees: ``45°``, ``14 1/2°``, ``30°15'``, ``7°7'30"``.

    Examples
    --------
    >>> angle("30°15'").value, angle("14 1/2°").place
    (Fraction(121, 4), Fraction(1, 2))
    """
    degrees, _, rest = text.partition("°")
    degrees = degrees.strip()
    whole = Number(Fraction(0), Fraction(1), "integer") if degrees == "0" else any_number(degrees)
    parts = [int(part) for part in re.findall(r"\d+", rest)]
    if parts and whole.style != "integer":
        raise Refused(f"{text} has minutes after a part of a degree.")
    if any(part >= 60 for part in parts):
        raise Refused(f"{text} has sixty minutes or seconds, or more.")
    value = whole.value + sum((Fraction(part, 60**power) for power, part in enumerate(parts, 1)), Fraction(0))
    if not 0 < value <= 360:
        raise Refused(f"{text} is no angle of a drawing.")
    return Number(value, whole.place / 60 ** len(parts), "angle")
