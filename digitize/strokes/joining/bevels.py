"""Bevels drawn with a heavy pen, which its ink rounds, told from true roundings on the grey picture.

Beside a bevel no longer than some pen widths, all centres lie near one of its two corners and are drawn inwards; a
circle passes them well, with a radius that means nothing. The edges of the ink still tell: both shapes are laid on the
picture as the pen would have drawn them between the two lines, and the one that leaves less of the picture unexplained
is what was drawn. Where they leave nearly the same, the straight one is taken: it needs no radius that nobody can know.
"""

import math
from dataclasses import replace

import numpy as np

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.ground import Ground
from digitize.strokes.joining.corner_ink import Bow, costs_of, view_of
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Point
from digitize.strokes.table import Table
from digitize.strokes.tracks import Track

WIDEST_RADIUS = 5.0
"""A bow of a greater radius, in pen widths, rises too far from its chords to be mistaken."""
REACH = 1.5
"""A line that a bow ends on ends so near to it, in pen widths,"""
ALIKE = 0.7
"""is as wide, to this ratio,"""
SHORTEST = 1.5
"""and so long, in pen widths."""
LEAST_TURN_DEG, MOST_TURN_DEG = 25.0, 155.0
"""Between lines that turn less there is hardly a corner, and between those that turn more none near the bow."""
WORTH = 1.1
"""The squares that a bevel leaves are more than so many times those of a rounding before the radius is believed."""
FARTHEST = 1.5
"""A bevel whose ends lie further from the bow's, in pen widths, was fitted to something else."""


def with_bevels(ground: Ground, pieces: list[Piece]) -> list[Piece]:
    """Put a line in the place of every bow that was drawn straight, and end on it the lines beside it.

    Returns
    -------
    list of Piece
        In their old order.
    """
    out, table = list(pieces), Table(pieces)
    for k, piece in enumerate(pieces):
        bow = _bow_at(table, k) if _may_be_bevel(piece) else None
        ends = None if bow is None else _bevel_ends(ground, table, bow)
        if bow is None or ends is None:
            continue
        out[k] = _straight(piece, *ends)
        for line, end in zip(bow.lines, ends, strict=True):
            out[line] = _ended(out[line], end)
    return out


def _may_be_bevel(piece: Piece) -> bool:
    is_arc = piece.track.kind == ARC and not piece.closed and piece.dash == "solid"
    return is_arc and piece.track.radius <= WIDEST_RADIUS * piece.width


def _bow_at(table: Table, k: int) -> Bow | None:
    """The bow that an arc is; None where it does not join two lines round a corner."""
    arc = table.pieces[k]
    first, second = (_line_at(table, k, end) for end in (arc.start, arc.end))
    if first is None or second is None or first == second:
        return None
    a, b = table.pieces[first], table.pieces[second]
    sine = a.track.dx * b.track.dy - a.track.dy * b.track.dx
    if abs(sine) < math.sin(math.radians(LEAST_TURN_DEG)):
        return None
    s = ((b.track.x - a.track.x) * b.track.dy - (b.track.y - a.track.y) * b.track.dx) / sine
    corner = a.track.point(s)
    far = tuple(max((p.start, p.end), key=lambda end: math.dist(end, corner)) for p in (a, b))
    away = np.array([np.subtract(end, corner) / math.dist(end, corner) for end in far])
    cuts = tuple(float(np.subtract(end, corner) @ u) for end, u in zip((arc.start, arc.end), away, strict=True))
    bow = Bow(k, (first, second), (far[0], far[1]), corner, away, (cuts[0], cuts[1]))
    turn_deg = 180.0 - 2.0 * math.degrees(bow.half_angle)
    return bow if min(cuts) > 0.0 and LEAST_TURN_DEG <= turn_deg <= MOST_TURN_DEG else None


def _line_at(table: Table, k: int, end: Point) -> int | None:
    """Number of the line whose end lies nearest to an end of an arc."""
    arc, found = table.pieces[k], []
    for n in table.near(*end, REACH * arc.width).tolist():
        piece = table.pieces[n]
        is_alike = ALIKE <= piece.width / arc.width <= 1.0 / ALIKE and piece.length >= SHORTEST * arc.width
        if piece.track.kind == LINE and piece.dash == "solid" and is_alike:
            found.append((min(math.dist(end, piece.start), math.dist(end, piece.end)), n))
    gap, n = min(found, default=(math.inf, -1))
    return n if gap <= REACH * arc.width else None


def _bevel_ends(ground: Ground, table: Table, bow: Bow) -> tuple[Point, Point] | None:
    """The ends of the bevel that explains the ink best; None where a rounding does, or too little can be seen."""
    view = view_of(ground, table, bow)
    if view is None:
        return None
    costs = costs_of(view, bow, table.pieces[bow.arc].width)
    far = FARTHEST * table.pieces[bow.arc].width
    is_here = all(abs(math.dist(end, bow.corner) - cut) <= far for end, cut in zip(costs.ends, bow.cuts, strict=True))
    return costs.ends if is_here and costs.bevel <= WORTH * costs.rounding else None


def _straight(piece: Piece, start: Point, end: Point) -> Piece:
    """The bow as a line."""
    length = max(math.dist(start, end), 1e-9)
    track = Track(LINE, *start, (end[0] - start[0]) / length, (end[1] - start[1]) / length)
    middle = track.point(0.5 * length)
    return replace(piece, track=track, s0=0.0, s1=length, runs=((start, middle, end),))


def _ended(line: Piece, end: Point) -> Piece:
    """A line, moved with its nearer end onto a point of its track."""
    s = line.track.s_of(*end)
    if abs(s - line.s0) < abs(s - line.s1):
        return replace(line, s0=s)
    return replace(line, s1=s)
