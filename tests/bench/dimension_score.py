"""Dimensions against truth: found, right, believed, wrongly believed, wrongly doubted."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.optimize import linear_sum_assignment
from shapely.geometry import Polygon

from tests.bench.records import Case, Record

GEOMETRIC = ("linear", "diameter", "radius", "angle", "chamfer", "thread")
MM = {"mm": 1.0, "in": 25.4}
LEAST_OVERLAP = 0.2  # intersection over union of the text boxes
NEAR_HEIGHTS = 1.5  # or centres within this many text heights
EXACT_INCH, EXACT_MM = 1 / 128, 0.05  # fractions and whole numbers are exact; half of 1/64 in tells any two apart
EXACT_ANGLE_DEG = 0.05
DEVIATION_SHARE = 0.2  # of the last place: truth files round to 1e-5, and one is a whole last place off
VALUE_WEIGHT, KIND_WEIGHT = 10.0, 3.0  # several values share one box: the pairing is the one that explains most


@dataclass(frozen=True)
class SheetDimensions:
    """Counts of one sheet. ``wrong`` names each value that was believed and is wrong."""

    true: int = 0
    claimed: int = 0
    right: int = 0
    agreed: int = 0
    agreed_all_kinds: int = 0
    agreed_right: int = 0
    wrong: tuple[str, ...] = ()
    sound: int = 0
    sound_disputed: int = 0
    traps: int = 0
    traps_caught: int = 0
    traps_disputed: int = 0
    styles: dict[str, tuple[int, int, int, int]] = field(default_factory=dict)  # true, right, agreed, believed wrong


def same_value(truth: Record, row: Record) -> bool:
    """Whether a row's value is the true one, to half of its last written place; whole numbers and fractions exactly."""
    true, value = truth["value"], row["value"]
    if true is None or value is None:
        return False
    if truth["unit"] in MM:
        value = value * MM.get(row["unit"], MM[truth["unit"]]) / MM[truth["unit"]]
    tolerance = truth.get("place", 0.001) / 2
    if truth["style"] in ("fraction", "integer", "feet"):
        tolerance = min(tolerance, EXACT_INCH if truth["unit"] == "in" else EXACT_MM)
    if truth["unit"] == "deg":
        tolerance = min(tolerance, EXACT_ANGLE_DEG)
    return bool(abs(value - true) <= tolerance * (1 + 1e-9))


def same_deviations(truth: Record, row: Record) -> bool:
    """Whether a row states the deviations that are written with the true value; of a size by limits, the other limit.

    Where the print writes none, a row may hold those of a general note.
    """
    unit = MM.get(row["unit"], 1.0) / MM.get(truth["unit"], 1.0)
    written = [(truth.get(side), row.get(side)) for side in ("upper", "lower")]
    return all(
        true is None or (value is not None and abs(value * unit - true) < DEVIATION_SHARE * truth.get("place", 0.001))
        for true, value in written
    )


def overlap(first: Any, second: Any) -> float:
    """Intersection over union of two quads, plus 0.01 for quads that only lie near; 0 for others."""
    a, b = Polygon(first).convex_hull, Polygon(second).convex_hull
    union = a.union(b).area
    share = float(a.intersection(b).area / union) if union else 0.0
    if share > LEAST_OVERLAP:
        return share
    corners = np.array(first, dtype=float)  # in reading order: a lone 1 is higher than it is wide
    near = NEAR_HEIGHTS * float(np.hypot(*(corners[3] - corners[0])) + np.hypot(*(corners[2] - corners[1]))) / 2
    apart = float(np.hypot(*(np.mean(first, axis=0) - np.mean(second, axis=0))))
    return 0.01 + share if apart <= near else 0.0


def pair(truths: list[Record], rows: list[Record]) -> list[tuple[int, int]]:
    """Which row is of which true value: boxes must overlap; values and kinds decide within a box."""
    score = np.zeros((len(truths), len(rows)))
    for i, truth in enumerate(truths):
        for j, row in enumerate(rows):
            share = overlap(truth["quad_px"], row["quad_px"])
            if share > 0:
                same = VALUE_WEIGHT * same_value(truth, row) + KIND_WEIGHT * (truth["kind"] == row["kind"])
                score[i, j] = share + same
    matched = zip(*linear_sum_assignment(-score), strict=True)
    return [(int(i), int(j)) for i, j in matched if score[i, j] > 0]


