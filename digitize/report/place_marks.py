"""Marks of places on the check print where something is missing: paths in a colour of their own, words beside them."""

from collections.abc import Sequence
from dataclasses import dataclass

from calibrate.sheet import FloatArray


@dataclass(frozen=True)
class PlaceMark:
    """A mark of one place; lengths are level pixels.

    Attributes
    ----------
    paths : tuple of ndarray, float64, shape (N, 2)
    pen_px : float
    words : str
        They begin at ``text_at``, in letters of ``height_px``; may be empty.
    text_at : (float, float)
    height_px : float
    colour : str
        As ``#rrggbb``.
    meaning : str
        What the mark says, for the legend.
    """

    paths: tuple[FloatArray, ...]
    pen_px: float
    words: str
    text_at: tuple[float, float]
    height_px: float
    colour: str
    meaning: str


def counted_meanings(marks: Sequence[PlaceMark]) -> list[tuple[str, int]]:
    """What each kind of mark on a sheet means, and how many there are."""
    kinds = dict.fromkeys(mark.meaning for mark in marks)
    return [(kind, sum(mark.meaning == kind for mark in marks)) for kind in kinds]
