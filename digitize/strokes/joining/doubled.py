"""Two lines drawn closer to each other than their pen is wide: the ink runs together to one line twice as wide.

Thinning finds one line in the middle. That there are two is seen from outside: one of them ends before the other at
both ends, as the end of a shaft does where it is chamfered, or is broken by dashes, as the root of a thread is. The
heavy lines of frames, cutting planes and shaded edges end alike on both sides and are left alone.

Glossary
--------
bar
    The wide ink, as pieces end to end.
side
    See `bar_sides`.
"""

import math
from dataclasses import replace
from itertools import combinations

import numpy as np

from digitize.strokes.centre_lines.fit import LINE
from digitize.strokes.ground import Ground
from digitize.strokes.joining.bar_sides import CAP, FLATTEST, Side, side_of
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Point
from digitize.strokes.runs import Run
from digitize.strokes.table import Table
from digitize.strokes.tracks import Track
from digitize.strokes.widths import pens_of

NARROWEST, WIDEST = 1.3, 2.5
"""Width of a bar over that of the heavy pen; in what is wider, paper shows between the lines."""
FINEST_PX = 3.5
"""The sides of what finer pens drew are not told apart."""
BESIDE, ALIKE = 0.75, 1.25
"""What a bar ends on lies so near its ends, over its width, and was drawn by one pen, to this ratio."""
LEAST_LENGTH = 1.5
"""A bar is at least this many times as long as wide."""
EVENEST = 0.35
"""The distance between a bar's sides changes by no more than this share of the pen."""
TURN_DEG = 12.0
"""Pieces of one bar turn no more from each other."""
NEARER, FARTHER, UNLIKE = 0.3, 2.6, 2.5
"""The shorter line ends so much before the longer one, over the distance between them, and alike at both ends."""
FULL, LEAST_DASHED, MOST_DASHED, FEWEST_GAPS = 0.97, 0.5, 0.95, 3
"""Shares of a side that are ink where it is drawn through, and where it is dashed."""
GAP = 0.25
"""A gap between dashes is at least this share of the pen long."""


def part_doubled(ground: Ground, pieces: list[Piece]) -> list[Piece]:
    """Put two lines in the place of every bar whose sides tell them apart, and end on them what ended on the bar.

    Returns
    -------
    list of Piece
        Those that were no bar in their old order, then the new ones.
    """
    usual = pens_of(np.array([p.width for p in pieces]), np.array([p.length for p in pieces])).thin
    wide = [k for k, p in enumerate(pieces) if p.width >= NARROWEST * max(usual, FINEST_PX) and _may_be_bar(p)]
    table = Table(pieces)
    kept = dict(enumerate(pieces))
    new: list[Piece] = []
    for numbers in _bars(table, wide):
        bar = [pieces[k] for k in numbers]
        start, end = _ends_of(bar)
        pen = _pen_beside(table, numbers, start, end)
        parted = None if pen is None else _parted(ground, bar, start, end, pen)
        if parted is None:
            continue
        for k in numbers:
            del kept[k]
        kept = {k: _ended_on(piece, parted) for k, piece in kept.items()}
        new += parted
    return [*kept.values(), *new]


def _may_be_bar(piece: Piece) -> bool:
    sagitta = 0.0 if piece.track.kind == LINE else piece.length**2 / (8.0 * piece.track.radius)
    return piece.dash == "solid" and not piece.closed and sagitta <= FLATTEST * piece.width / NARROWEST


def _ends_of(bar: list[Piece]) -> tuple[Point, Point]:
    """The two ends of a bar that lie furthest apart, the left one first."""
    every = sorted(end for piece in bar for end in (piece.start, piece.end))
    return max(combinations(every, 2), key=lambda pair: math.dist(*pair))


def _pen_beside(table: Table, bar: list[int], start: Point, end: Point) -> float | None:
    """Width of the pen that drew what a bar ends on; None where that is as wide as itself, or nothing is there.

    An edge ends on edges of its own pen, and a shaded one at its one end on another shaded one.
    """
    pieces = table.pieces
    width = float(np.median([pieces[k].width for k in bar]))
    found = []
    for x, y in (start, end):
        near = [k for k in table.near(x, y, BESIDE * width).tolist() if k not in bar]
        found.append(max((pieces[k].width for k in near if pieces[k].length >= width), default=0.0))
    least, most = min(found), max(found)
    fits = least >= FINEST_PX and NARROWEST * most <= width <= WIDEST * least and most <= ALIKE * least
    return 0.5 * (least + most) if fits else None


def _bars(table: Table, wide: list[int]) -> list[list[int]]:
    """Wide pieces that lie end to end, as groups of numbers."""
    ends = {k: (table.pieces[k].start, table.pieces[k].end) for k in wide}
    left, found = set(wide), []
    for first in wide:
        if first not in left:
            continue
        left.remove(first)
        group = [first]
        for k in group:
            reach = 0.5 * table.pieces[k].width
            near = sorted({n for end in ends[k] for n in table.near(*end, reach).tolist()} & left)
            following = [n for n in near if _end_to_end(ends[k], ends[n], reach)]
            group += following
            left.difference_update(following)
        found.append(sorted(group))
    return found


