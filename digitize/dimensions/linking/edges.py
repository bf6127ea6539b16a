"""Which measured lengths share a drawn edge: one drawn off its place puts all lengths off that are taken from it."""

from collections.abc import Sequence

from digitize.dimensions.linking.entries import Entry
from digitize.dimensions.table import Measured
from digitize.lettering.text import Kind

SAME_EDGE_MM = 0.15
"""Ends no further apart than this, in mm of paper, lie on one edge: lines are drawn no closer (common practice)."""
LEVEL_COS2 = 0.999
"""Cosine of twice the angle of a length that is level or upright."""

Ends = tuple[int, int]


class Edges:
    """Numbers of drawn edges, handed out as they are met."""

    def __init__(self, mm_per_px: float) -> None:
        self.mm_per_px = mm_per_px
        self.known: dict[tuple[object, ...], list[tuple[float, int]]] = {}
        self.count = 0

    def number(self, key: tuple[object, ...], at_mm: float) -> int:
        """Number of the edge at a place, among those of one view and direction."""
        own = self.known.setdefault(key, [])
        near = [(abs(at_mm - place), number) for place, number in own if abs(at_mm - place) <= SAME_EDGE_MM]
        if near:
            return min(near)[1]
        own.append((at_mm, self.count))
        self.count += 1
        return self.count - 1

    def of(self, measured: Measured, view: str | None) -> Ends | None:
        """The two edges that a length lies between; None where it shares none with any other."""
        if measured.kind is Kind.RADIUS or (measured.kind is Kind.DIAMETER and not measured.lines):
            circle = (view, "circle", measured.arcs)
            return (self.number(circle, 0.0), self.number(circle, 1.0)) if measured.arcs else None
        (x0, y0), (x1, y1) = measured.first, measured.second
        dx, dy = x1 - x0, y1 - y0
        if measured.kind not in (Kind.LINEAR, Kind.DIAMETER) or dx == dy == 0.0:
            return None
        cos2 = (dx * dx - dy * dy) / (dx * dx + dy * dy)
        if abs(cos2) < LEVEL_COS2:
            return None
        low, high = sorted((x0, x1) if cos2 > 0 else (y0, y1))
        across = (view, "across" if cos2 > 0 else "up")
        return self.number(across, low * self.mm_per_px), self.number(across, high * self.mm_per_px)


def edges_of(entries: Sequence[Entry], mm_per_px: float) -> tuple[Ends | None, ...]:
    """The two edges of each entry's measured length, by number.

    Parameters
    ----------
    entries : sequence of Entry
    mm_per_px : float
        Paper millimetres per level pixel.

    Returns
    -------
    tuple of (int, int) or None
        One an entry; the edge of the lower coordinate first.
    """
    edges = Edges(mm_per_px)
    return tuple(None if entry.measured is None else edges.of(entry.measured, entry.view) for entry in entries)
