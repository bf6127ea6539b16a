"""Sizes by which a spur gear is inspected at the bench: chordal, over teeth, over pins.

All follow standard involute geometry and carry no allowance: a gear cut with backlash measures a little less. A size
that can't be taken on a gear (jaws or pins would miss the involute) says so instead of being left out.

Glossary
--------
chordal thickness, chordal addendum
    Straight across a tooth at the pitch circle, and how far below the tip the caliper's tongue must stand.
span
    Over k teeth, between parallel jaws that touch the involute flanks; neighbouring spans differ by the base pitch.
over pins
    Over two pins laid in opposite spaces (for odd teeth, the two nearest to opposite).
"""

from dataclasses import dataclass
from math import acos, cos, hypot, pi, sin, tan

from scipy.optimize import brentq

from calibrate.errors import InputError
from digitize.gears.teeth.tooth import GearSpec, half_angle_rad, involute, space_side
from digitize.standards import INCH_MM

USUAL_PIN_FACTOR = 1.728
"""Pin diameter in modules for external gears (WIRE-WEB, seen)."""


@dataclass(frozen=True)
class BenchSize:
    """One size to check.

    Attributes
    ----------
    name : str
        In words, with what it is taken over.
    value_mm : float
    usable : bool
        Whether jaws or pins touch the involute between form circle and tip.
    note : str
        What it starts from, or why it can't be taken.
    touch_diameter_mm : float or None
        Circle on which jaws or pins touch.
    """

    name: str
    value_mm: float
    usable: bool = True
    note: str = ""
    touch_diameter_mm: float | None = None


def chordal_thickness_mm(gear: GearSpec) -> float:
    """Chord of the tooth at the pitch circle: N m sin(half angle) (PTM-152, EMGT-10, seen).

    Examples
    --------
    >>> round(chordal_thickness_mm(GearSpec(15, 1.0, 14.5)), 4)
    1.5679
    """
    return 2 * gear.pitch_radius_mm * sin(_half_angle(gear))


def chordal_addendum_mm(gear: GearSpec) -> float:
    """From the tip down to that chord: (outside - pitch radius) + r (1 - cos(half angle)).

    Examples
    --------
    >>> round(chordal_addendum_mm(GearSpec(15, 1.0, 14.5)), 4)
    1.0411
    """
    above_pitch = gear.tip_radius_mm - gear.pitch_radius_mm
    return above_pitch + gear.pitch_radius_mm * (1 - cos(_half_angle(gear)))


def _half_angle(gear: GearSpec) -> float:
    return gear.thickness_mm / (2 * gear.pitch_radius_mm)


def span_mm(gear: GearSpec, teeth_spanned: int) -> float:
    """Over ``teeth_spanned`` teeth: (k - 1) base pitches and the thickness at the base circle (SPAN-FORM, seen).

    Examples
    --------
    >>> round(span_mm(GearSpec(24, 3.0, 20.0, profile_shift=0.4), 4), 4)
    32.8266
    """
    base_pitch = pi * gear.module_mm * cos(gear.pressure_angle_rad)
    base_half_angle = _half_angle(gear) + involute(gear.pressure_angle_rad)
    return (teeth_spanned - 1) * base_pitch + 2 * gear.base_radius_mm * base_half_angle


def usual_span_teeth(gear: GearSpec) -> int:
    """How many teeth to span so that the jaws touch nearest the pitch circle, at least two."""
    touch = 2 * gear.pitch_radius_mm * sin(gear.pressure_angle_rad)
    base_pitch = pi * gear.module_mm * cos(gear.pressure_angle_rad)
    return max(2, min(gear.teeth - 1, 1 + round((touch - (span_mm(gear, 1))) / base_pitch)))


def span(gear: GearSpec, teeth_spanned: int) -> BenchSize:
    """The span, with the circle on which the jaws touch."""
    value = span_mm(gear, teeth_spanned)
    radius = hypot(gear.base_radius_mm, value / 2)
    return _judged(gear, f"over {teeth_spanned} teeth", value, radius)


def span_can_be_taken(gear: GearSpec, teeth_spanned: int) -> bool:
    """Whether the jaws touch the involute on both sides."""
    return 2 <= teeth_spanned < gear.teeth and span(gear, teeth_spanned).usable


