"""Finished pieces carried from the working frame to the frozen strokes of the level frame."""

import math

import numpy as np

from calibrate.sheet import FloatArray, apply_homography
from digitize.strokes.arrowheads import Head
from digitize.strokes.fit import ARC
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Arc, Arrowhead, Dash, Line, Point

CORRELATION_WIDTHS = 1.0
"""Neighbouring centres share their noise over about one pen width, so that independent points are that far apart."""
LEAST_STD_PX = 0.005


def _level(level_from_working: FloatArray, points: list[Point]) -> list[Point]:
    mapped = apply_homography(level_from_working, np.array(points, dtype=np.float64))
    return [(float(x), float(y)) for x, y in mapped]


def independent_points(piece: Piece) -> float:
    """Count the independent centres along a piece."""
    return max(piece.inked / max(CORRELATION_WIDTHS * piece.width, 1.0), 1.0)


def line_from(piece: Piece, level_from_working: FloatArray) -> Line:
    """Carry a straight piece to the level frame; its left end (the upper one of an upright line) comes first."""
    ends = sorted(_level(level_from_working, [piece.start, piece.end]))
    std = max(piece.rms / math.sqrt(independent_points(piece)), LEAST_STD_PX)
    return Line(ends[0], ends[1], piece.width, std, Dash(piece.dash))


def arc_from(piece: Piece, level_from_working: FloatArray) -> Arc:
    """Carry a round piece to the level frame; a full circle starts at 0 degrees."""
    track = piece.track
    # s grows clockwise as seen, so the end of the piece is the start of the arc
    centre, start = _level(level_from_working, [(track.x, track.y), piece.end])
    scale = math.sqrt(abs(float(np.linalg.det(level_from_working[:2, :2]))))
    sweep = 360.0 if piece.closed else math.degrees(piece.length / track.radius)
    start_deg = 0.0 if piece.closed else math.degrees(math.atan2(centre[1] - start[1], start[0] - centre[0])) % 360.0
    centre_std, radius_std = arc_errors(piece)
    return Arc(
        centre, track.radius * scale, start_deg, sweep, piece.width, centre_std, radius_std, Dash(piece.dash)
    )


def arrowhead_from(head: Head, level_from_working: FloatArray, line: int | None) -> Arrowhead:
    """Carry an arrowhead to the level frame; ``line`` is the number there of the line that it ends."""
    tail = (head.x - head.length * head.dx, head.y - head.length * head.dy)
    tip, back = _level(level_from_working, [(head.x, head.y), tail])
    direction = math.degrees(math.atan2(back[1] - tip[1], tip[0] - back[0])) % 360.0
    return Arrowhead(tip, direction, math.dist(tip, back), head.form, line)


def arc_errors(piece: Piece) -> tuple[float, float]:
    """Return standard errors of centre (the worse direction) and radius from the arc's noise and sweep, in px.

    The inverse of the normal matrix of a circle fit to independent points spread evenly over the sweep.
    """
    if piece.track.kind != ARC:
        raise ValueError("Only an arc has a centre and a radius.")
    angle = np.linspace(0.0, piece.length / piece.track.radius, 64)
    jacobian = np.stack([np.cos(angle), np.sin(angle), np.ones_like(angle)], axis=1)
    normal = jacobian.T @ jacobian / len(angle) * independent_points(piece)
    covariance = max(piece.rms, LEAST_STD_PX) ** 2 * np.linalg.pinv(normal)
    centre = math.sqrt(float(np.linalg.eigvalsh(covariance[:2, :2])[-1]))
    return max(centre, LEAST_STD_PX), max(math.sqrt(max(float(covariance[2, 2]), 0.0)), LEAST_STD_PX)
