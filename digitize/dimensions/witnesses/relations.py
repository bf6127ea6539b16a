"""Gear data that must hold together: pitch, teeth and diameters by the formulas of every tooth system.

A relation is a witness for its values only where it is tight: no one-character rival of a value would satisfy it too.
Formulas: D = N/P, OD = D + 2a/P, p = pi/P, whole depth = a + b (gear_systems.toml); P = 25.4/m. Lengths are in mm, so
that a formula in inches also says which unit a sheet is in.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from digitize.gears.systems import ToothSystem, systems

Values = Mapping[str, float]


@dataclass(frozen=True)
class Relation:
    """A formula over named gear data.

    ``names`` are the data it ties together, ``gap`` gives how far they are from satisfying it (smallest over the
    tooth systems), and ``words`` is how a machinist would say it.
    """

    names: tuple[str, ...]
    gap: Callable[[Values], float]
    words: str


MM_PER_INCH = 25.4


def _addenda(values: Values) -> list[float]:
    """Addendum of every system, in mm."""
    return [float(system.addendum) * _unit_length(values) for system in systems()]


def _whole_depths(values: Values) -> list[float]:
    """Whole depth of every system with each root depth that it allows."""
    return [
        float(system.addendum + dedendum) * _unit_length(values)
        for system in systems()
        for dedendum in _dedenda(system)
    ]


def _dedenda(system: ToothSystem) -> tuple[Fraction, ...]:
    return (system.dedendum, *system.other_dedenda)


def _unit_length(values: Values) -> float:
    """1/P or the module, in mm."""
    return MM_PER_INCH / values["diametral_pitch"] if "diametral_pitch" in values else values["module"]


def _pitch(name: str) -> tuple[str, Callable[[Values], float], Callable[[Values], float]]:
    """The two ways to state a pitch: (words, pitch diameter, circular pitch)."""
    symbol = "P" if name == "diametral_pitch" else "m"
    return symbol, lambda v: v["teeth"] * _unit_length(v), lambda v: math.pi * _unit_length(v)


def _closest(value: float, predictions: Sequence[float]) -> float:
    return min((value - prediction for prediction in predictions), key=abs)


def _relations_of(name: str) -> tuple[Relation, ...]:
    symbol, pitch_diameter, circular_pitch = _pitch(name)
    quotient = f"N/{symbol}" if symbol == "P" else f"N {symbol}"
    return (
        Relation(
            ("pitch_diameter", "teeth", name),
            lambda v: v["pitch_diameter"] - pitch_diameter(v),
            f"pitch diameter = {quotient}",
        ),
        Relation(
            ("outside_diameter", "teeth", name),
            lambda v: _closest(v["outside_diameter"], [pitch_diameter(v) + 2 * a for a in _addenda(v)]),
            f"outside diameter = {quotient} + 2 addendums",
        ),
        Relation(
            ("circular_pitch", name),
            lambda v: v["circular_pitch"] - circular_pitch(v),
            f"circular pitch from {symbol}",
        ),
        Relation(
            ("whole_depth", name),
            lambda v: _closest(v["whole_depth"], _whole_depths(v)),
            f"whole depth from {symbol}",
        ),
    )


RELATIONS = (*_relations_of("diametral_pitch"), *_relations_of("module"))


@dataclass(frozen=True)
class Datum:
    """One gear datum as read: its value (lengths in mm), its last written place, and its rivals' values."""

    value: float
    place: float
    rivals: tuple[float, ...]


@dataclass(frozen=True)
class Check:
    """What a relation says of its values: ``closes`` and, where it does, for which names it is ``tight``."""

    relation: Relation
    closes: bool
    gap: float
    tight: frozenset[str]


def check_relations(data: Mapping[str, Datum]) -> tuple[Check, ...]:
    """Hold every relation whose data are all there against them.

    Parameters
    ----------
    data : mapping of name to Datum

    Returns
    -------
    tuple of Check
    """
    return tuple(_check(r, data) for r in RELATIONS if all(name in data for name in r.names))


def _check(relation: Relation, data: Mapping[str, Datum]) -> Check:
    values = {name: data[name].value for name in relation.names}
    slack = slack_of(relation, data)
    gap = relation.gap(values)
    if abs(gap) > slack:
        return Check(relation, False, gap, frozenset())
    tight = frozenset(
        name
        for name in relation.names
        if not any(rival > 0 and abs(relation.gap({**values, name: rival})) <= slack for rival in data[name].rivals)
    )
    return Check(relation, True, gap, tight)


def slack_of(relation: Relation, data: Mapping[str, Datum]) -> float:
    """How far a relation may be out by rounding alone: half the last place of the length it gives, and a hair."""
    return 0.5 * data[relation.names[0]].place * (1 + 1e-9) + 1e-9
