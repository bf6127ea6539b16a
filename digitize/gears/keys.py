"""Keys as a person names them: parallel ones by their sizes or a standard, half-round ones by their number.

Glossary
--------
half-round key
    A segment of a disc (Woodruff key), let into a pocket of the shaft; half its width stands up into the hub.
number
    Of a half-round key: the last two figures are eighths of an inch of its diameter, those before thirty-seconds of its
    width (ANSI B17.2).
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from math import sqrt

from calibrate.errors import InputError
from digitize.gears.bore import Keyseat, keyseat_by_centre, keyseat_by_over, standard_keyseat
from digitize.gears.lengths import parse_length
from digitize.gears.pitch import mixed
from digitize.standards import INCH_MM, WoodruffKey, key_for_shaft, woodruff_key, woodruff_keys

KEY_STANDARDS = {"ansi": "ANSI B17.1", "bs": "BS 46", "din": "DIN 6885-1"}
NUMBER = re.compile(r"(?:WOODRUFF ?)?(?:KEY ?)?(?:NO\.? ?|# ?)?(\d{3,4})", re.IGNORECASE)
"""A half-round key as typed: 404, No. 404, Woodruff 404."""
NEAREST_SAID = 3
"""How many numbers are named where one is not in the table."""


@dataclass(frozen=True)
class GivenKey:
    """A key of a gear.

    Attributes
    ----------
    width_mm : float
    height_mm : float
        Twice what bears in the gear: a parallel key's height, a half-round one's width.
    length_mm : float or None
        A half-round key's own, at its flat top; None for one as long as is given or as the gear is wide.
    half_round : WoodruffKey or None
    """

    width_mm: float
    height_mm: float
    length_mm: float | None = None
    half_round: WoodruffKey | None = None


def key_from(text: str | None, bore_mm: Fraction) -> GivenKey | None:
    """The key of a bore: as given, the standard's, or by number; None where there is none.

    Raises
    ------
    InputError

    Examples
    --------
    >>> key_from("ANSI", Fraction(254, 10)).height_mm, round(key_from("No. 404", Fraction(254, 10)).length_mm, 2)
    (6.35, 12.47)
    """
    if text is None or text.strip().lower() == "none":
        return None
    standard = KEY_STANDARDS.get(text.strip().lower())
    if standard is not None:
        return _standard_key(standard, bore_mm)
    numbered = NUMBER.fullmatch(text.strip())
    if numbered is not None:
        return half_round_key(numbered[1])
    parts = re.split(r"\s*[x×]\s*", text.strip(), maxsplit=1, flags=re.IGNORECASE)
    if len(parts) == 2 and re.fullmatch(r"[\d/., -]+", parts[0]):
        # 3/16x1/8in: the unit stands once, at the end.
        parts[0] += "mm" if "mm" in parts[1].lower() else "in"
    width, height = (float(parse_length(part, "key").value_mm) for part in (parts[0], parts[-1]))
    return GivenKey(width, height)


def _standard_key(standard: str, bore_mm: Fraction) -> GivenKey:
    key = key_for_shaft(bore_mm, standard)
    if key is None:
        raise InputError(f"{standard} has no key for this bore; give the key as width x height.")
    height = key.height_square or key.height_rectangular
    assert height is not None, f"key row {key.width} has no height"
    return GivenKey(float(key.width * key.mm_per_unit), float(height * key.mm_per_unit))


def half_round_key(number: str) -> GivenKey:
    """A half-round key by its number.

    Raises
    ------
    InputError
        Where the table has no such number; names the nearest.
    """
    row = woodruff_key(number)
    if row is None:
        known = sorted((int(each.number) for each in woodruff_keys()), key=lambda each: abs(each - int(number)))
        nearest = ", ".join(str(each) for each in known[:NEAREST_SAID])
        raise InputError(f"There is no half-round key No. {number} in the table; the nearest are {nearest}.")
    width_mm = float(row.width_in * INCH_MM)
    return GivenKey(width_mm, width_mm, _length_at_top_mm(row), row)


def _length_at_top_mm(row: WoodruffKey) -> float:
    """Length of the flat top, a chord of the disc: where the key bears it is no shorter."""
    radius, off = float(row.diameter_in) / 2, float(row.centre_below_top_in)
    return 2 * sqrt(radius**2 - off**2) * float(INCH_MM)


def half_round_words(key: WoodruffKey) -> str:
    """A half-round key in the words of a sheet.

    Examples
    --------
    >>> half_round_words(woodruff_key("404"))
    'half-round key No. 404 (ANSI B17.2), 1/8 x 1/2 in'
    """
    return f"half-round key No. {key.number} (ANSI B17.2), {mixed(key.width_in)} x {mixed(key.diameter_in)} in"


def keyseat_from(text: str | None, typed_key: str | None, bore_mm: Fraction, key: GivenKey | None) -> Keyseat | None:
    """The keyseat in the gear: by a typed depth, else the standard's, else half the key's height deep.

    Raises
    ------
    InputError
    """
    if text is not None:
        return _typed_keyseat(text, bore_mm, key)
    standard = KEY_STANDARDS.get((typed_key or "").strip().lower())
    if standard is not None:
        return standard_keyseat(bore_mm, standard)
    if key is None:
        return None
    if key.half_round is not None:
        return Keyseat(key.width_mm, float(key.half_round.hub_depth_in * INCH_MM))
    return Keyseat(key.width_mm, key.height_mm / 2)


def _typed_keyseat(text: str, bore_mm: Fraction, key: GivenKey | None) -> Keyseat:
    if key is None:
        raise InputError("A keyseat's depth needs its width; give the key.")
    way, _, size = text.partition(":")
    if way not in ("side", "centre", "over") or not size:
        raise InputError(f'The keyseat "{text}" can\'t be read; write side:1/8in, centre:.11in or over:1.11in.')
    depth = float(parse_length(size, "keyseat").value_mm)
    if way == "side":
        return Keyseat(key.width_mm, depth)
    return (keyseat_by_centre if way == "centre" else keyseat_by_over)(float(bore_mm), key.width_mm, depth)
