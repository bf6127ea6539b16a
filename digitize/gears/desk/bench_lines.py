"""The lines of the inspection sheet: each size, its nominal, what is usual, and how to take it."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from calibrate.errors import InputError
from digitize.gears.body import GivenBody
from digitize.gears.bore import HUB_CLEARANCE_IN, Keyseat, depth_at_centre_mm, over_keyseat_mm
from digitize.gears.desk.processes import Process, places
from digitize.gears.desk.work import Work
from digitize.gears.keys import half_round_words
from digitize.gears.sentences import length
from digitize.gears.teeth.inspection import (
    USUAL_PIN_FACTOR,
    chordal_addendum_mm,
    chordal_thickness_mm,
    over_pins,
    over_pins_mm,
    span,
    span_can_be_taken,
    span_mm,
    usual_span_teeth,
)
from digitize.gears.teeth.tooth import GearSpec
from digitize.standards import INCH_MM

PIN_STEPS_MM = {"in": float(INCH_MM / 32), "mm": 0.5}
"""Rods and drill shanks at hand go by thirty-seconds of an inch or half millimetres (common practice, no source)."""
UNPROVEN = "UNPROVEN, only read on the print"
"""Stands before the remark on what no second witness bears out."""


@dataclass(frozen=True)
class Line:
    """One size: its name, nominal, what is usual, and a remark. ``measured`` is left to the bench."""

    name: str
    nominal: str
    usual: str
    remark: str = ""


def thinned(gear: GearSpec, thinning_mm: float) -> GearSpec:
    """The same gear with so much taken off its thickness at the pitch circle."""
    return replace(gear, thinning_mm=thinning_mm)


def teeth_lines(gear: GearSpec, made_by: Process, unit: str) -> tuple[Line, ...]:
    """Sizes of the teeth: nominal without backlash, and what the process usually leaves."""
    plain, (low, high) = thinned(gear, 0.0), made_by.thinning_mm(gear)
    k = usual_span_teeth(plain)
    heights = (
        Line("outside diameter", length(2 * gear.tip_radius_mm, unit), "", "over the tips"),
        Line("root diameter", length(2 * gear.root_radius_mm, unit), "", "at the bottom of the spaces"),
        Line("whole depth", length(gear.tip_radius_mm - gear.root_radius_mm, unit), "", "tip to bottom"),
        Line("chordal addendum", length(chordal_addendum_mm(plain), unit), "", "set the caliper's tongue to this"),
    )
    chord = chordal_thickness_mm(plain)
    chordal = Line(
        "chordal thickness",
        length(chord, unit),
        _between(plain, chordal_thickness_mm, low, high, unit),
        "at the pitch circle",
    )
    spans = [_span_line(plain, each, low, high, unit) for each in (k, k + 1) if span_can_be_taken(plain, each)]
    pins = [_pin_line(plain, pin, low, high, unit) for pin in _pins(plain, unit)]
    return (*heights, chordal, *spans, *(line for line in pins if line is not None))


def _between(gear: GearSpec, size_mm: Callable[[GearSpec], float], low_mm: float, high_mm: float, unit: str) -> str:
    """What a size comes to when the tooth is thinned, most and least."""
    return f"{length(size_mm(thinned(gear, high_mm)), unit)} to {length(size_mm(thinned(gear, low_mm)), unit)}"


def _span_line(gear: GearSpec, teeth: int, low: float, high: float, unit: str) -> Line:
    size = span(gear, teeth)
    usual = _between(gear, lambda each: span_mm(each, teeth), low, high, unit)
    touch = size.touch_diameter_mm or 0.0
    return Line(size.name, length(size.value_mm, unit), usual, f"jaws touch at diameter {length(touch, unit)}")


def _pins(gear: GearSpec, unit: str) -> tuple[float, ...]:
    """The standard pin, and the rod at hand nearest to it."""
    standard = USUAL_PIN_FACTOR * gear.module_mm
    at_hand = usual_pin_mm(gear, unit)
    return (standard,) if at_hand is None else (standard, at_hand)


def usual_pin_mm(gear: GearSpec, unit: str) -> float | None:
    """The rod at hand nearest to the standard pin that touches the involute and stands above the tips; None if none."""
    step, standard = PIN_STEPS_MM[unit], USUAL_PIN_FACTOR * gear.module_mm
    nearest = sorted((step * n for n in range(1, int(3 * gear.module_mm / step) + 2)), key=lambda d: abs(d - standard))
    return next((pin for pin in nearest if _can_lie(gear, pin)), None)


def _can_lie(gear: GearSpec, pin_mm: float) -> bool:
    try:
        return over_pins(gear, pin_mm).usable
    except InputError:
        return False


def _pin_line(gear: GearSpec, pin_mm: float, low: float, high: float, unit: str) -> Line | None:
    if not _can_lie(gear, pin_mm):
        return None
    size = over_pins(gear, pin_mm)
    usual = _between(gear, lambda each: over_pins_mm(each, pin_mm), low, high, unit)
    odd = "" if gear.teeth % 2 == 0 else ", laid in the two spaces nearest to opposite"
    remark = f"pins touch at diameter {length(size.touch_diameter_mm or 0.0, unit)}{odd}"
    name = f"over pins of {length(pin_mm, unit)}"
    return Line(name, length(size.value_mm, unit), usual, remark)


def bore_lines(body: GivenBody, made_by: Process, unit: str) -> tuple[Line, ...]:
    """The bore, and the keyseat's depth in all three ways."""
    bore_mm, seat = body.bore_mm, body.keyseat
    if bore_mm is None:
        return ()
    low, high = (length(bore_mm + each, unit) for each in made_by.bore_mm)
    bore = Line("bore", length(bore_mm, unit), f"{low} to {high}", "a plug or the shaft itself is the better gauge")
    seats = () if seat is None else _keyseat_lines(bore_mm, seat, _clearance_mm(body, unit), unit)
    return (_marked(bore, "bore", body), *(_marked(line, "key", body) for line in seats))


