"""Sheets dense in one style of figure: the same parts, lines and hands, by an office that writes so wherever it can.

Styles
------
mixed
    As offices write: nothing is changed.
angle
    Plates and flanges with bevelled corners and holes at angles of their own.
limits
    Every turned or bored diameter bears its two limits.
one-place, four-places
    Millimetres with one place, inches with four.
"""

from dataclasses import replace
from fractions import Fraction

from samples.notation import Fit, Notation
from samples.parts import Rng, pick

FIGURES = ("mixed", "angle", "limits", "one-place", "four-places")
FAMILY_SHARES = {
    "angle": {"bracket": 0.5, "flange": 0.5},
    "limits": {"shaft": 0.45, "bushing": 0.3, "flange": 0.25},
}
"""Which families can write so, and their shares; a style that is not named is written by all."""

ONE_PLACE_GRAINS = (Fraction(1, 10), Fraction(1, 2))
FOUR_PLACES_GRAINS = (Fraction(1, 10000), Fraction(1, 16))
ALLOWANCES = {"in": ((3, 10), (4, 40)), "mm": ((2, 10), (3, 80))}
"""Places of limits in a unit, and by how many of the last a mating size strays at most (about as fits do; memory)."""


def notation_for(figures: str, notation: Notation, rng: Rng) -> Notation:
    """A sheet's habits, turned to one style of figure."""
    if figures == "angle":
        return replace(notation, angled=True)
    if figures == "limits":
        return replace(notation, fit=_fit(notation.unit, rng))
    if figures == "one-place":
        marks = notation.diameter if notation.diameter in ("Ø", "DIA.") else "Ø"
        metric = replace(notation, unit="mm", decimal=False, inch_marks=False, diameter=marks)
        return replace(metric, grain_or_none=pick(rng, ONE_PLACE_GRAINS), fewest=int(pick(rng, (0, 1))))
    if figures == "four-places":
        inches = replace(notation, unit="in", decimal=True)
        return replace(inches, grain_or_none=pick(rng, FOUR_PLACES_GRAINS), fewest=int(pick(rng, (2, 4))))
    return notation


def _fit(unit: str, rng: Rng) -> Fit:
    """Upper and lower allowance of every mating size, in the last of the places that it is written with."""
    places, most = pick(rng, ALLOWANCES[unit])
    upper = int(rng.integers(1 - most, most + 1))
    lower = int(rng.integers(-most, upper))
    last = Fraction(1, 10**places)
    return Fit(upper * last, lower * last, places)
