"""Pieces of lettering and of drawing before they are inked, in figure heights, y upwards."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from digitize.lettering.training.faces import Points

BAR = "\u2044"  # a fraction's bar or sloping stroke, for a glyph's ``char``


@dataclass(frozen=True)
class Piece:
    """Parts drawn alike: outlines filled together, or strokes of one pen (in figure heights); ``char`` if a glyph."""

    parts: tuple[Points, ...]
    filled: bool
    pen: float
    char: str = ""

    def moved(self, dx: float, dy: float) -> "Piece":
        """Shifted."""
        shift = np.array([dx, dy], np.float32)
        return replace(self, parts=tuple(p + shift for p in self.parts))


def bounds(pieces: Sequence[Piece]) -> tuple[float, float, float, float]:
    """Left, foot, right, top of all ink, pens' widths included."""
    points = np.concatenate([p for piece in pieces for p in piece.parts])
    pen = max(piece.pen for piece in pieces) / 2
    (left, foot), (right, top) = points.min(axis=0), points.max(axis=0)
    return float(left) - pen, float(foot) - pen, float(right) + pen, float(top) + pen


def parted(points: NDArray[Any], parts: Sequence[Points]) -> list[NDArray[Any]]:
    """Points of all parts in a row, given back part by part."""
    ends = itertools.accumulate(len(part) for part in parts)
    return [points[end - len(part) : end] for part, end in zip(parts, ends, strict=True)]