def over_pins_mm(gear: GearSpec, pin_mm: float) -> float:
    """Over two pins, by the pressure angle at their centres (WIRE-WEB, seen, for even teeth; odd teeth derived).

    inv f = t/D + inv a + G/Db - pi/N; M = Db / cos f + G, and for odd N the first term times cos(90 deg / N).

    Raises
    ------
    InputError
        For a pin so small that it drops through to the root.

    Examples
    --------
    >>> round(over_pins_mm(GearSpec(32, 1.0, 20.0), 1.728), 3)
    34.413
    """
    centres = 2 * over_pins_centre_mm(gear, pin_mm)
    return (centres if gear.teeth % 2 == 0 else centres * cos(pi / (2 * gear.teeth))) + pin_mm


def over_pins_centre_mm(gear: GearSpec, pin_mm: float) -> float:
    """Radius on which the centres of the pins lie.

    Raises
    ------
    InputError
        For a pin so small that it drops through to the root.
    """
    wanted = (
        _half_angle(gear) + involute(gear.pressure_angle_rad) + pin_mm / (2 * gear.base_radius_mm) - pi / gear.teeth
    )
    if wanted <= 0:
        raise InputError(f"A pin of {pin_mm:.3f} mm falls through between these teeth; take a larger one.")
    angle = brentq(lambda a: involute(a) - wanted, 1e-9, pi / 2 - 1e-9, xtol=1e-14)
    return gear.base_radius_mm / cos(angle)


def over_pins(gear: GearSpec, pin_mm: float) -> BenchSize:
    """The size over pins, with the circle on which the pins touch and whether they stand above the tips."""
    centre = over_pins_centre_mm(gear, pin_mm)
    along_normal = gear.base_radius_mm * tan(acos(gear.base_radius_mm / centre)) - pin_mm / 2
    # A pin that touches below the base circle's tangent point would rest on no involute at all.
    touch = hypot(gear.base_radius_mm, along_normal) if along_normal > 0 else 0.0
    size = _judged(
        gear, f"over pins of {pin_mm:.3f} mm ({pin_mm / float(INCH_MM):.4f} in)", over_pins_mm(gear, pin_mm), touch
    )
    if size.usable and centre + pin_mm / 2 < gear.tip_radius_mm:
        return BenchSize(size.name, size.value_mm, False, "the pins lie below the tips; take larger ones")
    return size


def _judged(gear: GearSpec, name: str, value_mm: float, touch_radius_mm: float) -> BenchSize:
    side = space_side(gear)
    if touch_radius_mm > side.involute_stop_mm:
        where = "the tips" if side.above is None else "the involute, on the cycloidal end"
        return BenchSize(name, value_mm, False, f"would touch beyond {where}")
    if touch_radius_mm < side.form_radius_mm:
        return BenchSize(name, value_mm, False, "would touch below the involute, on the root curve")
    return BenchSize(name, value_mm, touch_diameter_mm=2 * touch_radius_mm)


def inspection_sizes(gear: GearSpec) -> tuple[BenchSize, ...]:
    """The usual sizes of a gear: chordal, two neighbouring spans, over pins."""
    k = usual_span_teeth(gear)
    return (
        BenchSize("chordal thickness", chordal_thickness_mm(gear), note="at the pitch circle"),
        BenchSize("chordal addendum", chordal_addendum_mm(gear), note="from the outside diameter as turned"),
        span(gear, k),
        span(gear, k + 1),
        over_pins(gear, USUAL_PIN_FACTOR * gear.module_mm),
    )


def half_thickness_angle_deg(gear: GearSpec) -> float:
    """Half the angle of a tooth at the pitch circle, in degrees."""
    return half_angle_rad(gear, gear.pitch_radius_mm) * 180 / pi


def over_pins_fall(gear: GearSpec, pin_mm: float) -> float:
    """How much the size over pins falls for each millimetre taken off the tooth's thickness.

    From inv f = t/D + ...: dM/dt = (Db/D) / sin f for even teeth, times cos(90 deg / N) for odd ones (derived).
    """
    centre = over_pins_centre_mm(gear, pin_mm)
    at_centre = acos(gear.base_radius_mm / centre)
    fall = cos(gear.pressure_angle_rad) / sin(at_centre)
    return fall if gear.teeth % 2 == 0 else fall * cos(pi / (2 * gear.teeth))