def _end_to_end(first: tuple[Point, Point], second: tuple[Point, Point], reach: float) -> bool:
    if all(math.dist(p, q) > reach for p in first for q in second):
        return False
    (ax, ay), (bx, by) = ((q[0] - p[0], q[1] - p[1]) for p, q in (first, second))
    sine = abs(ax * by - ay * bx) / max(math.hypot(ax, ay) * math.hypot(bx, by), 1e-9)
    return sine <= math.sin(math.radians(TURN_DEG))


def _parted(ground: Ground, bar: list[Piece], start: Point, end: Point, pen: float) -> list[Piece] | None:
    """The two lines of a bar and what joins their ends; None where it is one line."""
    length, width = math.dist(start, end), float(np.median([p.width for p in bar]))
    if length < LEAST_LENGTH * width:
        return None
    track = Track(LINE, *start, (end[0] - start[0]) / length, (end[1] - start[1]) / length)
    left, right = (side_of(ground, track, length, width, pen, sign) for sign in (-1.0, 1.0))
    if left is None or right is None:
        return None
    apart = 0.5 * (right.first - left.first + right.last - left.last)
    if apart < (NARROWEST - 1.0) * pen or abs((right.first - left.first) - (right.last - left.last)) > EVENEST * pen:
        return None
    model = replace(bar[0], width=pen, spans=tuple(span for p in bar for span in p.spans))
    for whole, other in ((left, right), (right, left)):
        drawn = _other_line(whole, other, length, apart, pen)
        if drawn is not None:
            return _lines(track, length, model, whole, other, drawn)
    return None


def _other_line(whole: Side, other: Side, length: float, apart: float, pen: float) -> list[tuple[float, float]] | None:
    """Runs of the second line of a bar whose first is drawn through from end to end; None where there is none."""
    within = (whole.s >= 0.0) & (whole.s <= length)
    if whole.inked[within].mean() < FULL:
        return None
    runs = [(a + CAP * pen, b - CAP * pen) for a, b in other.runs(GAP * pen)]
    dashed = LEAST_DASHED <= other.inked[within].mean() <= MOST_DASHED
    if dashed and len(runs) > FEWEST_GAPS:
        return [(max(a, 0.0), min(b, length)) for a, b in runs if min(b, length) > max(a, 0.0)]
    (a, b) = max(runs, key=lambda run: run[1] - run[0], default=(0.0, 0.0))
    before, after = a / apart, (length - b) / apart
    if before < 0.0 or after < 0.0:  # other ink goes on from one end: the other end tells
        before = after = max(before, after)
        a, b = max(a, before * apart) if a < 0.0 else a, length - after * apart if b > length else b
    if min(before, after) < NEARER or max(before, after) > FARTHER or max(before, after) > UNLIKE * min(before, after):
        return None
    return [(a, b)]


def _lines(
    track: Track, length: float, model: Piece, whole: Side, other: Side, runs: list[tuple[float, float]]
) -> list[Piece]:
    """The line drawn through, the other one, and where that is shorter the two that join their ends."""

    def place(side: Side, s: float) -> Point:
        x, y = track.at(s, side.first + (side.last - side.first) * s / length).tolist()
        return x, y

    first, last = place(whole, 0.0), place(whole, length)
    through = _line(model, [(first, last)])
    dashes = _line(model, [(place(other, a), place(other, b)) for a, b in runs])
    if len(runs) > 1:
        return [through, replace(dashes, dash="dashed")]
    return [through, dashes, _line(model, [(first, dashes.start)]), _line(model, [(last, dashes.end)])]


def _line(model: Piece, runs: list[tuple[Point, Point]]) -> Piece:
    """A piece from the start of its first run to the end of its last."""
    (x, y), end = runs[0][0], runs[-1][1]
    length = max(math.dist((x, y), end), 1e-6)
    track = Track(LINE, x, y, (end[0] - x) / length, (end[1] - y) / length)
    drawn: tuple[Run, ...] = tuple((a, (0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])), b) for a, b in runs)
    return replace(model, track=track, s0=0.0, s1=length, runs=drawn, dash="solid")


def _ended_on(piece: Piece, parted: list[Piece]) -> Piece:
    """A line that ended on the middle of a bar, ended on the nearer of its lines."""
    if piece.track.kind != LINE or piece.closed:
        return piece
    through, other = parted[:2]
    apart = math.dist(through.middle, other.middle)
    for at_end in (False, True):
        end, inner = (piece.end, piece.start) if at_end else (piece.start, piece.end)
        s, (off, far) = through.track.s_of(*end), through.track.place(np.array([end, inner]))[1].tolist()
        sine = piece.track.dx * through.track.dy - piece.track.dy * through.track.dx
        if not -apart <= s <= through.length + apart or abs(sine) < 0.5:
            continue
        towards = math.copysign(1.0, through.track.place(np.array(other.middle))[1])
        if not -apart <= off * towards <= 1.5 * apart or abs(far) <= 1.5 * apart:
            continue
        line = through if far * towards < 0.0 else other
        x, y = line.track.x - piece.track.x, line.track.y - piece.track.y
        at = (x * line.track.dy - y * line.track.dx) / (piece.track.dx * line.track.dy - piece.track.dy * line.track.dx)
        piece = replace(piece, s1=at) if at_end else replace(piece, s0=at)
    return piece
