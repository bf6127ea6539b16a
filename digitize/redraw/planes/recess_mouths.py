"""The mouth of a recess that is closed on one side of a centre line and open on the other.

An extension line runs over the mouth to an edge beyond it, and was traced as one stroke with the edges at its ends.

Glossary
--------
mouth
    The pieces of an outline that part a face within it from the outside.
"""

from collections.abc import Sequence
from itertools import groupby

from shapely import Polygon
from shapely.affinity import scale

from digitize.redraw.planes import outline
from digitize.redraw.planes.faces import faces
from digitize.redraw.planes.outline import Ring
from digitize.redraw.planes.plane import Piece, Plane, graph
from digitize.redraw.planes.plane_strokes import GAP_MM, Pen, Straight, Stroke
from digitize.strokes.primitives import Point

LOPSIDED = 0.01  # of its area: an outline whose sides of a centre line differ by more has lost an edge or made one up
OUTSIDE = 0.9  # of a face's image, that lies outside the outline where the other side has the recess open
CentreLine = tuple[Point, Point]


def upright(line: CentreLine) -> bool:
    """Whether a line stands rather than lies."""
    (x, y), (end_x, end_y) = line
    return abs(end_x - x) < abs(end_y - y)


def reaches_alike(line: CentreLine, outer: Polygon, slack: float) -> bool:
    """Whether an outline reaches as far to one side of a centre line as to the other."""
    left, low, right, high = outer.bounds
    (x, y), _ = line
    return bool(abs((left + right) / 2 - x if upright(line) else (low + high) / 2 - y) <= slack)


def alike_about(line: CentreLine, outer: Polygon) -> bool:
    """Whether both sides of a centre line are the same."""
    return bool(outer.symmetric_difference(_image(line, outer)).area <= LOPSIDED * outer.area)


def _image(line: CentreLine, shape: Polygon) -> Polygon:
    return scale(shape, *((-1, 1) if upright(line) else (1, -1)), origin=line[0])


def mouths_opened(drawn: Plane, lines: Sequence[CentreLine], hatching: Sequence[Point], pen: Pen) -> Plane:
    """A graph without such mouths, where its outer outline is then the same on both sides; else as it is.

    Parameters
    ----------
    drawn : Plane
    lines : sequence of CentreLine
        Level and upright ones.
    hatching : sequence of Point
        Middles of the section lines: what they fill is no recess.
    pen : Pen
    """
    outer = _outer(drawn, pen)
    for line in lines if outer is not None else ():
        assert outer is not None
        shape = outline.ring_polygon(drawn, outer)
        if not reaches_alike(line, shape, GAP_MM * pen.paper_mm) or alike_about(line, shape):
            continue
        mouths = _mouths(drawn, outer, shape, line, outline.cut_faces(drawn, hatching, pen.paper_mm))
        bare = graph(_without(drawn, mouths), drawn.levels, pen) if mouths else drawn
        after = _outer(bare, pen)
        if mouths and after is not None and alike_about(line, outline.ring_polygon(bare, after)):
            return bare
    return drawn


def _outer(drawn: Plane, pen: Pen) -> Ring | None:
    return next(iter(outline.rings(drawn, pen.paper_mm)), None)


def _mouths(drawn: Plane, outer: Ring, shape: Polygon, line: CentreLine, cuts: Sequence[Ring]) -> set[Piece]:
    rim = {step.piece for step in outer.steps}
    cut = [frozenset(step.piece for step in each.steps) for each in cuts]
    found = set[Piece]()
    for face in faces(drawn):
        pieces = frozenset(step.piece for step in face)
        mouth = {piece for piece in pieces & rim if isinstance(drawn.strokes[piece.stroke], Straight)}
        if not mouth or pieces in cut or outline.signed_area(drawn, face) <= 0:
            continue
        recess = outline.ring_polygon(drawn, Ring(tuple(face)))
        if recess.is_valid and _image(line, recess).difference(shape).area >= OUTSIDE * recess.area:
            found |= mouth
    return found


def _without(drawn: Plane, mouths: set[Piece]) -> list[Stroke]:
    """The strokes, those that run over a mouth cut there in two."""
    kept = list[Stroke]()
    for number, stroke in enumerate(drawn.strokes):
        mine = [piece for piece in drawn.pieces if piece.stroke == number]
        if not isinstance(stroke, Straight) or mouths.isdisjoint(mine):
            kept.append(stroke)
            continue
        mine.sort(key=lambda piece: stroke.along(drawn.nodes[piece.first].at))
        for over_mouth, run in groupby(mine, mouths.__contains__):
            if not over_mouth:
                first, *_ = pieces = list(run)
                kept.append(Straight(drawn.nodes[first.first].at, drawn.nodes[pieces[-1].last].at, stroke.level))
    return kept
