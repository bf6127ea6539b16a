"""What `part.dxf` holds, in values that the provenance and the check print can show."""

from dataclasses import dataclass
from enum import StrEnum


class OutlineKind(StrEnum):
    """What a closed outline is."""

    OUTER = "outer"
    INNER = "inner"
    CUT = "cut"
    GEAR = "gear"


@dataclass(frozen=True)
class Outline:
    """A closed outline that was written.

    ``area_mm2`` is what it encloses, in square mm of part. ``determined`` is True where the agreed dimensions and the
    relations kept leave nothing of its shape to the drawing's own lengths.
    """

    view: str | None
    kind: OutlineKind
    area_mm2: float
    determined: bool


@dataclass(frozen=True)
class PartReport:
    """What was closed, which dimensions hold exactly, what was left out and why.

    ``used`` are row ids; ``left_out`` pairs of row id and reason; ``contradicting`` are the
    agreed ones among them that can't hold beside surer ones; ``notes`` are sentences on views and on the gear.
    """

    outlines: tuple[Outline, ...] = ()
    used: tuple[str, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    contradicting: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
