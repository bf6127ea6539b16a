"""What is known of a gear before anything is concluded.

Glossary
--------
quantity
    One size with how it is known, its rounding and its uncertainty.
written
    Stands on a print: right to its rounding, unless the print or the reading is wrong.
on the part
    Taken with a caliper from a gear that may be worn, or turned a few thousandths off.
scaled
    Measured on the calibrated sheet; carries its own standard error.
unsaid
    Given at the desk without a word about where it comes from; written or on the part are both allowed for.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from calibrate.lengths import FRACTION_PLACE_IN
from digitize.lettering.text import TypedValue, Unit
from digitize.standards import INCH_MM

SURE_TEETH = 0.5
"""A number of teeth less likely right than wrong is no witness of its own: sizes must bear it out."""


class Known(StrEnum):
    """How a size is known."""

    WRITTEN = "written"
    ON_PART = "on the part"
    SCALED = "scaled"
    UNSAID = "unsaid"


@dataclass(frozen=True)
class Quantity:
    """One size.

    Attributes
    ----------
    value : float
        In millimetres, or degrees for angles, or teeth per inch for a diametral pitch.
    known : Known
    place : float
        Last written place, in the unit of ``value``: the true value lies within half of it.
    std : float or None
        Standard uncertainty besides rounding, where somebody gave one.
    text : str
        As written or given, for sentences; empty where it was measured.
    probability : float
        That the reading is right.
    """

    value: float
    known: Known = Known.WRITTEN
    place: float = 0.0
    std: float | None = None
    text: str = ""
    probability: float = 1.0


@dataclass(frozen=True)
class SpanSize:
    """A length over ``teeth`` teeth."""

    teeth: int
    size: Quantity


@dataclass(frozen=True)
class PinSize:
    """A length over two pins of ``pin_mm``."""

    pin_mm: float
    size: Quantity


@dataclass(frozen=True)
class Evidence:
    """Everything known of one gear; whatever is not known stays None or empty.

    Attributes
    ----------
    teeth, teeth_counted : int or None
        As written, and as counted on the drawing or the part.
    teeth_reading : float
        Probability that the written number was read rightly; below ``SURE_TEETH`` other numbers are tried beside it.
    tooth_angle : Quantity or None
        From one tooth to the next, in degrees: of a few teeth that are drawn, or that are left of a broken gear.
    inside_diameter : Quantity or None
        Over the tips of an internal gear's teeth.
    pair : str or None
        A two-number pitch such as "8/10".
    form : str or None
        Of the flank, as a person saw it on the hob or the cutter: "involute" or "composite".
    words : tuple of str
        Lettering that belongs to the gear: "STUB", "14 1/2° FULL DEPTH", "BEVEL GEAR" ...
    year : int or None
        Of the sheet; a weak prior.
    unit : str or None
        "in" or "mm", the sheet's unit; a weak prior, and the unit of the sentences.
    """

    teeth: int | None = None
    teeth_reading: float = 1.0
    teeth_counted: int | None = None
    outside_diameter: Quantity | None = None
    inside_diameter: Quantity | None = None
    root_diameter: Quantity | None = None
    pitch_diameter: Quantity | None = None
    whole_depth: Quantity | None = None
    circular_pitch: Quantity | None = None
    diametral_pitch: Quantity | None = None
    module: Quantity | None = None
    pair: str | None = None
    pressure_angle: Quantity | None = None
    chordal_thickness: Quantity | None = None
    chordal_addendum: Quantity | None = None
    spans: tuple[SpanSize, ...] = ()
    pins: tuple[PinSize, ...] = ()
    centre_distance: Quantity | None = None
    mate_teeth: int | None = None
    helix_angle: Quantity | None = None
    tooth_angle: Quantity | None = None
    cutter_number: Fraction | None = None
    form: str | None = None
    words: tuple[str, ...] = ()
    year: int | None = None
    unit: str | None = None

    @property
    def sure_teeth(self) -> int | None:
        """The written number of teeth, where it was read surely enough to be a witness."""
        return self.teeth if self.teeth_reading >= SURE_TEETH else None


def written_length(value: TypedValue, sheet_unit: Unit, text: str = "", probability: float = 1.0) -> Quantity | None:
    """A length read on a print as a quantity in millimetres; None where it has no nominal value.

    Examples
    --------
    >>> from digitize.lettering.text import Kind
    >>> read = TypedValue(Kind.GEAR_DATA, Fraction(11, 2), Unit.UNMARKED, place=Fraction(1, 2), style="fraction")
    >>> written_length(read, Unit.INCH).value, round(written_length(read, Unit.INCH).place, 4)
    (139.7, 0.3969)
    """
    if value.nominal is None:
        return None
    unit = sheet_unit if value.unit in (Unit.UNMARKED, Unit.NONE) else value.unit
    factor = INCH_MM if unit is Unit.INCH else Fraction(1)
    place = min(value.place, FRACTION_PLACE_IN) if value.style == "fraction" else value.place
    return Quantity(float(value.nominal * factor), Known.WRITTEN, float(place * factor), None, text, probability)


def written_number(value: TypedValue, text: str = "", probability: float = 1.0) -> Quantity | None:
    """A bare number read on a print (a pitch, an angle) as a quantity in its own unit."""
    if value.nominal is None:
        return None
    return Quantity(float(value.nominal), Known.WRITTEN, float(value.place), None, text, probability)
