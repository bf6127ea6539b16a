"""Where a drawing of the inspection sheet grows: lines and words in millimetres of paper, y up."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import ceil, hypot, pi

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Xy = tuple[float, float]

OUTLINE_ERROR_MM = 0.01
"""Of paper: finer than any printer."""
PEN_MM, THIN_MM = 0.35, 0.18
"""Widths of outlines and of everything else (ISO 128-2: two to one)."""
TEXT_MM = 2.6
ARROW_MM = 2.2
"""Length of an arrowhead; a third as broad."""


@dataclass(frozen=True)
class Stroke:
    """A line through points; ``filled`` closes and blackens it."""

    points: tuple[Xy, ...]
    width_mm: float = THIN_MM
    closed: bool = False
    filled: bool = False
    dashed: bool = False


@dataclass(frozen=True)
class Label:
    """Words whose foot stands at (x, y); ``anchor`` is start, middle or end."""

    text: str
    x: float
    y: float
    anchor: str = "middle"
    bold: bool = False


@dataclass(frozen=True)
class Drawing:
    """A drawing in a box of paper, lower left corner at the origin."""

    caption: str
    width_mm: float
    height_mm: float
    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...]


@dataclass
class Board:
    """Where a drawing grows: part millimetres go in, paper millimetres are kept."""

    width_mm: float
    height_mm: float
    scale: float
    origin: Xy
    strokes: list[Stroke] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)

    def at(self, x_mm: float, y_mm: float) -> Xy:
        """Paper place of a place on the part."""
        return self.origin[0] + self.scale * x_mm, self.origin[1] + self.scale * y_mm

    def line(self, points: Floats | Sequence[Xy], **style: object) -> None:
        """A line through places on the part."""
        placed = tuple(self.at(float(x), float(y)) for x, y in points)
        self.strokes.append(replace(Stroke(placed), **style))  # type: ignore[arg-type]

    def circle(self, centre: Xy, radius_mm: float, **style: object) -> None:
        """A circle on the part."""
        count = max(24, ceil(pi / np.arccos(max(0.0, 1 - OUTLINE_ERROR_MM / max(self.scale * radius_mm, 0.02)))))
        turns = 2 * pi * np.arange(count) / count
        points = np.column_stack([centre[0] + radius_mm * np.cos(turns), centre[1] + radius_mm * np.sin(turns)])
        self.line(points, closed=True, **style)

    def measure(self, first: Xy, last: Xy, text: str, side: float = 1.0) -> None:
        """A dimension line between two places of the part, the words beside its middle."""
        (x0, y0), (x1, y1) = self.at(*first), self.at(*last)
        length = hypot(x1 - x0, y1 - y0)
        self.strokes.append(Stroke(((x0, y0), (x1, y1))))
        if length > 0:
            ux, uy = (x1 - x0) / length, (y1 - y0) / length
            inward = 1.0 if length > 3 * ARROW_MM else -1.0
            self._arrow((x0, y0), inward * ux, inward * uy)
            self._arrow((x1, y1), -inward * ux, -inward * uy)
        steep = abs(y1 - y0) > abs(x1 - x0)
        gap = side * (1.2 if steep else 0.9)
        anchor = ("start" if side > 0 else "end") if steep else "middle"
        below = 0.0 if side > 0 else TEXT_MM * 0.8
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        place = (x + gap, y - TEXT_MM / 3) if steep else (x, y + gap - below)
        self.labels.append(Label(text, *place, anchor))

    def _arrow(self, tip: Xy, ux: float, uy: float) -> None:
        back = tip[0] + ARROW_MM * ux, tip[1] + ARROW_MM * uy
        half = ARROW_MM / 6
        ends = ((back[0] - half * uy, back[1] + half * ux), (back[0] + half * uy, back[1] - half * ux))
        self.strokes.append(Stroke((tip, *ends), THIN_MM, closed=True, filled=True))

    def word(self, text: str, x_mm: float, y_mm: float, anchor: str = "middle", bold: bool = False) -> None:
        """Words at a place on the part."""
        self.labels.append(Label(text, *self.at(x_mm, y_mm), anchor, bold))

    def done(self, caption: str) -> Drawing:
        """The finished drawing, its scale in the caption."""
        ratio = f"{self.scale:g}:1" if self.scale >= 1 else f"1:{1 / self.scale:g}"
        return Drawing(f"{caption}, {ratio}", self.width_mm, self.height_mm, tuple(self.strokes), tuple(self.labels))
