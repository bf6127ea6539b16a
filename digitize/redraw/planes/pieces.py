"""Where the pieces of a plane graph run: their length, angles and points, and which lie in one place."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from shapely import LineString

from digitize.redraw.planes.bent import Bent
from digitize.redraw.planes.curve import FULL_TURN_DEG, Circular
from digitize.redraw.planes.plane import LOOSE, Piece, Plane
from digitize.redraw.planes.plane_strokes import Round
from digitize.strokes.primitives import Point

SAME_PLACE_DIGITS = 4  # decimals of a mm: far below any pen, far above a solution's rounding
_SAMPLE_DEG = 3.0  # chord angle when arcs are sampled to ask what lies within what; the outline keeps the true arc


def piece_length(plane: Plane, piece: Piece) -> float:
    """Length of a piece in mm."""
    stroke = plane.strokes[piece.stroke]
    if isinstance(stroke, Round):
        return math.radians(piece_angles(stroke.curve, plane, piece)[1]) * stroke.curve.radius
    if isinstance(stroke, Bent):
        return float(LineString(piece_points(plane, piece)).length)
    return math.dist(plane.nodes[piece.first].at, plane.nodes[piece.last].at)


def piece_at(plane: Plane, piece: Piece, share: float) -> Point:
    stroke = plane.strokes[piece.stroke]
    if isinstance(stroke, Round):
        start, sweep = piece_angles(stroke.curve, plane, piece)
        return stroke.curve.at(start + sweep * share)
    if isinstance(stroke, Bent):
        spot = LineString(piece_points(plane, piece)).interpolate(share, normalized=True)
        return float(spot.x), float(spot.y)
    (x0, y0), (x1, y1) = plane.nodes[piece.first].at, plane.nodes[piece.last].at
    return x0 + (x1 - x0) * share, y0 + (y1 - y0) * share


def piece_angles(curve: Circular, plane: Plane, piece: Piece) -> tuple[float, float]:
    """Start and counter-clockwise sweep of a round piece, in degrees."""
    if piece.first == LOOSE:
        return curve.start_deg, FULL_TURN_DEG
    start, end = (
        math.degrees(math.atan2(at[1] - curve.centre[1], at[0] - curve.centre[0]))
        for at in (plane.nodes[piece.first].at, plane.nodes[piece.last].at)
    )
    return start, (end - start) % FULL_TURN_DEG


def without_turned(drawn: Plane, solved: Plane) -> Plane:
    """A solved plane without the arcs whose ends have passed each other: they would run round all the rest of their
    circle, where as drawn there was next to nothing."""

    def turned(piece: Piece) -> bool:
        before, after = drawn.strokes[piece.stroke], solved.strokes[piece.stroke]
        if not isinstance(before, Round) or not isinstance(after, Round) or before.curve.full:
            return False
        was, now = (piece_angles(each.curve, plane, piece)[1] for each, plane in ((before, drawn), (after, solved)))
        return now - was > FULL_TURN_DEG / 2

    return replace(solved, pieces=tuple(piece for piece in solved.pieces if not turned(piece)))


def piece_points(plane: Plane, piece: Piece) -> list[Point]:
    """A piece as points from its first node to its last, arcs sampled."""
    stroke = plane.strokes[piece.stroke]
    if isinstance(stroke, Bent):
        return stroke.between(plane.nodes[piece.first].at, plane.nodes[piece.last].at)
    if not isinstance(stroke, Round):
        return [plane.nodes[piece.first].at, plane.nodes[piece.last].at]
    start, sweep = piece_angles(stroke.curve, plane, piece)
    count = max(4, math.ceil(sweep / _SAMPLE_DEG))
    points = [stroke.curve.at(start + sweep * i / count) for i in range(count + 1)]
    if piece.first != LOOSE:
        points[0], points[-1] = plane.nodes[piece.first].at, plane.nodes[piece.last].at
    return points


def piece_line(plane: Plane, piece: Piece) -> LineString:
    """A piece as a line with its arc sampled."""
    return LineString(piece_points(plane, piece))


def distinct(plane: Plane, pieces: Iterable[Piece], drawn: Iterable[Piece] = ()) -> Iterator[Piece]:
    """Those of some pieces that lie where no earlier one and none of the ``drawn`` does: a solution may lay two strokes
    in one place that the pen drew a little apart."""
    seen = {_lie(plane, piece) for piece in drawn}
    for piece in pieces:
        lie = _lie(plane, piece)
        if lie not in seen:
            seen.add(lie)
            yield piece


def _lie(plane: Plane, piece: Piece) -> tuple[tuple[float, float], ...]:
    """Ends and middle of a piece to `SAME_PLACE_DIGITS`, whichever way it runs."""
    points = piece_points(plane, piece)
    half = len(points) // 2
    middle = (points[half - 1][0] + points[-half][0]) / 2, (points[half - 1][1] + points[-half][1]) / 2
    three = points[0], points[-1], middle
    first, last, between = ((round(x, SAME_PLACE_DIGITS) + 0.0, round(y, SAME_PLACE_DIGITS) + 0.0) for x, y in three)
    return (*sorted((first, last)), between)
