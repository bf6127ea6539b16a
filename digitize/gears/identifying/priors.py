"""How probable a tooth is before any size is looked at: how often its system is met, its years, unit, words, count.

All of it weak: it orders what the sizes leave open, and no claim rests on it alone.
"""

from collections.abc import Iterable
from math import ceil, exp

from digitize.gears.cuts import Cut, standard_cuts
from digitize.gears.identifying.evidence import Evidence, Quantity
from digitize.gears.identifying.items import Hypothesis
from digitize.gears.systems import ToothSystem
from digitize.gears.words import words_found
from digitize.standards.tables import Row, mixed_number, read_table

MET_WEIGHT = {"often": 4.0, "sometimes": 2.0, "seldom": 1.0}
"""Weight of a system by how often it is met."""
PREFERRED_PITCH_WEIGHT = 2.0
"""A first-choice pitch against any other of its series."""
UNUSUAL_DEPTH_WEIGHT = 0.1
"""A root depth that a standard merely allows, against its usual one."""
ONE_NUMBER_WEIGHT = 0.02
"""A two-number stub whose pitch is written with one number only (common practice, no source)."""
OTHER_UNIT_WEIGHT = 0.05
"""A module on an inch sheet, or a diametral pitch on a metric one."""
ERA_FLOOR = 0.02
"""What is left of a system far outside its years: dates are of the drawing, not of the machine."""
ERA_FADE_YEARS = 10.0
"""Outside its era a system fades by 1/e in so many years."""
OLD_PRINT_YEARS = (1900, 1970)
"""Years of a print that bears none: this is a tool for old prints."""
FORM_DOUBT = 0.002
"""What is left of a system whose flanks have another form than a person saw, as beside the word "composite"."""
CUTTER_DOUBT = 0.05
"""What is left of a system whose teeth the cutter number does not fit."""
COUNT_SLIP = 0.03
"""Probability that a count of drawn teeth is one too few, and the same for one too many."""
COUNT_WILD = 1e-4
"""The same for a count that is off by more."""
TEETH_STDS = 4.0
"""Numbers of teeth are tried as far as so many standard errors of a diameter reach."""
MOST_TEETH = 400
"""Teeth are looked for up to this number where none is written or counted."""


def with_priors(evidence: Evidence) -> Iterable[tuple[Hypothesis, float]]:
    """Every hypothesis that the evidence leaves to try, with its weight; the weights do not sum to one."""
    words = words_found(evidence.words)
    for cut in standard_cuts():
        weight = _system_weight(cut.system, evidence) * _pitch_weight(cut, evidence)
        for word in words:
            weight *= 1.0 if word.speaks_for(cut.system) else word.doubt
        if evidence.form not in (None, cut.system.form):
            weight *= FORM_DOUBT
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
        return weight * ONE_NUMBER_WEIGHT
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
    if evidence.sure_teeth is not None:
        yield evidence.sure_teeth, 1.0 if counted is None else _count_share(counted - evidence.sure_teeth)
    elif written is not None and counted is None:
        yield written, evidence.teeth_reading
        others = [teeth for teeth in _teeth_from_sizes(evidence, cut) if teeth != written]
        yield from ((teeth, (1 - evidence.teeth_reading) / MOST_TEETH) for teeth in others)
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
    """Whole numbers of teeth that a diameter leaves open, and both neighbours of the nearest one."""
    m = cut.module_mm
    sizes: tuple[tuple[Quantity | None, float], ...] = (
        (evidence.pitch_diameter, 0.0),
        (evidence.outside_diameter, -2 * cut.addendum_mm),
        (evidence.root_diameter, 2 * cut.dedendum_mm),
    )
    tried: set[int] = set()
    for size, offset in sizes:
        if size is not None:
            nearest = round((size.value + offset) / m)
            reach = max(1, ceil(TEETH_STDS * (size.std or 0.0) / m))
            tried |= set(range(nearest - reach, nearest + reach + 1))
    if evidence.tooth_angle is not None:
        by_angle = round(360 / evidence.tooth_angle.value)
        tried |= {by_angle - 1, by_angle, by_angle + 1}
    return tuple(sorted(teeth for teeth in tried if 5 <= teeth <= MOST_TEETH))
