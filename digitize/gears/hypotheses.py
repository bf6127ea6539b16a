"""Every tooth that the evidence may be of, and how probable each is.

A hypothesis is a standard cut with a number of teeth. Beside all of them stands one more: none of these. It explains
any size a little and none well, so that a gear of no standard is not forced into one.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import exp, log

import numpy as np
from numpy.typing import NDArray

from calibrate.errors import InputError
from digitize.gears import inspection
from digitize.gears.evidence import Evidence, Quantity
from digitize.gears.likelihood import RIVAL_SHARE, allowed_error, broad_density, density, listed_density, log_densities
from digitize.gears.systems import Cut, ToothSystem, standard_cuts
from digitize.gears.tooth import GearSpec
from digitize.gears.words import words_found
from digitize.standards.tables import Row, mixed_number, read_table

NONE_PRIOR = 0.05
"""How often a gear on a print is none of the tabled systems (common practice, no source)."""
MET_WEIGHT = {"often": 4.0, "sometimes": 2.0, "seldom": 1.0}
"""Weight of a system by how often it is met."""
PREFERRED_PITCH_WEIGHT = 2.0
"""A first-choice pitch against any other of its series."""
UNUSUAL_DEPTH_WEIGHT = 0.1
"""A root depth that a standard merely allows, against its usual one."""
OTHER_UNIT_WEIGHT = 0.05
"""A module on an inch sheet, or a diametral pitch on a metric one."""
ERA_FLOOR = 0.02
"""What is left of a system far outside its years: dates are of the drawing, not of the machine."""
ERA_FADE_YEARS = 10.0
"""Outside its era a system fades by 1/e in so many years."""
OLD_PRINT_YEARS = (1900, 1970)
"""Years of a print that bears none: this is a tool for old prints."""
CUTTER_DOUBT = 0.05
"""What is left of a system whose teeth the cutter number does not fit."""
COUNT_SLIP = 0.03
"""Probability that a count of drawn teeth is one too few, and the same for one too many."""
COUNT_WILD = 1e-4
"""The same for a count that is off by more."""
MOST_TEETH = 400
"""Teeth are looked for up to this number where none is written or counted."""
PART_STD_MM = {
    "outside diameter": 0.1,
    "root diameter": 0.15,
    "pitch diameter": 0.3,
    "whole depth": 0.1,
    "circular pitch": 0.1,
    "centre distance": 0.2,
    "chordal thickness": 0.08,
    "chordal addendum": 0.1,
    "span": 0.03,
    "over pins": 0.05,
}
"""Usual error of a size taken from a part with a caliper, in mm (common practice, no source)."""
SAME_PITCH_SHARE = 5e-4
"""A pitch given in figures is the standard one when it is as near as this share of it, or rounds to it."""
SAME_ANGLE_DEG = 0.25
"""A pressure angle is the standard one when it is as near as this: 14 1/2 and 15 are told apart."""
MOST_THINNING = 0.1
"""Backlash takes up to this share of a module off a tooth (common practice, no source)."""
NO_THINNING_WEIGHT = 0.4
"""How often a size for inspection is given without any backlash."""
THINNING_STEPS = 101
"""Grid over the thinning; fine against the error of a span on any module above 0.5 mm."""

HOPELESS = 30.0
"""Hypotheses so many nats behind the best are not worked out further."""

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


@dataclass(frozen=True)
class Weighed:
    """Posterior over hypotheses, most probable first, and what is left for none of them."""

    hypotheses: tuple[Hypothesis, ...]
    probabilities: NDArray[np.float64]
    none: float
    items: tuple[Item, ...]
    thickness_items: tuple[ThicknessItem, ...]

    @property
    def everything(self) -> tuple[AnyItem, ...]:
        """All sizes of the evidence."""
        return self.items + self.thickness_items


def weigh(evidence: Evidence) -> Weighed:
    """Posterior over every standard cut and tooth number the evidence allows."""
    items, thick = size_items(evidence), thickness_items(evidence)
    priors = list(_with_priors(evidence))
    none_log = log(NONE_PRIOR)
    none_log += sum(item.log_density_of_none for item in items) + sum(item.log_density_of_none for item in thick)
    if not priors:
        return Weighed((), np.zeros(0), 1.0, items, thick)
    total = sum(weight for _, weight in priors)
    logs = [log((1 - NONE_PRIOR) * weight / total) + _log_likelihood(h, items) for h, weight in priors]
    if thick:
        found = [
            _log_thickness(h, thick) if value > max(logs) - HOPELESS else -HOPELESS
            for value, (h, _) in zip(logs, priors, strict=True)
        ]
        logs = [value + more for value, more in zip(logs, found, strict=True)]
    return _ranked([h for h, _ in priors], np.array([*logs, none_log]), items, thick)


def _ranked(
    found: list[Hypothesis], logs: NDArray[np.float64], items: tuple[Item, ...], thick: tuple[ThicknessItem, ...]
) -> Weighed:
    weights = np.exp(logs - logs.max())
    shares = weights / weights.sum()
    order = np.argsort(-shares[:-1], kind="stable")
    return Weighed(tuple(found[i] for i in order), shares[:-1][order], float(shares[-1]), items, thick)


def _log_likelihood(hypothesis: Hypothesis, items: tuple[Item, ...]) -> float:
    return sum(item.log_density(hypothesis) for item in items)


def size_items(evidence: Evidence) -> tuple[Item, ...]:
    """The sizes of the evidence that do not depend on backlash."""
    mate = evidence.mate_teeth
    table: list[tuple[str, str, Quantity | None, Predict, bool]] = [
        ("outside diameter", "mm", evidence.outside_diameter, lambda h: h.cut.outside_diameter_mm(h.teeth), True),
        ("root diameter", "mm", evidence.root_diameter, lambda h: h.cut.root_diameter_mm(h.teeth), True),
        ("pitch diameter", "mm", evidence.pitch_diameter, lambda h: h.teeth * h.cut.module_mm, True),
        ("whole depth", "mm", evidence.whole_depth, lambda h: h.cut.whole_depth_mm, True),
        ("circular pitch", "mm", evidence.circular_pitch, lambda h: np.pi * h.cut.module_mm, True),
        ("diametral pitch", "P", evidence.diametral_pitch, lambda h: h.cut.pitch.diametral_pitch, True),
        ("module", "module", evidence.module, lambda h: h.cut.module_mm, True),
        ("pressure angle", "deg", evidence.pressure_angle, lambda h: h.system.pressure_angle_deg, False),
    ]
    if mate is not None:
        centre = evidence.centre_distance
        table.append(("centre distance", "mm", centre, lambda h: (h.teeth + mate) * h.cut.module_mm / 2, True))
    return tuple(
        Item(name, unit, size, PART_STD_MM.get(name, 0.0), predict, on_pitch)
        for name, unit, size, predict, on_pitch in table
        if size is not None
    )


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


def _log_thickness(hypothesis: Hypothesis, items: tuple[ThicknessItem, ...]) -> float:
    """Log likelihood of the thickness sizes together, over one common thinning of the teeth."""
    gear = spec_for_sizes(hypothesis)
    if gear is None:
        return sum(item.log_density_of_none for item in items)
    thinning = np.linspace(0.0, MOST_THINNING, THINNING_STEPS) * hypothesis.cut.module_mm
    weights = np.full(THINNING_STEPS, (1 - NO_THINNING_WEIGHT) / THINNING_STEPS)
    weights[0] += NO_THINNING_WEIGHT
    step = thinning[1]
    total = np.log(weights)
    for item in items:
        total += _thinned_log_density(item, gear, thinning, step)
    return float(np.logaddexp.reduce(total))


def _thinned_log_density(
    item: ThicknessItem, gear: GearSpec, thinning: NDArray[np.float64], step: float
) -> NDArray[np.float64]:
    try:
        nominal, fall = item.nominal_mm(gear), item.fall(gear)
    except InputError:
        return np.full(len(thinning), item.log_density_of_none)
    # The grid's own step is part of the error, or a written size would slip between two places of it.
    std = item.size.std if item.size.std is not None else item.part_std
    return log_densities(item.size, nominal - fall * thinning, float(np.hypot(std, step / 3)))


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


def _with_priors(evidence: Evidence) -> Iterable[tuple[Hypothesis, float]]:
    words = words_found(evidence.words)
    for cut in standard_cuts():
        weight = _system_weight(cut.system, evidence) * _pitch_weight(cut, evidence)
        for word in words:
            weight *= 1.0 if word.speaks_for(cut.system) else word.doubt
        for teeth, share in teeth_shares(evidence, cut):
            yield Hypothesis(cut, teeth), weight * share * _cutter_weight(cut, teeth, evidence)


def _system_weight(system: ToothSystem, evidence: Evidence) -> float:
    weight = MET_WEIGHT[system.met] * era_weight(system.era, evidence.year)
    inch_pitch = system.pitch_kind != "MODULE"
    fits_unit = evidence.unit is None or (evidence.unit == "in") == inch_pitch
    return weight if fits_unit else weight * OTHER_UNIT_WEIGHT


def era_weight(era: tuple[int, int], year: int | None) -> float:
    """How far a system's years speak for it, from ``ERA_FLOOR`` to 1; without a date, over the years of old prints.

    Examples
    --------
    >>> era_weight((1932, 1970), 1940), era_weight((1998, 2100), None)
    (1.0, 0.02)
    """
    if year is None:
        first, last = OLD_PRINT_YEARS
        common = min(era[1], last) - max(era[0], first)
        return max(ERA_FLOOR, common / (last - first))
    outside = max(era[0] - year, year - era[1], 0)
    return max(ERA_FLOOR, exp(-outside / ERA_FADE_YEARS))


def _pitch_weight(cut: Cut, evidence: Evidence) -> float:
    weight = PREFERRED_PITCH_WEIGHT if cut.pitch.preferred else 1.0
    weight *= UNUSUAL_DEPTH_WEIGHT if cut.remark else 1.0
    if evidence.pair is not None:
        return weight if cut.pitch.kind == "PAIR" and cut.pitch.label == f"{evidence.pair} P" else weight * 1e-4
    if cut.pitch.kind == "PAIR" and evidence.diametral_pitch is not None:
        # Such a gear's pitch is written with both numbers.
        return weight * UNUSUAL_DEPTH_WEIGHT
    return weight


def _cutter_weight(cut: Cut, teeth: int, evidence: Evidence) -> float:
    """Numbered form cutters belong to 14 1/2 degree practice, each to a range of teeth."""
    if evidence.cutter_number is None:
        return 1.0
    for row in read_table("digitize.gears", "cutters.csv"):
        if mixed_number(row["cutter_no"]) == evidence.cutter_number:
            fits = cut.system.pressure_angle_deg == 14.5 and _in_range(row, teeth)
            return 1.0 if fits else CUTTER_DOUBT
    return 1.0


def _in_range(row: Row, teeth: int) -> bool:
    return int(row["teeth_from"]) <= teeth and (row["teeth_to"] == "rack" or teeth <= int(row["teeth_to"]))


def teeth_shares(evidence: Evidence, cut: Cut) -> Iterable[tuple[int, float]]:
    """Tooth numbers to try for a cut, with their share of belief."""
    written, counted = evidence.teeth, evidence.teeth_counted
    if written is not None:
        yield written, 1.0 if counted is None else _count_share(counted - written)
    elif counted is not None:
        for slip in (-1, 0, 1):
            yield counted + slip, _count_share(slip)
    else:
        yield from ((teeth, 1 / MOST_TEETH) for teeth in _teeth_from_sizes(evidence, cut))


def _count_share(slip: int) -> float:
    if slip == 0:
        return 1 - 2 * COUNT_SLIP
    return COUNT_SLIP if abs(slip) == 1 else COUNT_WILD


def _teeth_from_sizes(evidence: Evidence, cut: Cut) -> tuple[int, ...]:
    """Whole numbers of teeth nearest to what a diameter gives."""
    m = cut.module_mm
    sizes: tuple[tuple[Quantity | None, float], ...] = (
        (evidence.pitch_diameter, 0.0),
        (evidence.outside_diameter, -2 * cut.addendum_mm),
        (evidence.root_diameter, 2 * cut.dedendum_mm),
    )
    nearest = {round((size.value + offset) / m) for size, offset in sizes if size is not None}
    return tuple(sorted(teeth for teeth in nearest if 5 <= teeth <= MOST_TEETH))
