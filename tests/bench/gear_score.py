"""The gear claimed against the gear drawn."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.bench.records import Case, Record

SYSTEMS = Path(__file__).parents[2] / "digitize" / "gears" / "systems.toml"
SAME_PITCH = 0.002  # relative
SAME_ANGLE_DEG = 0.01


@dataclass(frozen=True)
class SheetGear:
    """What a sheet's gear came to."""

    decidable: int = 0
    exact: int = 0
    exact_agreed: int = 0
    claims: int = 0
    false_claims: tuple[str, ...] = ()


@cache
def _systems() -> dict[str, Record]:
    return {s["id"]: s for s in tomllib.loads(SYSTEMS.read_text(encoding="utf-8"))["system"]}


def same_system(first: str, second: str) -> bool:
    """Whether two keys name teeth of one shape: same unit, pressure angle, addendum and dedendum."""
    if first == second:
        return True
    table = _systems()
    if first not in table or second not in table:
        return False
    keys = ("unit", "pressure_angle_deg", "addendum", "dedendum", "kind")
    return all(table[first].get(k) == table[second].get(k) for k in keys)


def _right(truth: Record, claim: Record) -> bool:
    if claim.get("teeth") != truth["teeth"] or claim.get("system") is None or claim.get("module_mm") is None:
        return False
    pitch = abs(claim["module_mm"] / truth["module_mm"] - 1) <= SAME_PITCH
    angle = claim.get("pressure_angle_deg") is not None
    angle = angle and abs(claim["pressure_angle_deg"] - truth["pressure_angle_deg"]) <= SAME_ANGLE_DEG
    return bool(pitch and angle and same_system(claim["system"], truth["system"]))


def score_gear(case: Case) -> SheetGear:
    """Judge one sheet's gear."""
    truth, claim = case.truth["gear"], (case.table or {}).get("gear")
    agreed = bool(claim and claim["status"] == "agreed")
    right = bool(truth and claim and _right(truth, claim))
    wrong = (f"{case.name}: {claim}",) if agreed and not right else ()
    decidable = bool(truth and truth["decidable"])
    return SheetGear(int(decidable), int(decidable and right), int(decidable and right and agreed), int(agreed), wrong)
