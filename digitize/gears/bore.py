"""The bore of a gear and its keyseat, and the three usual ways of giving a keyseat's depth.

Glossary
--------
depth at the side
    From the edge where the keyseat's side leaves the bore, to its top.
depth at the centre
    From where the bore's circle would be on the keyseat's centre line, to its top (t2 of DIN 6885-1).
over the keyseat (T)
    From the opposite side of the bore to the top of the keyseat, measured on the centre line.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import sqrt

from calibrate.errors import InputError
from digitize.standards import Key, key_for_shaft

HUB_CLEARANCE_IN = Fraction(5, 1000)
"""Clearance over the key that ANSI B17.1 adds to T (MHPC-B17, seen)."""

KEY_STANDARDS = ("ANSI B17.1", "BS 46", "DIN 6885-1")
SAME_KEY_MM = 0.02
"""A size of a keyseat is the standard's own when it is as near as this: prints round to hundredths of a millimetre."""


@dataclass(frozen=True)
class Keyseat:
    """A parallel keyseat in a bore, standing on the +y axis, square corners."""

    width_mm: float
    depth_at_side_mm: float


def chordal_height_mm(bore_mm: float, width_mm: float) -> float:
    """Height of the bore's arc over the keyseat's width: (D - sqrt(D^2 - W^2)) / 2.

    Raises
    ------
    InputError
        Where the keyseat is not narrower than the bore.

    Examples
    --------
    >>> round(chordal_height_mm(1.0, 0.25), 5)
    0.01588
    """
    if not 0 < width_mm < bore_mm:
        raise InputError("A keyseat must be narrower than its bore; check width and bore.")
    return (bore_mm - sqrt(bore_mm**2 - width_mm**2)) / 2


def depth_at_centre_mm(bore_mm: float, keyseat: Keyseat) -> float:
    """The keyseat's depth on its centre line."""
    return keyseat.depth_at_side_mm - chordal_height_mm(bore_mm, keyseat.width_mm)


def over_keyseat_mm(bore_mm: float, keyseat: Keyseat) -> float:
    """T: from the opposite side of the bore to the keyseat's top."""
    return bore_mm + depth_at_centre_mm(bore_mm, keyseat)


def keyseat_by_centre(bore_mm: float, width_mm: float, depth_mm: float) -> Keyseat:
    """The keyseat whose depth is given on the centre line."""
    return Keyseat(width_mm, depth_mm + chordal_height_mm(bore_mm, width_mm))


def keyseat_by_over(bore_mm: float, width_mm: float, over_mm: float) -> Keyseat:
    """The keyseat whose top is given from the opposite side of the bore."""
    return keyseat_by_centre(bore_mm, width_mm, over_mm - bore_mm)


def standard_keyseat(bore_mm: Fraction, standard: str) -> Keyseat | None:
    """The hub keyseat that a standard gives for a bore, without clearance over the key; None outside its table.

    Examples
    --------
    >>> standard_keyseat(Fraction(25), "DIN 6885-1").width_mm
    8.0
    """
    key = key_for_shaft(bore_mm, standard)
    return None if key is None else _hub_keyseat(key, float(bore_mm))


def _hub_keyseat(key: Key, bore_mm: float) -> Keyseat:
    width_mm, depth_mm = _hub_sizes_mm(key)
    return keyseat_by_centre(bore_mm, width_mm, depth_mm) if key.on_middle_line else Keyseat(width_mm, depth_mm)


def _hub_sizes_mm(key: Key) -> tuple[float, float]:
    """Width and depth of a hub keyseat as the key's standard states them."""
    return float(key.width * key.mm_per_unit), float(key.hub_depth * key.mm_per_unit)


def keyseat_of_standard(bore_mm: float, width_mm: float, depth_mm: float) -> Keyseat | None:
    """The keyseat that a standard has for a bore, where the width and depth given are its own; None where none has.

    Examples
    --------
    >>> round(keyseat_of_standard(25.4, 6.35, 3.175).depth_at_side_mm, 3), keyseat_of_standard(25.4, 6.35, 3.0)
    (3.175, None)
    """
    exact = Fraction(bore_mm).limit_denominator(10**6)
    for key in (key_for_shaft(exact, standard) for standard in KEY_STANDARDS):
        if key is not None and _is_own(_hub_sizes_mm(key), (width_mm, depth_mm)):
            return _hub_keyseat(key, float(exact))
    return None


def _is_own(stated_mm: tuple[float, float], given_mm: tuple[float, float]) -> bool:
    return all(abs(stated - given) <= SAME_KEY_MM for stated, given in zip(stated_mm, given_mm, strict=True))


def check_bore(bore_mm: float, keyseat: Keyseat | None) -> None:
    """Refuse a bore or keyseat that can't be: not above zero, wider than the bore, or not leaving it.

    Raises
    ------
    InputError
    """
    if not bore_mm > 0:
        raise InputError("A bore must be larger than zero; check the bore diameter.")
    if keyseat is not None and depth_at_centre_mm(bore_mm, keyseat) <= 0:
        raise InputError("The keyseat's top lies inside the bore; check its depth and how it is measured.")
