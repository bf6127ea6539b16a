"""The sizes of the evidence, each with what a hypothesis predicts for it.

Glossary
--------
hypothesis
    A standard cut with a number of teeth.
item
    A size that follows from a hypothesis alone: a diameter, a depth, a pitch, an angle.
thickness item
    A size that backlash makes smaller: a span, over pins, a chordal thickness.
misfit
    How far a prediction is from a size, in units of what the size allows: 1 is the limit.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import log

import numpy as np

from calibrate.errors import InputError
from digitize.gears.cuts import Cut
from digitize.gears.identifying.evidence import Evidence, Quantity
from digitize.gears.identifying.likelihood import RIVAL_SHARE, allowed_error, broad_density, density, listed_density
from digitize.gears.systems import ToothSystem
from digitize.gears.teeth import inspection
from digitize.gears.teeth.tooth import GearSpec

TOOTH_ANGLE = "angle from tooth to tooth"
PART_STD_MM = {
    "outside diameter": 0.1,
    "root diameter": 0.15,
    "pitch diameter": 0.3,
    "whole depth": 0.1,
    "circular pitch": 0.1,
    "centre distance": 0.2,
    "chordal thickness": 0.08,
    "chordal addendum": 0.1,
    TOOTH_ANGLE: 0.15,
    "span": 0.03,
    "over pins": 0.05,
}
"""Usual error of a size taken from a part, in mm, or in degrees by a protractor (common practice, no source)."""
FULL_TURN_DEG = 360.0
SAME_PITCH_SHARE = 5e-4
"""A pitch given in figures is the standard one when it is as near as this share of it, or rounds to it."""
SAME_ANGLE_DEG = 0.25
"""A pressure angle is the standard one when it is as near as this: 14 1/2 and 15 are told apart."""
MOST_THINNING = 0.1
"""Backlash takes up to this share of a module off a tooth (common practice, no source)."""

Predict = Callable[["Hypothesis"], float | None]


@dataclass(frozen=True)
class Hypothesis:
    """A standard cut with a number of teeth."""

    cut: Cut
    teeth: int

    @property
    def system(self) -> ToothSystem:
        """Its tooth system."""
        return self.cut.system


@dataclass(frozen=True)
class Item:
    """One size of the evidence and how a hypothesis predicts it; None where it can't."""

    name: str
    unit: str
    size: Quantity
    part_std: float
    predict: Predict
    bears_on_pitch: bool = True

    @property
    def is_listed(self) -> bool:
        """Whether the size is one of a short list of values rather than a length."""
        return self.name in RIVAL_SHARE

    @property
    def allowed(self) -> float:
        """How far off a prediction may be before it contradicts the size."""
        if self.name == "pressure angle":
            return SAME_ANGLE_DEG
        if self.is_listed:
            # "8" is exact though written to whole numbers; "8.47" is rounded.
            rounding = self.size.place / 2 if self.size.place < 1 else 0.0
            return max(rounding, SAME_PITCH_SHARE * self.size.value)
        return allowed_error(self.size, self.part_std)

    def misfit(self, hypothesis: Hypothesis) -> float:
        """How far off the prediction is, in units of what the size allows: 1 is the limit."""
        predicted = self.predict(hypothesis)
        return 0.0 if predicted is None else abs(self.size.value - predicted) / self.allowed

    def log_density(self, hypothesis: Hypothesis) -> float:
        """Logarithm of the size's density under the hypothesis."""
        predicted = self.predict(hypothesis)
        if predicted is None:
            return self.log_density_of_none
        if self.is_listed:
            return log(listed_density(self.size, self.misfit(hypothesis) <= 1, RIVAL_SHARE[self.name]))
        return log(density(self.size, predicted, self.part_std))

    @property
    def log_density_of_none(self) -> float:
        """The same where nothing is predicted."""
        return log(RIVAL_SHARE[self.name]) if self.is_listed else log(broad_density(self.size))


