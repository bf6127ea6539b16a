"""Drawn sizes scaled from the print, and whether a figure gives one."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from digitize.dimensions.reasons import Reason
from digitize.dimensions.table import Dimension, Lacking, ViewScale
from digitize.dimensions.witnesses.weighing import LEAST_PEN_MM
from digitize.lettering.text import Kind, Unit
from digitize.strokes.primitives import Point, Strokes

MM_PER_INCH = Fraction(254, 10)
SAME_Z = 4.0
"""A figure gives a drawn size when it is within this many standard errors of it ..."""
SAME_SHARE = 0.01
"""... or within this share: how exactly the pen drew it is not known that well."""
LEAST_EDGE_MM = 3.0
"""Shorter strokes, in mm of paper, may be no edges: they bound no view and end no rounding."""
MEETS_MM = 0.5
"""An edge ends on a rounding, or lies along the side of a view, when it is this near, in mm of paper."""


@dataclass(frozen=True)
class Drawing:
    """What the search leans on: strokes, the rows that say a size, scales by view, the unit, paper mm per pixel."""

    strokes: Strokes
    rows: tuple[Dimension, ...]
    scales: Mapping[str, ViewScale]
    unit: Unit
    mm_per_px: float

    def given_mm(self) -> Iterator[float]:
        """Every length that a figure gives, in mm; a radius also as the diameter, and the other way."""
        for row in self.rows:
            size = length_mm(row, self.unit)
            if size is not None:
                yield float(size)
                if row.kind in (Kind.RADIUS, Kind.DIAMETER):
                    yield float(size) * (2.0 if row.kind is Kind.RADIUS else 0.5)

    def is_given(self, size_mm: float, std_mm: float) -> bool:
        """Does a figure give this size?"""
        slack = max(SAME_Z * std_mm, SAME_SHARE * size_mm)
        return any(abs(given - size_mm) < slack for given in self.given_mm())


def length_mm(row: Dimension, sheet_unit: Unit) -> Fraction | None:
    """The length that a row gives in mm; None for what is no length."""
    unit = sheet_unit if row.unit is Unit.UNMARKED else row.unit
    if row.value is None or unit not in (Unit.INCH, Unit.MM):
        return None
    return row.value * MM_PER_INCH if unit is Unit.INCH else row.value


def error_mm(size_mm: float, scale: ViewScale, pen_share: float) -> float:
    """Standard error of a size scaled from the print: the pen's, and the scale's."""
    relative = max(scale.x_std / scale.x_mm_per_px, scale.y_std / scale.y_mm_per_px)
    pen_mm = max(scale.pen_std_mm, LEAST_PEN_MM)
    return math.hypot(pen_share * pen_mm * scale.part_per_paper, relative * size_mm)


def as_lacking(what: str, view: str, size_mm: float, std_mm: float, ends: tuple[Point, Point], unit: Unit) -> Lacking:
    """A size that no figure gives, in the sheet's unit, with as many places as its error leaves."""
    per_mm = 1 / 25.4 if unit is Unit.INCH else 1.0
    size, std = size_mm * per_mm, std_mm * per_mm
    places = max(1, min(4, 1 - math.floor(math.log10(max(std, 1e-6)))))
    words = Reason.LACKING.say(
        what=what, view=view, size=f"{size:.{places}f}", std=f"{std:.{places}f}", unit=unit.value
    )
    return Lacking(what, view, size, std, unit, *ends, words)
