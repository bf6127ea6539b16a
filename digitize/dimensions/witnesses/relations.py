"""Gear data that must hold together: pitch, teeth and diameters by the formulas of every tooth system.

Each kind of gear has its own formulas: an outside diameter of N/P + 2 addendums is a spur gear's alone.

A relation is a witness for its values only where it is tight: no one-character rival of a value would satisfy it too.
Formulas: D = N/P, OD = D + 2a/P, p = pi/P, whole depth = a + b (gear_systems.toml); P = 25.4/m. Bevel gears, over the
large end: OD = D + 2a cos(pitch angle); helical: D = N/(Pn cos(helix)), OD = D + 2a of the normal pitch; internal:
inside diameter = D - 2a; worm wheels: D = N p/pi, throat = D + 2a for a = p/pi; chain wheels: D = p/sin(180 deg/N)
(gear notes of the standards folder; that of chain wheels from memory). Lengths are in mm, so that a formula in inches
also says which unit a sheet is in.
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
    tooth systems), and ``words`` is how a machinist would say it. ``kinds`` are the gears that it holds for.
    """

    names: tuple[str, ...]
    gap: Callable[[Values], float]
    words: str
    kinds: frozenset[str]


SPUR, ENLARGED, BEVEL, HELICAL = "spur", "enlarged pinion", "bevel", "helical"
INTERNAL, WORM, SPROCKET = "internal", "worm", "sprocket"
"""Kinds of gear by their names in ``words.toml``, and the plain one."""
BY_TEETH_AND_PITCH = frozenset({SPUR, ENLARGED, BEVEL, INTERNAL})
"""Gears whose pitch diameter is N/P, P being the pitch that is stated."""
ANGLES = frozenset({"helix_angle", "pitch_angle"})
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
            BY_TEETH_AND_PITCH,
        ),
        Relation(
            ("outside_diameter", "teeth", name),
            lambda v: _closest(v["outside_diameter"], [pitch_diameter(v) + 2 * a for a in _addenda(v)]),
            f"outside diameter = {quotient} + 2 addendums",
            frozenset({SPUR}),
        ),
        Relation(
            ("outside_diameter", "teeth", name, "pitch_angle"),
            lambda v: _closest(
                v["outside_diameter"],
                [pitch_diameter(v) + 2 * a * math.cos(math.radians(v["pitch_angle"])) for a in _addenda(v)],
            ),
            f"outside diameter of a bevel gear = {quotient} + 2 addendums x cos of the pitch angle",
            frozenset({BEVEL}),
        ),
        Relation(
            ("inside_diameter", "teeth", name),
            lambda v: _closest(v["inside_diameter"], [pitch_diameter(v) - 2 * a for a in _addenda(v)]),
            f"inside diameter = {quotient} - 2 addendums",
            frozenset({INTERNAL}),
        ),
        Relation(
            ("circular_pitch", name),
            lambda v: v["circular_pitch"] - circular_pitch(v),
            f"circular pitch from {symbol}",
            BY_TEETH_AND_PITCH,
        ),
        Relation(
            ("whole_depth", name),
            lambda v: _closest(v["whole_depth"], _whole_depths(v)),
            f"whole depth from {symbol}",
            BY_TEETH_AND_PITCH,
        ),
    )


def _helical_diameter(values: Values) -> float:
    return values["teeth"] * MM_PER_INCH / values["normal_pitch"] / math.cos(math.radians(values["helix_angle"]))


def _normal_addenda(values: Values) -> list[float]:
    return _addenda({"diametral_pitch": values["normal_pitch"]})


OF_OTHER_PITCHES = (
    Relation(
        ("pitch_diameter", "teeth", "circular_pitch"),
        lambda v: v["pitch_diameter"] - v["teeth"] * v["circular_pitch"] / math.pi,
        "pitch diameter = N p/pi",
        BY_TEETH_AND_PITCH | {WORM},
    ),
    Relation(
        ("throat_diameter", "teeth", "circular_pitch"),
        lambda v: v["throat_diameter"] - (v["teeth"] + 2) * v["circular_pitch"] / math.pi,
        "throat diameter = (N + 2) p/pi",
        frozenset({WORM}),
    ),
    Relation(
        ("pitch_diameter", "teeth", "normal_pitch", "helix_angle"),
        lambda v: v["pitch_diameter"] - _helical_diameter(v),
        "pitch diameter = N/Pn over cos of the helix",
        frozenset({HELICAL}),
    ),
    Relation(
        ("outside_diameter", "teeth", "normal_pitch", "helix_angle"),
        lambda v: _closest(v["outside_diameter"], [_helical_diameter(v) + 2 * a for a in _normal_addenda(v)]),
        "outside diameter = N/Pn over cos of the helix + 2 addendums",
        frozenset({HELICAL}),
    ),
    Relation(
        ("pitch_diameter", "teeth", "chain_pitch"),
        lambda v: v["pitch_diameter"] - v["chain_pitch"] / math.sin(math.pi / v["teeth"]),
        "pitch diameter = pitch over sin of 180 deg/N",
        frozenset({SPROCKET}),
    ),
)
RELATIONS = (*_relations_of("diametral_pitch"), *_relations_of("module"), *OF_OTHER_PITCHES)


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


def check_relations(data: Mapping[str, Datum], kind: str = SPUR) -> tuple[Check, ...]:
    """Hold every relation of a kind of gear whose data are all there against them.

    Parameters
    ----------
    data : mapping of name to Datum
    kind : str
        "spur", or a kind of ``words.toml``; one without formulas has no checks.

    Returns
    -------
    tuple of Check
    """
    return tuple(_check(r, data) for r in RELATIONS if kind in r.kinds and all(name in data for name in r.names))


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
    """How far a relation may be out by rounding alone: half the last place of the length it gives, what half the last
    place of an angle in minutes or decimals makes of it, and a hair; whole degrees are exact."""
    slack = 0.5 * data[relation.names[0]].place
    values = {name: data[name].value for name in relation.names}
    for name in ANGLES.intersection(relation.names):
        half_place = 0.5 * data[name].place if data[name].place < 1 else 0.0
        slack += abs(relation.gap({**values, name: values[name] + half_place}) - relation.gap(values))
    return slack * (1 + 1e-9) + 1e-9
