"""Tooth systems, as data; what they give together with the standard pitches is in `cuts`.

Glossary
--------
system
    A rule for tooth heights, pressure angle and fillet: one table of ``systems.toml``.
pitch
    One standard diametral pitch, module or circular pitch: one row of ``pitches.csv`` (see `digitize.gears.pitch`).
"""

import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files
from math import cos, pi, radians, sin
from typing import Any

from digitize.gears.pitch import Pitch

FAR = Fraction(10**9)
"""Stands for no upper bound of a pitch."""


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
