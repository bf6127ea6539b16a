"""What `part.dxf` holds, in values that the provenance and the check print can show."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from digitize.report.frame import Frame
from digitize.report.wording import INTERVAL_95

GAP_REACH_MM = 5.0
"""Of paper: open ends no further apart are the two sides of one gap, or of one spot that a person looks at."""


def gaps(ends: Sequence[tuple[float, float]], reach: float) -> list[tuple[float, float]]:
    """Where to mark open ends: each by itself, or in the middle of it and those within reach.

    Examples
    --------
    >>> gaps([(0.0, 0.0), (9.0, 0.0), (2.0, 0.0)], 5.0)
    [(1.0, 0.0), (9.0, 0.0)]
    """
    left, marked = list(ends), []
    while left:
        spot = [each for each in left if math.dist(left[0], each) <= reach]
        left = [each for each in left if each not in spot]
        marked.append((sum(x for x, _ in spot) / len(spot), sum(y for _, y in spot) / len(spot)))
    return marked


class OutlineKind(StrEnum):
    """What a closed outline is; a partial one lies within no other, and the part goes on outside it."""

    OUTER = "outer"
    PARTIAL = "partial"
    INNER = "inner"
    CUT = "cut"
    GEAR = "gear"


@dataclass(frozen=True)
class Outline:
    """A closed outline that was written.

    ``area_mm2`` is what it encloses, in square mm of part. ``determined`` is True where the agreed dimensions and the
    relations kept leave nothing of its shape to the drawing's own lengths; where they leave some, the area's standard
    error for those is ``area_std_mm2``.
    """

    view: str | None
    kind: OutlineKind
    area_mm2: float
    determined: bool
    area_std_mm2: float = 0.0

    @property
    def settled(self) -> bool:
        """Whether it is known how far the area may be off: not where edges of the outline itself are in doubt."""
        return self.determined or self.area_std_mm2 > 0

    @property
    def off_percent(self) -> float:
        """By how much of itself the area may be off (95 %) for lengths that are scaled from the print."""
        return 100 * INTERVAL_95 * self.area_std_mm2 / self.area_mm2 if self.area_mm2 else 0.0


@dataclass(frozen=True)
class PlacedView:
    """A view that is redrawn: the frame from level pixels to the part mm that `part.dxf` has it in, by which its lines
    cover the print's best, and whether its scale is proven."""

    name: str
    frame: Frame
    proven: bool


@dataclass(frozen=True)
class OpenEnd:
    """Where an outline does not close: in part mm as `part.dxf` has it, and in level pixels."""

    view: str | None
    at_mm: tuple[float, float]
    at_px: tuple[float, float]


@dataclass(frozen=True)
class PartReport:
    """What was closed, which dimensions hold exactly, what was left out and why.

    ``used`` are row ids; ``left_out`` pairs of row id and reason; ``contradicting`` are the
    agreed ones among them that can't hold beside surer ones; ``in_excess`` those that only repeat what surer ones say.
    ``freedom`` has each view's degrees of freedom that are left to the drawing's own lengths; ``open_ends`` the places
    where outlines do not close; ``notes`` are sentences on views and on the gear; ``views`` those that are redrawn.
    """

    outlines: tuple[Outline, ...] = ()
    used: tuple[str, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    contradicting: tuple[str, ...] = ()
    in_excess: tuple[str, ...] = ()
    freedom: tuple[tuple[str | None, int], ...] = ()
    open_ends: tuple[OpenEnd, ...] = ()
    notes: tuple[str, ...] = ()
    views: tuple[PlacedView, ...] = ()
