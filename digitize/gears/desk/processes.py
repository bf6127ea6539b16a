"""Usual allowances by how a gear is made, and the places where its run-out is looked at."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from calibrate.errors import InputError
from digitize.gears.teeth.tooth import GearSpec


@dataclass(frozen=True)
class Process:
    """A way of making a gear: what it usually takes off the tooth's thickness, and what run-out it usually leaves."""

    id: str
    thinning_modules: tuple[float, float]
    thinning_least_mm: tuple[float, float]
    run_out_mm: float
    run_out_per_mm: float
    bore_mm: tuple[float, float]
    note: str

    def thinning_mm(self, gear: GearSpec) -> tuple[float, float]:
        """Least and most usually taken off the thickness at the pitch circle.

        Where the gear has a backlash of its own, the usual spread lies about that.
        """
        pairs = zip(self.thinning_modules, self.thinning_least_mm, strict=True)
        low, high = (max(share * gear.module_mm, least) for share, least in pairs)
        if gear.thinning_mm:
            spread = (high - low) / 2
            return max(0.0, gear.thinning_mm - spread), gear.thinning_mm + spread
        return low, high

    def run_out_limit_mm(self, gear: GearSpec) -> float:
        """Usual limit of the highest less the lowest reading."""
        return self.run_out_mm + 2 * self.run_out_per_mm * gear.tip_radius_mm


@dataclass(frozen=True)
class Place:
    """Where run-out is looked at; ``letter`` marks it on the sheet."""

    letter: str
    where: str
    how: str


@cache
def _toml() -> dict[str, Any]:
    return tomllib.loads(files("digitize.gears").joinpath("processes.toml").read_text(encoding="utf-8"))


def process(name: str) -> Process:
    """The process of a name.

    Raises
    ------
    InputError
        Where there is none.

    Examples
    --------
    >>> process("printed").thinning_mm(GearSpec(30, 2.0, 20.0))
    (0.1, 0.2)
    """
    for row in _toml()["process"]:
        if name.strip().lower() == row["id"]:
            low, high = row["thinning_modules"]
            least_low, least_high = row["thinning_least_mm"]
            bore_low, bore_high = row["bore_mm"]
            return Process(
                row["id"],
                (low, high),
                (least_low, least_high),
                row["run_out_mm"],
                row["run_out_per_mm"],
                (bore_low, bore_high),
                row["note"],
            )
    known = ", ".join(row["id"] for row in _toml()["process"])
    raise InputError(f'The process "{name}" is unknown; it is one of {known}.')


@cache
def places() -> tuple[Place, ...]:
    """Places where run-out is looked at."""
    return tuple(Place(row["letter"], row["where"], row["how"]) for row in _toml()["place"])
