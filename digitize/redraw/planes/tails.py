"""Lettering that stands on an edge and was taken for edges: its strokes end in the open, and an outline ties itself up
in them.

Glossary
--------
tail
    A short stroke that ends in the open: an edge of the part comes to another at both ends.
"""

from collections import Counter
from collections.abc import Sequence

from shapely import Polygon

from digitize.redraw.planes import outline
from digitize.redraw.planes.plane import LOOSE, Plane, graph
from digitize.redraw.planes.plane_strokes import GAP_MM, Pen, Stroke

TAIL_MM = 7.0  # of paper: a letter is no taller, and its strokes no longer


def untied(drawn: Plane, pen: Pen) -> Plane:
    """A graph without its tails where they keep one outline from closing round all that closes with them; else as it
    is."""
    before = _outers(drawn, pen)
    if len(before) == 1:
        return drawn
    bare = _without_tails(drawn, pen)
    after = _outers(bare, pen) if len(bare.strokes) < len(drawn.strokes) else []
    closes = len(after) == 1 and all(after[0].buffer(GAP_MM * pen.paper_mm).covers(each) for each in before)
    return bare if closes else drawn


def _outers(drawn: Plane, pen: Pen) -> list[Polygon]:
    return [outline.ring_polygon(drawn, ring) for ring in outline.rings(drawn, pen.paper_mm) if ring.within is None]


def _without_tails(drawn: Plane, pen: Pen) -> Plane:
    """Drop tails, and what ends in the open once they are gone."""
    while tails := _tails(drawn, TAIL_MM * pen.paper_mm):
        kept: Sequence[Stroke] = [each for index, each in enumerate(drawn.strokes) if index not in tails]
        drawn = graph(kept, drawn.levels, pen)
    return drawn


def _tails(drawn: Plane, longest: float) -> set[int]:
    degree = Counter(end for piece in drawn.pieces for end in (piece.first, piece.last))
    dangling = {p.stroke for p in drawn.pieces if p.first != LOOSE and min(degree[p.first], degree[p.last]) == 1}
    return {index for index in dangling if drawn.strokes[index].length <= longest}
