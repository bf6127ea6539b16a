"""Outlines as polygons, for checks by area and by overlap."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from digitize.gears.teeth.arcs import flattened, teeth_in_arcs
from digitize.gears.teeth.tooth import GearSpec


@dataclass(frozen=True)
class Polygon:
    """Points, shape (M, 2), how far the exact curve may lie from them, and the area that it encloses."""

    points: NDArray[np.float64]
    chord_error_mm: float
    area_mm2: float


@lru_cache(maxsize=64)
def outline(gear: GearSpec, chord_error_mm: float = 0.001) -> Polygon:
    """The outline as written to a drawing, its arcs cut into chords, which have most of the error."""
    arcs = teeth_in_arcs(gear, 0.2 * chord_error_mm)
    return Polygon(flattened(arcs, 0.8 * chord_error_mm), chord_error_mm, arcs.area_mm2)