def _claims(case: Case) -> list[Record]:
    """Rows that say a value: what was read, of the kinds that are measured."""
    rows = (case.table or {}).get("dimensions", [])
    return [r for r in rows if r["value"] is not None and r["text"].strip() and r["status"] != "unread"]


def _excused(truths: list[Record]) -> set[str]:
    """Ids of sound values that a trap drags into its contradiction: its chain, its other views, its gear data."""
    excused = set()
    for trap in (t for t in truths if t["trap"]):
        for other in truths:
            chained = trap["chain"] and other["chain"] and _stem(trap["chain"]) == _stem(other["chain"])
            shared = trap["shared"] and trap["shared"] == other["shared"]
            geared = trap["trap"] == "gear" and (other["kind"] == "gear_data" or other["id"] == "OD")
            if chained or shared or geared:
                excused.add(other["id"])
    return excused


def _stem(chain: str) -> str:
    return chain.removesuffix(":sum")


def _believed_wrong(row: Record, truths: list[Record]) -> bool:
    """Whether an agreed value is that of nothing lettered in its place, or bears other deviations."""
    here = [t for t in truths if overlap(t["quad_px"], row["quad_px"]) > 0]
    counts = [t for t in here if t.get("count") and row["kind"] == "count" and row["value"] == t["count"]]
    return not counts and not any(same_value(t, row) and same_deviations(t, row) for t in here)


def score_dimensions(case: Case) -> SheetDimensions:
    """Count one sheet."""
    everything: list[Record] = case.truth["dimensions"]
    truths = [t for t in everything if t["kind"] in GEOMETRIC]
    rows = _claims(case)
    measured = [r for r in rows if r["kind"] in GEOMETRIC]
    pairs = pair(truths, measured)
    right = [
        (i, j) for i, j in pairs if truths[i]["kind"] == measured[j]["kind"] and same_value(truths[i], measured[j])
    ]
    agreed = [r for r in rows if r["status"] == "agreed"]
    wrong = [r for r in agreed if _believed_wrong(r, everything)]
    status = {truths[i]["id"]: measured[j]["status"] for i, j in pairs}
    excused = _excused(everything)
    sound = [t for t in truths if not t["trap"] and t["id"] not in excused]
    traps = [t for t in everything if t["trap"]]
    states = {**status, **_other_states(everything, rows)}
    return SheetDimensions(
        true=len(truths), claimed=len(measured), right=len(right),
        agreed=sum(r["kind"] in GEOMETRIC for r in agreed), agreed_all_kinds=len(agreed),
        agreed_right=sum(measured[j]["status"] == "agreed" for _, j in right),
        wrong=tuple(f"{case.name} {r['id']}: {r['text']!r} = {r['value']}" for r in wrong),
        sound=len(sound), sound_disputed=sum(status.get(t["id"]) == "disputed" for t in sound),
        traps=len(traps), traps_caught=sum(states.get(t["id"]) != "agreed" for t in traps),
        traps_disputed=sum(states.get(t["id"]) == "disputed" for t in traps),
        styles=_styles(truths, measured, pairs, right, wrong),
    )  # fmt: skip


def _other_states(everything: list[Record], rows: list[Record]) -> dict[str, str]:
    """States of gear data, matched among themselves."""
    truths = [t for t in everything if t["kind"] == "gear_data"]
    others = [r for r in rows if r["kind"] == "gear_data"]
    return {truths[i]["id"]: others[j]["status"] for i, j in pair(truths, others)}


def _styles(
    truths: list[Record],
    rows: list[Record],
    pairs: list[tuple[int, int]],
    right: list[tuple[int, int]],
    wrong: list[Record],
) -> dict[str, tuple[int, int, int, int]]:
    """True, right, agreed and believed-wrong values of each style of figure."""
    style_of = {id(rows[j]): truths[i]["style"] for i, j in pairs}
    names = {t["style"] for t in truths} | {style_of.get(id(r), "unmatched") for r in wrong}
    return {
        name: (
            sum(t["style"] == name for t in truths),
            sum(truths[i]["style"] == name for i, _ in right),
            sum(truths[i]["style"] == name and rows[j]["status"] == "agreed" for i, j in pairs),
            sum(style_of.get(id(r), "unmatched") == name for r in wrong),
        )
        for name in sorted(names)
    }
