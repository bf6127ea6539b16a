"""Tooth systems, as data, and the sizes that they give together with the standard pitches.

Glossary
--------
system
    A rule for tooth heights, pressure angle and fillet: one table of ``systems.toml``.
pitch
    One standard diametral pitch, module or circular pitch: one row of ``pitches.csv`` (see `digitize.gears.pitch`).
cut
    A system at a pitch with one of the root depths it allows: everything of a tooth but the number of them.
same tooth
    Two cuts whose pitch, pressure angle, heights and form are equal, whatever their standards are called.
"""

import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files
from math import cos, pi, radians, sin
from typing import Any

from digitize.gears.pitch import Pitch, pitches
from digitize.standards import INCH_MM

SAME_HEIGHT_MM = 0.001
"""Heights closer than this are one height: a micron, to which outlines are drawn too."""


@dataclass(frozen=True)
class ToothSystem:
    """One tooth system. Heights and radii are in units of 1/P or of the module, which is the same.

    Attributes
    ----------
    id, name : str
    kind : str
        "full_depth", "stub", "stub_two_number" or "cast".
    form : str
        "involute", "composite" (middle third involute, ends cycloidal) or "cast" (moulded, no involute).
    pitch_kind : str
        Which pitches it is used with: "DP", "MODULE", "CP", or "PAIR" for two-number stubs.
    pressure_angle_deg : float or None
        None for cast teeth.
    addendum, dedendum : Fraction
    dedendum_constant_in : Fraction
        Added to the dedendum whatever the pitch (fine pitch system).
    other_dedenda : tuple of Fraction
        Further root depths that the same standard allows.
    fillet_radius : Fraction or None
        Radius of the rack's tip; None where the standard does not say.
    rolling_radius : Fraction
        Of the circle whose cycloids end a composite flank; 0 for others.
    thickness_share : Fraction
        Tooth thickness over circular pitch: 1/2, or less for cast teeth.
    min_teeth_no_undercut : int or None
    met : str
        "often", "sometimes" or "seldom" on prints.
    era : tuple of int
        Rough years of use.
    """

    id: str
    name: str
    kind: str
    form: str
    pitch_kind: str
    pressure_angle_deg: float | None
    addendum: Fraction
    dedendum: Fraction
    dedendum_constant_in: Fraction
    other_dedenda: tuple[Fraction, ...]
    fillet_radius: Fraction | None
    rolling_radius: Fraction
    thickness_share: Fraction
    min_teeth_no_undercut: int | None
    met: str
    era: tuple[int, int]
    dp_from: Fraction
    dp_below: Fraction
    module_below_mm: Fraction
    source: str
    provenance: str
    note: str

    def takes(self, pitch: Pitch) -> bool:
        """Whether the system is used with this pitch."""
        return (
            pitch.kind == self.pitch_kind
            and self.dp_from <= pitch.diametral_pitch < self.dp_below
            and pitch.module_mm < self.module_below_mm
        )


@dataclass(frozen=True)
class TwoNumberPair:
    """A two-number stub: ``p1`` fixes pitch diameter and thickness, ``p2`` the heights."""

    pair: str
    p1: Fraction
    p2: Fraction
    min_teeth_no_undercut: int
    source: str


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
def systems() -> tuple[ToothSystem, ...]:
    """All systems, in the order of the table."""
    return tuple(_system(table) for table in _toml()["system"])


def system(key: str) -> ToothSystem:
    """The system of a key; raises KeyError for a key that is not in the table."""
    return {row.id: row for row in systems()}[key]


@cache
def two_number_pairs() -> tuple[TwoNumberPair, ...]:
    """Two-number stub pitches: 4/5 to 12/14."""
    return tuple(
        TwoNumberPair(
            row["pair"], Fraction(row["p1"]), Fraction(row["p2"]), row["min_teeth_no_undercut"], row["source"]
        )
        for row in _toml()["two_number_pair"]
    )


FAR = Fraction(10**9)
"""Stands for no upper bound of a pitch."""


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


def undercut_limit(addendum: float, pressure_angle_deg: float) -> float:
    """Teeth below which a rack of this working depth undercuts: 2 h / sin^2 a, not rounded.

    Examples
    --------
    >>> round(undercut_limit(1.0, 14.5), 2), round(undercut_limit(1.0, 20.0), 2)
    (31.9, 17.1)
    """
    return 2 * addendum / sin(radians(pressure_angle_deg)) ** 2


def base_pitch_mm(module_mm: float, pressure_angle_deg: float) -> float:
    """Distance between neighbouring flanks along the common tangent: pi m cos a."""
    return pi * module_mm * cos(radians(pressure_angle_deg))


def _toml() -> dict[str, Any]:
    text = files("digitize.gears").joinpath("systems.toml").read_text(encoding="utf-8")
    # Decimals of the table are exact: 1.157 must not become the nearest binary number.
    return tomllib.loads(text, parse_float=Fraction)


def _pitch_kind(table: dict[str, Any]) -> str:
    """Systems whose heights are also given in circular pitches are used with those."""
    if "addendum_p" in table:
        return "CP"
    return {"1/P": "DP", "m": "MODULE", "1/P2": "PAIR"}[table["unit"]]


def _system(table: dict[str, Any]) -> ToothSystem:
    angle = table.get("pressure_angle_deg")
    fillet = table.get("rack_fillet_radius")
    first, last = table["era"]
    return ToothSystem(
        id=table["id"],
        name=table["name"],
        kind=table["kind"],
        form=table.get("form", "involute"),
        pitch_kind=_pitch_kind(table),
        pressure_angle_deg=None if angle is None else float(angle),
        addendum=Fraction(table["addendum"]),
        dedendum=Fraction(table["dedendum"]),
        dedendum_constant_in=Fraction(table.get("dedendum_const_in", 0)),
        other_dedenda=tuple(Fraction(depth) for depth in table.get("other_dedenda", ())),
        fillet_radius=None if fillet is None else Fraction(fillet),
        rolling_radius=Fraction(table.get("rolling_radius", 0)),
        thickness_share=Fraction(table.get("thickness_p", Fraction(1, 2))),
        min_teeth_no_undercut=table.get("min_teeth_no_undercut"),
        met=table["met"],
        era=(first, last),
        dp_from=Fraction(table.get("dp_from", 0)),
        dp_below=Fraction(table.get("dp_below", FAR)),
        module_below_mm=Fraction(table.get("module_below_mm", FAR)),
        source=table["source"],
        provenance=table["provenance"],
        note=table["note"],
    )
