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
from digitize.standards import INCH_MM, key_for_shaft

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
    metric = standard.startswith("DIN")
    key = key_for_shaft(bore_mm if metric else bore_mm / INCH_MM, standard)
    if key is None:
        return None
    if metric:
        return keyseat_by_centre(float(bore_mm), float(key.width), float(key.hub_depth))
    return Keyseat(float(key.width * INCH_MM), float(key.hub_depth * INCH_MM))


def keyseat_of_standard(bore_mm: float, width_mm: float, depth_mm: float) -> Keyseat | None:
    """The keyseat that a standard has for a bore, where the width and depth given are its own; None where none has.

    Examples
    --------
    >>> round(keyseat_of_standard(25.4, 6.35, 3.175).depth_at_side_mm, 3), keyseat_of_standard(25.4, 6.35, 3.0)
    (3.175, None)
    """
    exact = Fraction(bore_mm).limit_denominator(10**6)
    for standard, key_depth_mm in ((name, _tabled_depth_mm(exact, name)) for name in KEY_STANDARDS):
        seat = standard_keyseat(exact, standard)
        if seat is None or key_depth_mm is None or abs(seat.width_mm - width_mm) > SAME_KEY_MM:
            continue
        if abs(key_depth_mm - depth_mm) <= SAME_KEY_MM:
            return seat
    return None


def _tabled_depth_mm(bore_mm: Fraction, standard: str) -> float | None:
    """The hub keyseat's depth as the standard itself states it."""
    metric = standard.startswith("DIN")
    key = key_for_shaft(bore_mm if metric else bore_mm / INCH_MM, standard)
    return None if key is None else float(key.hub_depth if metric else key.hub_depth * INCH_MM)


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
