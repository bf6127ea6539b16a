"""The gear claimed against the gear drawn.

A tooth is what is judged, not a name. Two standards may give one tooth to the micron (4 P of the 20 deg stub system and
4/5 P of the two-number one; DIN 867, ISO 53 A and JIS B 1701): a cutter knows no difference, and a print that does not
write the name cannot tell it. So a claim counts as right where each name it lists gives the true tooth at the claimed
pitch, and the name that was drawn is among them. A list with one name too many is wrong like any other claim. How often
another of the names was put first is counted beside it.
"""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.bench.records import Case, Record

SYSTEMS = Path(__file__).parents[2] / "digitize" / "gears" / "systems.toml"
SAME_PITCH = 0.002  # relative
SAME_ANGLE_DEG = 0.01
SAME_HEIGHT_MM = 0.001
INCH_MM = 25.4


@dataclass(frozen=True)
class SheetGear:
    """What a sheet's gear came to.

    ``other_name`` where the right tooth was first called by another of its names; of sheets that can't decide,
    ``listed`` where nothing is agreed and the true gear is among what is left.
    """

    decidable: int = 0
    exact: int = 0
    exact_agreed: int = 0
    claims: int = 0
    other_name: int = 0
    undecided: int = 0
    listed: int = 0
    false_claims: tuple[str, ...] = ()


@cache
def _table() -> Record:
    return tomllib.loads(SYSTEMS.read_text(encoding="utf-8"))


def tooth(system: str, module_mm: float) -> tuple[float, float, float | None, str] | None:
    """Addendum and dedendum in mm, pressure angle and form of a system's tooth at a pitch; None where it has none."""
    row = next((row for row in _table()["system"] if row["id"] == system), None)
    if row is None:
        return None
    unit_mm = module_mm
    if row["unit"] == "1/P2":
        pairs = (
            pair for pair in _table()["two_number_pair"] if abs(INCH_MM / pair["p1"] - module_mm) < 1e-6 * module_mm
        )
        pair = next(pairs, None)
        if pair is None:
            return None
        unit_mm = INCH_MM / pair["p2"]
    dedendum_mm = row["dedendum"] * unit_mm + row.get("dedendum_const_in", 0.0) * INCH_MM
    return row["addendum"] * unit_mm, dedendum_mm, row.get("pressure_angle_deg"), row.get("form", "involute")


def same_tooth(first: str, second: str, module_mm: float) -> bool:
    """Whether two systems give one tooth at a pitch: form, pressure angle, and heights to the micron."""
    one, other = tooth(first, module_mm), tooth(second, module_mm)
    if one is None or other is None:
        return first == second
    return one[2:] == other[2:] and all(abs(a - b) <= SAME_HEIGHT_MM for a, b in zip(one[:2], other[:2], strict=True))


def _names(claim: Record) -> list[str]:
    return claim.get("names") or [name for name in (claim.get("system"),) if name is not None]


def _right(truth: Record, claim: Record) -> bool:
    names, angle = _names(claim), claim.get("pressure_angle_deg")
    if claim.get("teeth") != truth["teeth"] or not names or claim.get("module_mm") is None or angle is None:
        return False
    pitch = abs(claim["module_mm"] / truth["module_mm"] - 1) <= SAME_PITCH
    angled = abs(angle - truth["pressure_angle_deg"]) <= SAME_ANGLE_DEG
    named = truth["system"] in names and all(same_tooth(name, truth["system"], truth["module_mm"]) for name in names)
    return bool(pitch and angled and named)


def _listed(truth: Record, claim: Record) -> bool:
    """Whether the true gear is among the alternatives, or is what is stated."""
    true = truth["teeth"], truth["system"]
    return _right(truth, claim) or any(
        (each["teeth"], each["system"]) == true and abs(each["module_mm"] / truth["module_mm"] - 1) <= SAME_PITCH
        for each in claim["alternatives"]
    )


def score_gear(case: Case) -> SheetGear:
    """Judge one sheet's gear."""
    truth, claim = case.truth["gear"], (case.table or {}).get("gear")
    agreed = bool(claim and claim["status"] == "agreed")
    right = bool(truth and claim and _right(truth, claim))
    wrong = (f"{case.name}: {claim}",) if agreed and not right else ()
    decidable = bool(truth and truth["decidable"])
    # A sheet whose gear data contradict each other is a trap of its own: it is to be disputed, not listed.
    undecided = bool(truth and not truth["decidable"] and case.truth.get("trap") != "gear")
    return SheetGear(
        decidable=int(decidable),
        exact=int(decidable and right),
        exact_agreed=int(decidable and right and agreed),
        claims=int(agreed),
        other_name=int(right and agreed and _names(claim)[0] != truth["system"]),
        undecided=int(undecided),
        listed=int(undecided and bool(claim) and not agreed and _listed(truth, claim)),
        false_claims=wrong,
    )
