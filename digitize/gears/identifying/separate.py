"""Which one measurement tells two candidates apart best, and what it would read for each."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import cos, hypot

from calibrate.errors import InputError
from digitize.gears.identifying.evidence import Evidence
from digitize.gears.identifying.items import PART_STD_MM, Hypothesis, spec_for_sizes
from digitize.gears.sentences import length
from digitize.gears.systems import base_pitch_mm
from digitize.gears.teeth import inspection
from digitize.gears.teeth.tooth import GearSpec

USUAL_THINNING = 0.03
"""Backlash unknown before measuring, in modules: it blurs one span but not the difference of two."""
CLEARLY_APART = 2.5
"""Two readings are apart when they differ by so many standard errors."""


@dataclass(frozen=True)
class Measurement:
    """A size one can take: its name, what a hypothesis predicts (mm, or None), its standard error, and a remark."""

    name: str
    predict: Callable[[Hypothesis], float | None]
    std_mm: float
    remark: str = ""


def measure_next(first: Hypothesis, rivals: Sequence[Hypothesis], evidence: Evidence, unit: str) -> str:
    """The measurement that best separates a hypothesis from the first rival that can be told from it at all.

    Parameters
    ----------
    first : Hypothesis
    rivals : sequence of Hypothesis
        Most probable first, at least one.

    Returns
    -------
    str
        One sentence with both predicted values, or why no caliper tells them apart.
    """
    for rival in rivals:
        if (found := _best(first, rival, evidence)) is not None:
            return _as_sentence(found, first, rival, unit)
    return _no_measurement(first, rivals[0])


def _best(first: Hypothesis, second: Hypothesis, evidence: Evidence) -> tuple[Measurement, float, float] | None:
    """The measurement whose two predictions lie most standard errors apart, if that is clear enough."""
    best, most = None, CLEARLY_APART
    for measurement in _measurements(first, evidence):
        a, b = measurement.predict(first), measurement.predict(second)
        if a is not None and b is not None and abs(a - b) / measurement.std_mm >= most:
            best, most = (measurement, a, b), abs(a - b) / measurement.std_mm
    return best


def _as_sentence(found: tuple[Measurement, float, float], first: Hypothesis, second: Hypothesis, unit: str) -> str:
    measurement, a, b = found
    return (
        f"{measurement.name}: {length(a, unit)} for {short(first)}; {length(b, unit)} for {short(second)}; "
        f"{length(abs(a - b), unit)} apart{measurement.remark}."
    )


def short(hypothesis: Hypothesis) -> str:
    """A hypothesis in few words: ``8 P 14 1/2 deg full-depth involute (ASA B6.1-1932)``."""
    words = f"{hypothesis.cut.pitch.label} {hypothesis.system.name}"
    return f"{words} with {hypothesis.cut.remark}" if hypothesis.cut.remark else words


def _no_measurement(first: Hypothesis, second: Hypothesis) -> str:
    if {first.system.form, second.system.form} == {"involute", "composite"}:
        return (
            f"No caliper tells {short(first)} from {short(second)}: heights and pitch are the same, only the ends of "
            "the flank differ. Look for a cutter or hob number, or try a known gear in mesh."
        )
    return f"No caliper tells {short(first)} from {short(second)} surely; look for a written note, a hob or the mate."


def _measurements(first: Hypothesis, evidence: Evidence) -> list[Measurement]:
    """Sizes not given yet, that a caliper can take on the leading candidate."""
    found = [
        Measurement("Measure the outside diameter", _outside, PART_STD_MM["outside diameter"]),
        Measurement("Measure the root diameter", _root, PART_STD_MM["root diameter"]),
        Measurement("Measure the whole depth", lambda h: h.cut.whole_depth_mm, PART_STD_MM["whole depth"]),
    ]
    given = (evidence.outside_diameter, evidence.root_diameter, evidence.whole_depth)
    found = [measurement for measurement, size in zip(found, given, strict=True) if size is None]
    return found + _spans(first, evidence)


def _outside(hypothesis: Hypothesis) -> float:
    return hypothesis.cut.outside_diameter_mm(hypothesis.teeth)


def _root(hypothesis: Hypothesis) -> float:
    return hypothesis.cut.root_diameter_mm(hypothesis.teeth)


def _spans(first: Hypothesis, evidence: Evidence) -> list[Measurement]:
    gear = spec_for_sizes(first)
    if gear is None:
        return []
    try:
        k = _neighbouring_spans(gear)
    except InputError:
        return []
    one = hypot(PART_STD_MM["span"], USUAL_THINNING * first.cut.module_mm * cos(gear.pressure_angle_rad))
    found = [Measurement(f"Measure over {k} teeth", lambda h: _span(h, k), one, " (backlash makes it less)")]
    if inspection.span_can_be_taken(gear, k + 1) and len(evidence.spans) < 2:
        both = PART_STD_MM["span"] * hypot(1, 1)
        name = f"Measure over {k} and over {k + 1} teeth and take the difference"
        found.append(Measurement(name, _base_pitch, both, ", whatever the backlash"))
    return found


def _neighbouring_spans(gear: GearSpec) -> int:
    """The smaller of two neighbouring spans that can both be taken, else the usual one."""
    k = inspection.usual_span_teeth(gear)
    for start in (k, k - 1):
        if inspection.span_can_be_taken(gear, start) and inspection.span_can_be_taken(gear, start + 1):
            return start
    return k


def _span(hypothesis: Hypothesis, teeth: int) -> float | None:
    gear = spec_for_sizes(hypothesis)
    return None if gear is None else inspection.span_mm(gear, teeth)


def _base_pitch(hypothesis: Hypothesis) -> float | None:
    degrees = hypothesis.system.pressure_angle_deg
    return None if degrees is None else base_pitch_mm(hypothesis.cut.module_mm, degrees)