def _clearance_mm(body: GivenBody, unit: str) -> float:
    """Usual clearance over the key: of inch keys; the table of half-round ones has it in its depths."""
    has_it = body.key is not None and body.key.half_round is not None
    return float(HUB_CLEARANCE_IN * INCH_MM) if unit == "in" and not has_it else 0.0


def _keyseat_lines(bore_mm: float, seat: Keyseat, clear_mm: float, unit: str) -> tuple[Line, ...]:
    over, centre = over_keyseat_mm(bore_mm, seat), depth_at_centre_mm(bore_mm, seat)
    usual = f"up to {length(over + clear_mm, unit)}" if clear_mm else ""
    how = "from the opposite side of the bore" + (", with the usual clearance over the key" if clear_mm else "")
    return (
        Line("keyseat width", length(seat.width_mm, unit), "", "try the key itself"),
        Line("keyseat depth at the side", length(seat.depth_at_side_mm, unit), "", "from the edge of the bore"),
        Line("keyseat depth at the centre", length(centre, unit), "", "from the bore's circle"),
        Line("over the keyseat", length(over, unit), usual, how),
    )


def fitting_lines(body: GivenBody, unit: str) -> tuple[Line, ...]:
    """What is fitted into the bore: a half-round key, a set-screw."""
    found = []
    if body.key is not None and body.key.half_round is not None:
        row = body.key.half_round
        pocket = f"{length(float(row.shaft_depth_in * INCH_MM), unit)} deep in the shaft, at the side"
        line = Line("key", f"No. {row.number}", "", f"{half_round_words(row)}; {pocket}")
        found.append(_marked(line, "key", body))
    if body.screw is not None:
        line = Line("set-screw", body.screw.thread, "", f"{body.screw.series}; try the screw itself")
        found.append(_marked(line, "set-screw", body))
    return tuple(found)


def _marked(line: Line, what: str, body: GivenBody) -> Line:
    """The line, its remark led by a mark where what it is of is unproven."""
    return replace(line, remark=f"{UNPROVEN}; {line.remark}") if what in body.unproven else line


def run_out_lines(work: Work, unit: str) -> tuple[Line, ...]:
    """Where to look for run-out, and what is usual."""
    limit = f"up to {length(work.process.run_out_limit_mm(work.gear), unit)}"
    return tuple(
        Line(f"{place.letter}: {place.where}", "", limit, place.how)
        for place in places()
        if place.letter != "D" or work.body.hub_mm is not None
    )
