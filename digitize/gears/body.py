"""Bore, key, hub and holes as a person gives them at the desk."""

import re
from dataclasses import dataclass
from fractions import Fraction

from calibrate.errors import InputError
from digitize.gears.bore import (
    Keyseat,
    check_bore,
    keyseat_by_centre,
    keyseat_by_over,
    standard_keyseat,
)
from digitize.gears.lengths import parse_length
from digitize.gears.options import BodyInput
from digitize.standards import INCH_MM, Thread, key_for_shaft, thread

KEY_STANDARDS = {"ansi": "ANSI B17.1", "bs": "BS 46", "din": "DIN 6885-1"}
FEWEST_HOLES, MOST_HOLES = 2, 24
"""Holes in a web (common practice, no source)."""


@dataclass(frozen=True)
class Holes:
    """Equal holes, evenly spaced on a circle about the axis, the first on the +x axis."""

    count: int
    diameter_mm: float
    circle_mm: float


@dataclass(frozen=True)
class GivenBody:
    """What is given of the gear's body; None where nothing is."""

    face_mm: float | None = None
    bore_mm: float | None = None
    key_mm: tuple[float, float] | None = None
    key_length_mm: float | None = None
    keyseat: Keyseat | None = None
    hub_mm: float | None = None
    rim_mm: float | None = None
    holes: Holes | None = None
    screw: Thread | None = None


def body_from(typed: BodyInput) -> GivenBody:
    """Read what was typed of the body.

    Raises
    ------
    InputError
        With one sentence, for whatever can't be meant.

    Examples
    --------
    >>> body_from(BodyInput(bore="1in", key="ANSI")).key_mm
    (6.35, 6.35)
    """
    bore = _size(typed.bore, "bore")
    if bore is None and any((typed.key, typed.keyseat, typed.set_screw)):
        raise InputError("A key, a keyseat or a set-screw needs the bore; give it.")
    key = None if bore is None else _key(typed.key, bore)
    seat = None if bore is None else _keyseat(typed, bore, key)
    if bore is not None:
        check_bore(float(bore), seat)
    return GivenBody(
        _mm(typed.face, "face"),
        None if bore is None else float(bore),
        key,
        _mm(typed.key_length, "key length"),
        seat,
        _mm(typed.hub_diameter, "hub diameter"),
        _mm(typed.rim_thickness, "rim thickness"),
        _holes(typed.holes),
        _screw(typed.set_screw),
    )


def _size(text: str | None, name: str) -> Fraction | None:
    return None if text is None else parse_length(text, name).value_mm


def _mm(text: str | None, name: str) -> float | None:
    size = _size(text, name)
    return None if size is None else float(size)


def _key(text: str | None, bore_mm: Fraction) -> tuple[float, float] | None:
    """Width and height of the key: as given, or the standard's for the bore."""
    if text is None or text.strip().lower() == "none":
        return None
    standard = KEY_STANDARDS.get(text.strip().lower())
    if standard is not None:
        return _standard_key(standard, bore_mm)
    parts = re.split(r"\s*[x×]\s*", text.strip(), maxsplit=1, flags=re.IGNORECASE)
    if len(parts) == 2 and re.fullmatch(r"[\d/., -]+", parts[0]):
        # 3/16x1/8in: the unit stands once, at the end.
        parts[0] += "mm" if "mm" in parts[1].lower() else "in"
    width, height = (float(parse_length(part, "key").value_mm) for part in (parts[0], parts[-1]))
    return width, height


def _standard_key(standard: str, bore_mm: Fraction) -> tuple[float, float]:
    metric = standard == KEY_STANDARDS["din"]
    key = key_for_shaft(bore_mm if metric else bore_mm / INCH_MM, standard)
    if key is None:
        raise InputError(f"{standard} has no key for this bore; give the key as width x height.")
    height = key.height_square or key.height_rectangular
    assert height is not None, f"key row {key.width} has no height"
    factor = Fraction(1) if metric else INCH_MM
    return float(key.width * factor), float(height * factor)


def _keyseat(typed: BodyInput, bore_mm: Fraction, key: tuple[float, float] | None) -> Keyseat | None:
    if typed.keyseat is None:
        standard = KEY_STANDARDS.get((typed.key or "").strip().lower())
        if standard is not None:
            return standard_keyseat(bore_mm, standard)
        return None if key is None else Keyseat(key[0], key[1] / 2)
    if key is None:
        raise InputError("A keyseat's depth needs its width; give the key.")
    way, _, size = typed.keyseat.partition(":")
    if way not in ("side", "centre", "over") or not size:
        raise InputError(
            f'The keyseat "{typed.keyseat}" can\'t be read; write side:1/8in, centre:.11in or over:1.11in.'
        )
    depth = float(parse_length(size, "keyseat").value_mm)
    if way == "side":
        return Keyseat(key[0], depth)
    return (keyseat_by_centre if way == "centre" else keyseat_by_over)(float(bore_mm), key[0], depth)


def _holes(text: str | None) -> Holes | None:
    if text is None:
        return None
    count, _, rest = text.partition(":")
    size, _, circle = rest.partition(":")
    if not count.isdigit() or not circle:
        raise InputError(f'The holes "{text}" can\'t be read; write how many, their size and circle: 4:1/2in:3in.')
    if not FEWEST_HOLES <= int(count) <= MOST_HOLES:
        raise InputError(f"{count} holes can't be meant; give {FEWEST_HOLES} to {MOST_HOLES}.")
    diameter, across = (float(parse_length(part, "holes").value_mm) for part in (size, circle))
    return Holes(int(count), diameter, across)


def _screw(text: str | None) -> Thread | None:
    if text is None:
        return None
    found = thread(text)
    if found is None:
        raise InputError(f'The set-screw "{text}" names no single thread of the tables; write 1/4-20 UNC or M6.')
    return found
