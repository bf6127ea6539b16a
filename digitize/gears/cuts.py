"""Cuts: every tooth system at every pitch that it is used with, and the sizes that this gives.

Glossary
--------
cut
    A system at a pitch with one of the root depths it allows: everything of a tooth but the number of them.
same tooth
    Two cuts whose pitch, pressure angle, heights and form are equal, whatever their standards are called.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import pi, radians, sin

from digitize.gears.pitch import Pitch, pitches
from digitize.gears.systems import (
    ToothSystem,
    TwoNumberPair,
    systems,
    two_number_pairs,
)
from digitize.standards import INCH_MM

SAME_HEIGHT_MM = 0.001
"""Heights closer than this are one height: a micron, to which outlines are drawn too."""


@dataclass(frozen=True)
class Cut:
    """A system at a pitch: the sizes of its tooth, in millimetres.

    ``fillet_mm`` is the tip radius of the generating rack; ``fillet_assumed`` says that the standard does not give it
    and the round that just fills the clearance is taken. ``remark`` names a root depth that is not the usual one.
    """

    system: ToothSystem
    pitch: Pitch
    module_mm: float
    addendum_mm: float
    dedendum_mm: float
    thickness_mm: float
    fillet_mm: float
    fillet_assumed: bool
    remark: str = ""

    @property
    def assumed(self) -> str:
        """What its standard does not give and is assumed where the tooth is drawn; empty where nothing is."""
        if self.system.rolling_radius:
            return "the cycloidal ends of its flanks are assumed: a rolling circle of 6/P, as 12 teeth are the fewest"
        return "the fillet at the root is assumed: its standard gives none" if self.fillet_assumed else ""

    @property
    def whole_depth_mm(self) -> float:
        """Addendum and dedendum together."""
        return self.addendum_mm + self.dedendum_mm

    @property
    def title(self) -> str:
        """System and pitch in words."""
        return f"{self.pitch.label}, {self.system.name}" + (f", {self.remark}" if self.remark else "")

    def outside_diameter_mm(self, teeth: int) -> float:
        """Over the tips of a gear that is not shifted."""
        return teeth * self.module_mm + 2 * self.addendum_mm

    def root_diameter_mm(self, teeth: int) -> float:
        """At the bottom of the spaces of a gear that is not shifted."""
        return teeth * self.module_mm - 2 * self.dedendum_mm


def same_tooth(first: Cut, second: Cut) -> bool:
    """Whether two cuts are one tooth under two names: same form, pitch, pressure angle, heights to the micron.

    The fillet is not compared: it is not seen on a print and does not change what meshes.
    """
    return (
        first.system.form == second.system.form
        and first.system.pressure_angle_deg == second.system.pressure_angle_deg
        and abs(first.module_mm - second.module_mm) < 1e-6 * first.module_mm
        and abs(first.addendum_mm - second.addendum_mm) < SAME_HEIGHT_MM
        and abs(first.dedendum_mm - second.dedendum_mm) < SAME_HEIGHT_MM
    )


def clearance_fillet(clearance: float, pressure_angle_deg: float) -> float:
    """Tip radius of a rack whose round starts where the clearance does: c / (1 - sin a).

    ASA B6.1-1932 and ISO 53 profile A give this very radius (0.157 -> 0.209, 0.25 -> 0.38).

    Examples
    --------
    >>> round(clearance_fillet(0.157, 14.5), 3), round(clearance_fillet(0.25, 20.0), 2)
    (0.209, 0.38)
    """
    return clearance / (1 - sin(radians(pressure_angle_deg)))


@cache
def standard_cuts() -> tuple[Cut, ...]:
    """Every system at every pitch it is used with, with each root depth that it allows."""
    cuts: list[Cut] = []
    for row in systems():
        if row.pitch_kind == "PAIR":
            cuts += [pair_cut(row, pair) for pair in two_number_pairs()]
        else:
            cuts += [cut for pitch in pitches() if row.takes(pitch) for cut in cuts_at(row, pitch)]
    return tuple(cuts)


def cut_named(system_id: str, title: str) -> Cut | None:
    """The standard cut of a system and title; None where the tables have none."""
    return next((cut for cut in standard_cuts() if cut.system.id == system_id and cut.title == title), None)


def cuts_at(row: ToothSystem, pitch: Pitch) -> tuple[Cut, ...]:
    """The system at a pitch, the usual root depth first."""
    usual = _cut(row, pitch, row.dedendum, "")
    others = (_cut(row, pitch, depth, f"dedendum {float(depth):g}") for depth in row.other_dedenda)
    return (usual, *others)


def pair_cut(row: ToothSystem, pair: TwoNumberPair) -> Cut:
    """A two-number stub: pitch and thickness by the first number, heights by the second."""
    pitch = Pitch("PAIR", pair.p1, f"{pair.pair} P", float(INCH_MM / pair.p1), True, pair.source)
    unit_mm = float(INCH_MM / pair.p2)
    return _sized(row, pitch, unit_mm, row.dedendum, "")


def _cut(row: ToothSystem, pitch: Pitch, dedendum: Fraction, remark: str) -> Cut:
    return _sized(row, pitch, pitch.module_mm, dedendum, remark)


def _sized(row: ToothSystem, pitch: Pitch, unit_mm: float, dedendum: Fraction, remark: str) -> Cut:
    addendum_mm = float(row.addendum) * unit_mm
    dedendum_mm = float(dedendum) * unit_mm + float(row.dedendum_constant_in * INCH_MM)
    fillet_mm, assumed = _fillet(row, unit_mm, dedendum_mm - addendum_mm, dedendum == row.dedendum)
    thickness_mm = float(row.thickness_share) * pi * pitch.module_mm
    return Cut(row, pitch, pitch.module_mm, addendum_mm, dedendum_mm, thickness_mm, fillet_mm, assumed, remark)


def _fillet(row: ToothSystem, unit_mm: float, clearance_mm: float, usual_depth: bool) -> tuple[float, bool]:
    if row.fillet_radius is not None and usual_depth:
        return float(row.fillet_radius) * unit_mm, False
    if row.pressure_angle_deg is None:
        return clearance_mm, True
    return clearance_fillet(clearance_mm, row.pressure_angle_deg), True
