"""Materials and rules of the strength estimates, as the data files give them.

All figures are period screening practice (``strength.toml``, ``lewis_y.csv``, each with its source), in psi there and
in N/mm2 here.
"""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from calibrate.errors import InputError
from digitize.standards.tables import read_table

PSI_MPA = 4.4482216152605 / 645.16
"""N/mm2 in a psi: one pound-force over a square inch, both exact."""
FPM_MM_S = 304.8 / 60
"""mm/s in one foot a minute, exact."""


@dataclass(frozen=True)
class Material:
    """A gear material: ``family`` "metal" or "nonmetallic", safe static stress in tooth bending."""

    id: str
    name: str
    words: tuple[str, ...]
    family: str
    safe_stress_mpa: float
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class KeyRule:
    """Stresses a steel key bears, and the longest key that counts, in bores."""

    shear_mpa: float
    bearing_mpa: float
    reference_material: str
    most_length_bores: float


@dataclass(frozen=True)
class WallRule:
    """Least metal over a keyseat's corner, in whole depths: wanted, and warned about on its own."""

    wanted: float
    absolute: float


@dataclass(frozen=True)
class RimRule:
    """Rise of the bending stress over a thin rim: ``factor`` ln(``offset`` / m), m in whole depths."""

    enough: float
    factor: float
    offset: float
    least: float


@cache
def _toml() -> dict[str, Any]:
    return tomllib.loads(files("digitize.gears").joinpath("strength.toml").read_text(encoding="utf-8"))


@cache
def materials() -> tuple[Material, ...]:
    """All materials, in the order of the table."""
    return tuple(
        Material(
            row["id"],
            row["name"],
            tuple(row["words"]),
            row["family"],
            row["safe_stress_psi"] * PSI_MPA,
            row["source"],
            row["provenance"],
            row["note"],
        )
        for row in _toml()["material"]
    )


def material(words: str) -> Material:
    """The material that a person names.

    Raises
    ------
    InputError
        Where the table has none of that name, with those it has.

    Examples
    --------
    >>> material("fibre").id, material("Steel").id
    ('fibre', 'steel')
    """
    wanted = words.strip().lower()
    for row in materials():
        if wanted in (row.id, row.name.lower(), *row.words):
            return row
    known = ", ".join(row.words[0] for row in materials())
    raise InputError(f'The material "{words}" is not in the table; name one of {known}.')


@cache
def key_rule() -> KeyRule:
    """What a key bears."""
    row = _toml()["key"]
    return KeyRule(
        row["shear_psi"] * PSI_MPA, row["bearing_psi"] * PSI_MPA, row["reference_material"], row["most_length_bores"]
    )


@cache
def wall_rule() -> WallRule:
    """Least metal over a keyseat's corner."""
    row = _toml()["hub_wall"]
    return WallRule(row["whole_depths"], row["absolute_whole_depths"])


@cache
def rim_rule() -> RimRule:
    """Rise of the bending stress over a thin rim."""
    row = _toml()["rim"]
    return RimRule(row["enough_whole_depths"], row["factor"], row["offset"], row["least_whole_depths"])


@cache
def nonmetallic_keyway_mpa() -> float:
    """Bearing stress that a nonmetallic keyway stands."""
    return float(_toml()["keyway_side"]["nonmetallic_psi"]) * PSI_MPA


@cache
def usual_face_modules() -> tuple[float, float]:
    """Narrowest and widest usual face, in modules."""
    row = _toml()["face_width"]
    return row["least_modules"], row["most_modules"]


def velocity_factor(family: str, speed_mm_s: float) -> float:
    """Share of the static stress that is left at a pitch-line speed (Barth's, or the nonmetallic one).

    Examples
    --------
    >>> velocity_factor("nonmetallic", 0.0), round(velocity_factor("metal", 600 * FPM_MM_S), 3)
    (1.0, 0.5)
    """
    row = next(row for row in _toml()["velocity_factor"] if row["id"] == family)
    speed_fpm = speed_mm_s / FPM_MM_S
    return float(row["numerator"] / (row["denominator"] + speed_fpm) + row["constant"])


@cache
def lewis_table(column: str) -> tuple[tuple[float, float], ...]:
    """One column of the Lewis table as pairs of 1/teeth (0 for a rack) and form factor, fewest teeth first."""
    rows = read_table("digitize.gears", "lewis_y.csv")
    return tuple((0.0 if row["teeth"] == "rack" else 1 / int(row["teeth"]), float(row[column])) for row in rows)