@dataclass(frozen=True)
class ThicknessItem:
    """A size that depends on the tooth's thickness: nominal, and how much it falls for each mm taken off."""

    name: str
    size: Quantity
    part_std: float
    nominal_mm: Callable[[GearSpec], float]
    fall: Callable[[GearSpec], float]

    @property
    def log_density_of_none(self) -> float:
        """Logarithm of the size's density where nothing is predicted."""
        return log(broad_density(self.size))

    def misfit(self, hypothesis: Hypothesis) -> float:
        """How far off every thinning within reason leaves the size, in units of what it allows: 1 is the limit."""
        gear = spec_for_sizes(hypothesis)
        if gear is None:
            return 0.0
        try:
            most, fall = self.nominal_mm(gear), self.fall(gear)
        except InputError:
            return 0.0
        least = most - fall * MOST_THINNING * hypothesis.cut.module_mm
        off = max(self.size.value - most, least - self.size.value, 0.0)
        return off / allowed_error(self.size, self.part_std)


AnyItem = Item | ThicknessItem


def size_items(evidence: Evidence) -> tuple[Item, ...]:
    """The sizes of the evidence that do not depend on backlash."""
    mate = evidence.mate_teeth
    table: list[tuple[str, str, Quantity | None, Predict, bool]] = [
        ("outside diameter", "mm", evidence.outside_diameter, lambda h: h.cut.outside_diameter_mm(h.teeth), True),
        ("root diameter", "mm", evidence.root_diameter, lambda h: h.cut.root_diameter_mm(h.teeth), True),
        ("pitch diameter", "mm", evidence.pitch_diameter, lambda h: h.teeth * h.cut.module_mm, True),
        ("whole depth", "mm", evidence.whole_depth, lambda h: h.cut.whole_depth_mm, True),
        ("chordal addendum", "mm", evidence.chordal_addendum, _chordal_addendum, True),
        ("circular pitch", "mm", evidence.circular_pitch, lambda h: np.pi * h.cut.module_mm, True),
        ("diametral pitch", "P", evidence.diametral_pitch, lambda h: h.cut.pitch.diametral_pitch, True),
        ("module", "module", evidence.module, lambda h: h.cut.module_mm, True),
        ("pressure angle", "deg", evidence.pressure_angle, lambda h: h.system.pressure_angle_deg, False),
        (TOOTH_ANGLE, "deg", evidence.tooth_angle, lambda h: FULL_TURN_DEG / h.teeth, False),
    ]
    if mate is not None:
        centre = evidence.centre_distance
        table.append(("centre distance", "mm", centre, lambda h: (h.teeth + mate) * h.cut.module_mm / 2, True))
    return tuple(
        Item(name, unit, size, PART_STD_MM.get(name, 0.0), predict, on_pitch)
        for name, unit, size, predict, on_pitch in table
        if size is not None
    )


def _chordal_addendum(hypothesis: Hypothesis) -> float | None:
    """Addendum and the bow of the chord at the pitch circle; backlash changes it by next to nothing."""
    gear = spec_for_sizes(hypothesis)
    return None if gear is None else inspection.chordal_addendum_mm(gear)


def thickness_items(evidence: Evidence) -> tuple[ThicknessItem, ...]:
    """The sizes of the evidence that backlash makes smaller."""
    items = [
        ThicknessItem(
            f"span over {given.teeth} teeth",
            given.size,
            PART_STD_MM["span"],
            lambda g, k=given.teeth: inspection.span_mm(g, k),  # type: ignore[misc]
            lambda g: np.cos(g.pressure_angle_rad),
        )
        for given in evidence.spans
    ]
    items += [
        ThicknessItem(
            f"over pins of {given.pin_mm:.3f} mm",
            given.size,
            PART_STD_MM["over pins"],
            lambda g, d=given.pin_mm: inspection.over_pins_mm(g, d),  # type: ignore[misc]
            lambda g, d=given.pin_mm: inspection.over_pins_fall(g, d),  # type: ignore[misc]
        )
        for given in evidence.pins
    ]
    if evidence.chordal_thickness is not None:
        items.append(
            ThicknessItem(
                "chordal thickness",
                evidence.chordal_thickness,
                PART_STD_MM["chordal thickness"],
                inspection.chordal_thickness_mm,
                lambda g: 1.0,
            )
        )
    return tuple(items)


def spec_for_sizes(hypothesis: Hypothesis) -> GearSpec | None:
    """The gear whose spans and chords are compared; composite teeth are involute where jaws touch. None for cast."""
    cut, m = hypothesis.cut, hypothesis.cut.module_mm
    angle = cut.system.pressure_angle_deg
    if angle is None:
        return None
    try:
        return GearSpec(hypothesis.teeth, m, angle, cut.addendum_mm / m, cut.dedendum_mm / m, cut.fillet_mm / m)
    except InputError:
        return None
