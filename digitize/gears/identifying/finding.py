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
class ToothName:
    """One name that a tooth goes by: a system and the title of its cut.

    ``share`` is of the tooth's own posterior, that of all its names being 1. ``pitch`` is how this name writes the
    pitch ("4 P", "4/5 P"); ``fillet_mm`` is the tip radius of its rack, the one thing in which names of a tooth differ.
    """

    system: str
    title: str
    pitch: str
    fillet_mm: float
    share: float


@dataclass(frozen=True)
class GearFinding:
    """Ranked answer: ``candidates`` best first; the claim itself is made only where ``state`` is AGREED.

    What is claimed is the leading candidate's tooth: number, pitch, pressure angle, heights and form. Several standards
    may give that very tooth; ``names`` lists them, likeliest first, and none of them is claimed before the others.
    ``kind`` is "spur" or what else the evidence says it is (bevel, worm, helical, internal ...), for which no spur
    system is claimed. ``measure_next`` names the one measurement that would decide between what is left.
    ``none_probability`` is what is left for a gear of no tabled system. ``asked`` are the options, as typed, that would
    make the leading tooth agreed if they bear it out; none where it is agreed, disputed or no few of them would.
    ``by_word`` is a sentence on what a person said of it, the first of ``evidence`` too; empty where nobody did.
    """

    kind: str
    teeth: int | None
    state: State
    candidates: tuple[Candidate, ...]
    evidence: tuple[str, ...]
    measure_next: tuple[str, ...] = ()
    names: tuple[ToothName, ...] = ()
    none_probability: float = 0.0
    asked: tuple[str, ...] = ()
    by_word: str = ""

    @property
    def same_tooth(self) -> tuple[str, ...]:
        """Systems that give the leading candidate's tooth under other names than its own."""
        return tuple(name.system for name in self.names[1:])
