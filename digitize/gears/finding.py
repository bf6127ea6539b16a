"""What is claimed of a gear, and why."""

from dataclasses import dataclass

from digitize.dimensions.table import State


@dataclass(frozen=True)
class Candidate:
    """One tooth system that may be the maker's.

    ``system`` is a key of ``systems.toml``; ``probability`` is posterior over all hypotheses; ``speaks_for`` and
    ``speaks_against`` are sentences. ``module_mm`` and ``diametral_pitch`` describe the same pitch.
    ``pressure_angle_deg`` is None for cast teeth.
    """

    system: str
    title: str
    teeth: int
    module_mm: float
    diametral_pitch: float
    pressure_angle_deg: float | None
    outside_diameter_mm: float
    probability: float
    speaks_for: tuple[str, ...] = ()
    speaks_against: tuple[str, ...] = ()


@dataclass(frozen=True)
class GearFinding:
    """Ranked answer: ``candidates`` best first; the claim itself is made only where ``state`` is AGREED.

    ``kind`` is "spur" or what else the evidence says it is (bevel, worm, helical, internal ...), for which no spur
    system is claimed. ``measure_next`` names the one measurement that would decide between what is left.
    ``same_tooth`` are the systems that give the leading candidate's tooth under other names; their claim is the same.
    ``none_probability`` is what is left for a gear of no tabled system.
    """

    kind: str
    teeth: int | None
    state: State
    candidates: tuple[Candidate, ...]
    evidence: tuple[str, ...]
    measure_next: tuple[str, ...] = ()
    same_tooth: tuple[str, ...] = ()
    none_probability: float = 0.0
