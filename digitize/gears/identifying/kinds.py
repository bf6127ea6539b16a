"""Gears that are no plain spur gears: what their sizes say, and where a plain reading of them would mislead.

Outside diameters: bevel N/P + 2 cos(pitch angle)/P at the large end; helical N/(Pn cos b) + 2/Pn; worm wheel, throat
(N + 2) p/pi; enlarged pinion (N + 2 + 2 x)/P; internal gear, inside (N - 2)/P (gear notes of the standards folder;
naive-pitch rows derived from the same formulas).
"""

from collections.abc import Iterator
from math import atan, cos, degrees, pi, radians

from digitize.gears.identifying.evidence import Evidence
from digitize.gears.identifying.items import PART_STD_MM
from digitize.gears.identifying.likelihood import allowed_error
from digitize.gears.pitch import Pitch, pitches
from digitize.gears.sentences import angle, length
from digitize.standards import INCH_MM

BEVEL_RATIOS = (1.0, 2.0, 0.5, 1.5, 2 / 3, 3.0, 1 / 3)
"""Tooth ratios to the mate that are tried at a shaft angle of 90 deg; 1 is a mitre pair."""
HELIX_ANGLES_DEG = (15.0, 20.0, 23.0, 30.0, 45.0)
"""Usual helix angles (common practice, no source)."""
WORM_PITCHES_IN = (0.125, 0.1875, 0.25, 0.3125, 0.375, 0.5, 0.625, 0.75, 1.0)
"""Simple axial pitches of worms (drawing practice, from memory)."""
OUTSIDE_OVER_THROAT = 0.4775
"""Worm wheel: outside over throat diameter in axial pitches, single or double thread (from memory)."""
MOST_TEETH_ENLARGED = 20
"""Pinions with more teeth are hardly ever enlarged (common practice, no source)."""
LEAST_SHIFT, MOST_SHIFT = 0.05, 0.6
"""Profile shift of an enlarged pinion, in modules (common practice, no source)."""
MOST_SUGGESTIONS = 4
"""More ways of explaining one diameter than this help nobody."""


def would_fit(evidence: Evidence, unit: str) -> tuple[str, ...]:
    """Gears of other kinds that have this outside diameter with these teeth, simplest first, as suggestions only."""
    size, teeth = evidence.outside_diameter, evidence.teeth or evidence.teeth_counted
    if size is None or teeth is None:
        return ()
    near = min(allowed_error(size, PART_STD_MM["outside diameter"]), 0.002 * size.value)
    found = []
    for words, outside_mm in _others(teeth, size.value):
        if abs(outside_mm - size.value) <= near:
            found.append(f"{words}, outside diameter {length(outside_mm, unit)}, would fit")
    return tuple(found[:MOST_SUGGESTIONS])


def _others(teeth: int, outside_mm: float) -> Iterator[tuple[str, float]]:
    common = [pitch for pitch in pitches() if pitch.preferred and pitch.kind != "CP"]
    yield from _enlarged(teeth, outside_mm, common)
    for pitch in common:
        yield from _bevels(teeth, pitch)
    yield from _worm_wheels(teeth)
    for pitch in common:
        yield from _helicals(teeth, pitch)


def _enlarged(teeth: int, outside_mm: float, common: list[Pitch]) -> Iterator[tuple[str, float]]:
    if teeth > MOST_TEETH_ENLARGED:
        return
    for pitch in common:
        shift = (outside_mm / pitch.module_mm - teeth - 2) / 2
        if LEAST_SHIFT <= shift <= MOST_SHIFT:
            yield f"a pinion of {pitch.label} enlarged by a shift of {shift:.2f}", outside_mm


def _bevels(teeth: int, pitch: Pitch) -> Iterator[tuple[str, float]]:
    for ratio in BEVEL_RATIOS:
        cone = atan(ratio)
        name = "a mitre gear" if ratio == 1 else "a bevel gear"
        words = f"{name} of {pitch.label}, pitch angle {degrees(cone):.2f} deg"
        yield words, pitch.module_mm * (teeth + 2 * cos(cone))


def _worm_wheels(teeth: int) -> Iterator[tuple[str, float]]:
    for pitch_in in WORM_PITCHES_IN:
        pitch_mm = pitch_in * float(INCH_MM)
        throat = (teeth + 2) * pitch_mm / pi
        words = f"a worm wheel for a worm of {pitch_in:g} in pitch"
        yield f"{words} (throat)", throat
        yield f"{words} (over the rim)", throat + OUTSIDE_OVER_THROAT * pitch_mm


def _helicals(teeth: int, pitch: Pitch) -> Iterator[tuple[str, float]]:
    for helix in HELIX_ANGLES_DEG:
        words = f"a helical gear of normal {pitch.label}, helix {angle(helix)}"
        yield words, pitch.module_mm * (teeth / cos(radians(helix)) + 2)


def sizes_of_kind(kind: str, evidence: Evidence) -> tuple[str, ...]:
    """What the sizes of a gear of a known other kind say, as sentences."""
    size, teeth = evidence.outside_diameter, evidence.teeth or evidence.teeth_counted
    if teeth is None:
        return ()
    if kind == "helical" and evidence.helix_angle is not None and size is not None:
        helix = evidence.helix_angle.value
        module = size.value / (teeth / cos(radians(helix)) + 2)
        return (f"With a helix of {angle(helix)} and full depth the normal pitch is {_both_pitches(module)}",)
    inside = evidence.inside_diameter
    if kind == "internal" and inside is not None:
        pitches_found = _both_pitches(inside.value / (teeth - 2))
        return (f"The inside diameter is that of full-depth teeth of {pitches_found}",)
    return ()


def _both_pitches(module_mm: float) -> str:
    return f"{float(INCH_MM) / module_mm:.4g} P (module {module_mm:.4g})"
