"""Stations of a sheet's true strokes, and what is known of them (see `told`)."""

import math
from dataclasses import dataclass, field

import numpy as np
import shapely

from calibrate.sheet import FloatArray
from tests.bench.records import Record

SAME_MM = 0.02  # of paper: ends of figures and strokes nearer to each other are one place
STEP_DEG = 2.0  # chords in which an arc is laid for finding what bounds a view
RIGID = 1e-6
Key = tuple[str, str, float]
"""View, "x", "y" or what the radius is about, and the place in mm of paper, in tenths of a micron."""


@dataclass
class Knowns:
    """Unknowns by key, and relations between them: sums of factor times unknown that are known."""

    unknowns: dict[Key, int] = field(default_factory=dict)
    relations: list[dict[int, float]] = field(default_factory=list)

    def at(self, view: str, what: str, place: float) -> int:
        """The unknown of a station."""
        return self.unknowns.setdefault((view, what, round(place, 4)), len(self.unknowns))

    def near(self, view: str, what: str, place: float, slack: float = SAME_MM) -> int | None:
        """The station nearest to a place, where it is no further than that."""
        mine = ((abs(key[2] - place), number) for key, number in self.unknowns.items() if key[:2] == (view, what))
        off, number = min(mine, default=(math.inf, -1))
        return number if off <= slack else None

    def stations(self, view: str, what: str) -> dict[float, int]:
        """The stations of a view along an axis."""
        return {key[2]: number for key, number in self.unknowns.items() if key[:2] == (view, what)}

    def say(self, terms: dict[int, float]) -> None:
        """That a sum of unknowns is known."""
        self.relations.append(terms)

    def free(self) -> FloatArray:
        """Ways in which the unknowns can still move, as columns."""
        if not self.relations:
            return np.eye(len(self.unknowns))
        matrix = np.zeros((len(self.relations), len(self.unknowns)))
        for row, terms in enumerate(self.relations):
            for unknown, factor in terms.items():
                matrix[row, unknown] += factor
        _, sizes, ways = np.linalg.svd(matrix)
        return np.asarray(ways[int((sizes > RIGID).sum()) :].T, dtype=np.float64)


def stations_of(knowns: Knowns, view: str, stroke: Record) -> dict[str, set[int]]:
    """What a stroke's place hangs on: of a level or upright line its height or its place across alone."""
    if stroke["type"] == "arc":
        x, y = stroke["centre"]
        return {"x": {knowns.at(view, "x", x)}, "y": {knowns.at(view, "y", y)}, "r": {radius_of(knowns, view, stroke)}}
    (x0, y0), (x1, y1) = stroke["p0"], stroke["p1"]
    xs, ys = ({knowns.at(view, what, a), knowns.at(view, what, b)} for what, a, b in (("x", x0, x1), ("y", y0, y1)))
    if len(ys) == 1:
        return {"x": set(), "y": ys, "r": set()}
    return {"x": xs, "y": ys if len(xs) > 1 else set(), "r": set()}


def radius_of(knowns: Knowns, view: str, arc: Record) -> int:
    """The unknown of an arc's radius."""
    x, y = arc["centre"]
    return knowns.at(view, f"r {x:.4f} {y:.4f}", arc["radius"])


def laid(stroke: Record) -> shapely.LineString:
    """A stroke as it lies, an arc in chords."""
    if stroke["type"] == "line":
        return shapely.LineString([stroke["p0"], stroke["p1"]])
    count = max(2, math.ceil(abs(stroke["sweep_deg"]) / STEP_DEG) + 1)
    turns = np.radians(stroke["start_deg"] + np.linspace(0.0, stroke["sweep_deg"], count))
    points = np.array(stroke["centre"]) + stroke["radius"] * np.column_stack([np.cos(turns), np.sin(turns)])
    return shapely.LineString(points)
