"""A finding as the ``gear`` object of the dimension table."""

from collections import defaultdict
from collections.abc import Callable
from typing import Any

from digitize.dimensions.table import State
from digitize.gears.identifying.claim import pitch_is_named
from digitize.gears.identifying.finding import Candidate, GearFinding

FIELD_PROBABILITY = 0.8
"""Pitch and pressure angle are stated, short of agreed, when so much of the posterior holds them."""
SYSTEM_PROBABILITY = 0.5
"""The same for the system's name."""


def leading_tooth(finding: GearFinding) -> Candidate | None:
    """The candidate whose system, pitch and angle may all be stated, agreed or not; None where one of them is open."""
    leading = _stated(finding)
    return leading if leading is not None and all(_settled(finding, leading)) else None


def _settled(finding: GearFinding, leading: Candidate) -> tuple[bool, bool, bool]:
    """Whether pitch, angle and, given both, the system of the leading candidate may be stated."""
    pitch = _agreeing(finding, leading, lambda c: round(c.module_mm, 6), FIELD_PROBABILITY)
    angle = _agreeing(finding, leading, lambda c: c.pressure_angle_deg, FIELD_PROBABILITY)
    same = {leading.system, *finding.same_tooth}
    system = pitch and angle and _agreeing(finding, leading, lambda c: c.system in same, SYSTEM_PROBABILITY)
    return pitch, angle, system


def finding_to_json(finding: GearFinding) -> dict[str, Any]:
    """The ``gear`` object of ``dimension-table.schema.json``.

    A field is null where nothing can be stated: pitch and angle short of ``FIELD_PROBABILITY``, the system short of
    ``SYSTEM_PROBABILITY`` or while pitch or angle are open, all three for a disputed gear and for one that is no spur
    gear. What is stated of an unproven gear is the leading candidate's and not claimed. ``names`` are all the systems
    that give that tooth, likeliest first: the tooth is claimed, and no name before the others. ``system`` is the first
    of them, or null where they write the pitch differently (4 P, 4/5 P) and neither is nearly sure.
    """
    leading = _stated(finding)
    pitch, angle, system = _settled(finding, leading) if leading else (False, False, False)
    return {
        "teeth": finding.teeth,
        "system": leading.system if leading and system and pitch_is_named(finding) else None,
        "names": [leading.system, *finding.same_tooth] if leading and system else [],
        "module_mm": leading.module_mm if leading and pitch else None,
        "diametral_pitch": leading.diametral_pitch if leading and pitch else None,
        "pressure_angle_deg": leading.pressure_angle_deg if leading and angle else None,
        "status": finding.state.value,
        "kind": finding.kind,
        "alternatives": [_candidate(candidate) for candidate in finding.candidates],
        "evidence": [*finding.evidence, *finding.measure_next],
    }


def _stated(finding: GearFinding) -> Candidate | None:
    """The candidate whose fields may be stated."""
    if not finding.candidates or finding.state in (State.DISPUTED, State.UNREAD) or finding.none_probability > 0.5:
        return None
    return finding.candidates[0]


def _agreeing(finding: GearFinding, leading: Candidate, key: Callable[[Candidate], object], least: float) -> bool:
    """Whether enough of the posterior shares a field of the leading candidate."""
    shares: dict[object, float] = defaultdict(float)
    for candidate in finding.candidates:
        shares[key(candidate)] += candidate.probability
    return finding.state is State.AGREED or shares[key(leading)] >= least


def _candidate(candidate: Candidate) -> dict[str, Any]:
    return {
        "system": candidate.system,
        "title": candidate.title,
        "teeth": candidate.teeth,
        "module_mm": candidate.module_mm,
        "diametral_pitch": candidate.diametral_pitch,
        "pressure_angle_deg": candidate.pressure_angle_deg,
        "outside_diameter_mm": candidate.outside_diameter_mm,
        "probability": round(candidate.probability, 6),
        "speaks_for": list(candidate.speaks_for),
        "speaks_against": list(candidate.speaks_against),
    }
