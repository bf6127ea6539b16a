"""What a part's design hands to the drawing board, and the shop proportions all families share."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from samples.board import Board, Box, View
from samples.notation import Figure, Notation
from samples.truth import GearTruth

Rng = np.random.Generator
Pen = Callable[[Board, View], None]


@dataclass(frozen=True)
class ViewPlan:
    """A view to draw: its outline's extent in part units, room for dimensions in mm, and the two passes over it.

    ``enlarge`` is the factor on the sheet's scale (2 for a detail at twice the size); ``off_scale`` another one, for a
    view marked as not to scale. ``title`` is lettered under the view.
    """

    id: str
    extent: Box
    margins: Box
    outline: Pen
    dimensions: Pen
    enlarge: float = 1.0
    title: str = ""
    off_scale: float = 1.0

    @property
    def size(self) -> float:
        """Factor on the sheet's scale, wanted or not."""
        return self.enlarge * self.off_scale


@dataclass(frozen=True)
class TableRow:
    """One row of a gear-data block: label, figure."""

    key: str
    label: str
    figure: Figure


@dataclass(frozen=True)
class PartPlan:
    """A part ready to be drawn: views from left to right, its table, notes with their keys, gear.

    ``areas`` are in mm2, of the metal that a view shows or cuts above its axis; ``outlines`` of all within the outer
    outline of a view, sizes with two limits in their middle.
    """

    family: str
    title: str
    notation: Notation
    views: tuple[ViewPlan, ...]
    rows: tuple[TableRow, ...] = ()
    notes: tuple[tuple[str, Figure], ...] = ()
    gear: GearTruth | None = None
    areas: tuple[tuple[str, float], ...] = ()
    outlines: tuple[tuple[str, float], ...] = ()
    material: str = "STEEL"


@cache
def _table(name: str) -> list[Any]:
    data = tomllib.loads(Path(__file__).with_name("proportions.toml").read_text(encoding="utf-8"))
    return list(data[name][0]["rows"])


def exact(text: str) -> Fraction:
    """Value of "1 3/8", "3/8", "2.5" or "7".

    Examples
    --------
    >>> exact("1 3/8")
    Fraction(11, 8)
    """
    return sum((Fraction(part) for part in text.split()), Fraction(0))


def key_inch(shaft: Fraction) -> Fraction:
    """Width of the square key for a shaft, in inches."""
    fitting = [exact(w) for low, high, w in _table("key_inch") if low < shaft <= high]
    return fitting[0] if fitting else exact("3/4") if shaft > 3 else exact("3/32")


def key_metric(shaft: Fraction) -> tuple[Fraction, Fraction, Fraction]:
    """Width of a parallel key, its depth in the shaft and in the hub, in mm."""
    rows = _table("key_metric")
    row = next((r for r in rows if r[0] < shaft <= r[1]), rows[-1] if shaft > rows[-1][1] else rows[0])
    return Fraction(row[2]), exact(row[3]), exact(row[4])


def threads(unit: str) -> list[tuple[Fraction, str]]:
    """Major diameters in the unit, with threads per inch or pitch as text."""
    return [(exact(d), str(p)) for d, p in _table("thread_inch" if unit == "in" else "thread_metric")]


def drills(unit: str) -> list[Fraction]:
    """Clearance drills in the unit."""
    return [exact(d) for d in _table("drill_inch" if unit == "in" else "drill_metric")]


def pick(rng: Rng, choices: Any) -> Any:
    """One of a sequence, each as likely."""
    return choices[int(rng.integers(len(choices)))]


def stepped(rng: Rng, low: float, high: float, step: Fraction) -> Fraction:
    """A random multiple of a step between two bounds."""
    first, last = int(np.ceil(low / float(step))), int(np.floor(high / float(step)))
    return int(rng.integers(first, max(first, last) + 1)) * step


def any_angle(rng: Rng, low_deg: float, high_deg: float) -> Fraction:
    """An angle as parts have them: mostly of whole degrees, often of five, sometimes with a half."""
    step = pick(rng, (Fraction(5), Fraction(1), Fraction(1), Fraction(1, 2)))
    return stepped(rng, low_deg, high_deg, step)


def nearest(value: float, step: Fraction) -> Fraction:
    """The nearest multiple of a step, at least one step."""
    return max(1, round(value / float(step))) * step
