"""Spur gears as they are thought of: tooth system, pitch, teeth, body; no line drawn yet."""

from dataclasses import dataclass
from fractions import Fraction

from samples.notation import Notation
from samples.parts import Rng, key_inch, key_metric, nearest, pick, stepped


@dataclass(frozen=True)
class System:
    """A tooth system: its key in the table of systems, heights in 1/P or in modules, and words for the sheet."""

    key: str
    angle: Fraction
    addendum: Fraction
    dedendum: Fraction
    words: str


# Heights: ASA B6.1-1932 (14 1/2 deg, stub), ANSI B6.1-1968 (20 deg coarse), DIN 867.
INCH_SYSTEMS = (
    System("asa_145_full", Fraction(29, 2), Fraction(1), Fraction(1157, 1000), "FULL DEPTH INVOLUTE"),
    System("agma_20_coarse", Fraction(20), Fraction(1), Fraction(5, 4), "FULL DEPTH INVOLUTE"),
    System("asa_20_stub", Fraction(20), Fraction(4, 5), Fraction(1), "STUB INVOLUTE"),
)
INCH_SHARES = (0.55, 0.25, 0.2)
METRIC_SYSTEM = System("din867", Fraction(20), Fraction(1), Fraction(5, 4), "INVOLUTE DIN 867")
PITCHES = (4, 5, 6, 8, 10, 12, 16)
MODULES = (Fraction(3, 2), Fraction(2), Fraction(5, 2), Fraction(3), Fraction(4), Fraction(5))
FEWEST_WITHOUT_UNDERCUT = 14


@dataclass(frozen=True)
class Gear:
    """A spur gear in the sheet's unit; ``pitch`` is the module there (1/P in inches)."""

    system: System
    teeth: int
    pitch: Fraction
    face: Fraction
    bore: Fraction
    hub: Fraction
    hub_length: Fraction
    web: Fraction | None
    rim: Fraction
    key: tuple[Fraction, Fraction] | None  # width, depth in the hub
    in_full: bool
    drawn_teeth: int = 0  # of a gear drawn by its circles: as many teeth at its top as an office troubled to draw

    @property
    def pitch_diameter(self) -> Fraction:
        """N/P."""
        return self.teeth * self.pitch

    @property
    def outside(self) -> Fraction:
        """Outside diameter."""
        return self.pitch_diameter + 2 * self.system.addendum * self.pitch

    @property
    def root(self) -> Fraction:
        """Root diameter."""
        return self.pitch_diameter - 2 * self.system.dedendum * self.pitch

    @property
    def recess(self) -> Fraction:
        """Inner diameter of the rim, where the web begins."""
        return self.root - 2 * self.rim


def design(rng: Rng, notation: Notation) -> Gear:
    """Choose a gear."""
    inch = notation.unit == "in"
    grain, coarse = notation.grain, notation.coarse
    system = INCH_SYSTEMS[int(rng.choice(3, p=INCH_SHARES))] if inch else METRIC_SYSTEM
    pitch = Fraction(1, int(pick(rng, PITCHES))) if inch else pick(rng, MODULES)
    teeth = int(rng.integers(FEWEST_WITHOUT_UNDERCUT, 61))
    if pitch * teeth > (6 if inch else 150):
        teeth = max(FEWEST_WITHOUT_UNDERCUT, int((6 if inch else 150) / pitch))
    root = teeth * pitch - 2 * system.dedendum * pitch
    bore = nearest(float(root) * rng.uniform(0.22, 0.36), grain)
    hub = nearest(max(float(bore) * 1.75, float(bore) + 0.3 * float(coarse)), grain)
    face = nearest(float(pitch) * rng.uniform(8, 12), grain)
    rim = nearest(float(pitch) * 2.0, notation.half_grain if inch else grain)
    roomy = root - 2 * rim - hub > 6 * coarse
    web = nearest(float(face) * 0.4, notation.half_grain if inch else grain) if roomy and rng.random() < 0.8 else None
    seat = (key_inch(bore), key_inch(bore) / 2) if inch else (key_metric(bore)[0], key_metric(bore)[2])
    key = seat if rng.random() < 0.8 and seat[0] < bore / 2 else None
    longer = face + stepped(rng, 1, 4, Fraction(1)) * coarse
    return Gear(system, teeth, pitch, face, bore, hub, longer, web, rim, key, bool(rng.random() < 0.4 and teeth <= 40))
