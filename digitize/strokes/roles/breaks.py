"""Break lines: where a drafter cut a long part short. ISO 128 has two.

Glossary
--------
long break
    A thin line along a rule with a zigzag in it, that goes as far to one side of the line as to the other.
short break
    A wavy line drawn by hand, from edge to edge.
path
    Pieces joined end to end: their numbers in order, and whether each is walked forwards.
"""

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.centre_lines.refine import FloatArray
from digitize.strokes.joining.curves import Curve, alike, heaps
from digitize.strokes.joining.meetings import END, START, meetings_of
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece
from digitize.strokes.primitives import Role

Path = list[tuple[int, bool]]
Direction = tuple[float, float]
End = tuple[int, int]
"""Number of a piece, and which end of it."""

REACH_MM = 0.3
"""Ends of two parts are at most this far apart, besides a pen width."""
LEAST_RULED_MM, LONGEST_ZIGZAG_MM, LEAST_HEIGHT_MM = 3.0, 15.0, 0.8
"""The line on either side of a zigzag, one stroke of the zigzag, and how far it goes to each side."""
MOST_OF_ZIGZAG = 5
ON_LINE_MM, SAME_WAY_COS = 0.4, 0.9986
"""Both sides of a zigzag lie on one line, within 3 degrees."""
UNEVEN_SIDES = 3.0
LONGEST_PART_MM, LEAST_PARTS, TURN_DEG = 10.0, 4, 80.0
"""Parts of a short break: how long, how many, and the sharpest corner between two."""
LEAST_CHORD_MM, KEEPS_TO_CHORD = 6.0, 0.7
LEAST_WAVES, LEAST_BEND_DEG = 2, 10.0
"""It bends over this often from one side to the other, each time by so much."""
SHARP_DEG, SHARP_SHARE = 50.0, 0.5
"""Most of its corners are dull: those of teeth and threads are sharp."""
OF_A_BREAK = (Role.VISIBLE, Role.LEADER, Role.EXTENSION)


def find_breaks(page: Page) -> list[Curve]:
    """Find the break lines of a sheet and give their pieces the role.

    Parameters
    ----------
    page : Page
        With a role for every piece.

    Returns
    -------
    list of Curve
        Each break line as one curve, in place of its pieces.
    """
    shafts = {head.piece for head in page.heads}
    free = [k for k, p in enumerate(page.pieces) if _is_free(p) and page.roles[k] in OF_A_BREAK and k not in shafts]
    found = [_along(page, path) for path in _long_breaks(page, free)]
    taken = {k for curve in found for k in curve.members}
    found += [_along(page, path) for path in _short_breaks(page, [k for k in free if k not in taken])]
    for curve in found:
        for k in curve.members:
            page.roles[k] = Role.BREAK
    return found


def _is_free(piece: Piece) -> bool:
    return piece.dash == "solid" and not piece.closed


def _long_breaks(page: Page, free: list[int]) -> Iterator[Path]:
    """Paths along a ruled line and through every zigzag in it."""
    straight = [k for k in free if page.pieces[k].track.kind == LINE]
    pieces = [page.pieces[k] for k in straight]
    beside: dict[End, list[End]] = {}
    for m in meetings_of(pieces, page.px(REACH_MM), 180.0):
        ends = (m.first, m.first_end), (m.second, m.second_end)
        if alike(pieces[m.first], pieces[m.second]):
            for mine, other in (ends, ends[::-1]):
                beside.setdefault(mine, []).append(other)
    link: dict[End, list[End]] = {}
    for k, piece in enumerate(pieces):
        for side in (START, END) if piece.length >= page.px(LEAST_RULED_MM) else ():
            steps = _zigzag(page, pieces, beside, (k, side))
            if steps is not None:
                link[(k, side)] = steps
    used: set[int] = set()
    for k in range(len(pieces)):
        starts = [side for side in (START, END) if (k, side) in link]
        if k in used or len(starts) != 1:
            continue
        path, at = [(straight[k], starts[0] == END)], (k, starts[0])
        while at in link:
            path += [(straight[n], side == START) for n, side in link[at]]
            last, entered = link[at][-1]
            at = (last, START + END - entered)
        used |= {straight.index(n) for n, _ in path}
        yield path


def _zigzag(page: Page, pieces: list[Piece], beside: dict[End, list[End]], end: End) -> list[End] | None:
    """The ends at which a walk from an end of a ruled line enters the strokes of a zigzag and the line behind it."""
    ruled, out = pieces[end[0]], 1.0 if end[1] == END else -1.0
    ways: list[list[End]] = [[other] for other in beside.get(end, [])]
    while ways:
        way = ways.pop()
        last, entered = way[-1]
        piece = pieces[last]
        along = out * (piece.track.dx * ruled.track.dx + piece.track.dy * ruled.track.dy)
        onward = along if entered == START else -along
        goes_on = onward >= SAME_WAY_COS and piece.length >= page.px(LEAST_RULED_MM)
        if goes_on and _is_zigzag(page, ruled, [pieces[n] for n, _ in way]):
            return way
        if len(way) <= MOST_OF_ZIGZAG and piece.length <= page.px(LONGEST_ZIGZAG_MM):
            seen = {end[0], *(n for n, _ in way)}
            ways += [[*way, other] for other in beside.get((last, START + END - entered), []) if other[0] not in seen]
    return None


def _is_zigzag(page: Page, ruled: Piece, walked: list[Piece]) -> bool:
    """Whether strokes go to both sides of a line alike and come back to it."""
    if len(walked) < 3:
        return False
    _, off = ruled.track.place(np.array([[p.start, p.end] for p in walked]))
    left, right = float(off[:-1].max()), -float(off[:-1].min())
    lower, higher = sorted((left, right))
    back = float(np.abs(off[-1]).max()) <= page.px(ON_LINE_MM)
    return back and lower >= page.px(LEAST_HEIGHT_MM) and higher <= UNEVEN_SIDES * lower


def _short_breaks(page: Page, free: list[int]) -> Iterator[Path]:
    """Paths of short parts that bend to and fro about a chord."""
    short = [k for k in free if page.pieces[k].length <= page.px(LONGEST_PART_MM)]
    for path in heaps(page, short, TURN_DEG, LEAST_PARTS):
        pieces = [page.pieces[k] for k, _ in path]
        headings = [_headings(piece, ahead) for piece, (_, ahead) in zip(pieces, path, strict=True)]
        corners = np.array([_turn(a[1], b[0]) for a, b in pairwise(headings)])
        ends = [(p.start, p.end) if ahead else (p.end, p.start) for p, (_, ahead) in zip(pieces, path, strict=True)]
        chord = math.dist(ends[0][0], ends[-1][1])
        keeps = chord >= max(page.px(LEAST_CHORD_MM), KEEPS_TO_CHORD * sum(p.length for p in pieces))
        dull = float((np.abs(corners) < math.radians(SHARP_DEG)).mean()) >= SHARP_SHARE
        if keeps and dull and _waves(pieces, path, corners) >= LEAST_WAVES:
            yield path


def _headings(piece: Piece, ahead: bool) -> tuple[Direction, Direction]:
    """Where a piece heads at its first and last point as it is walked."""
    (ax, ay), (bx, by) = piece.track.heading(piece.s0), piece.track.heading(piece.s1)
    return ((ax, ay), (bx, by)) if ahead else ((-bx, -by), (-ax, -ay))


def _turn(a: Direction, b: Direction) -> float:
    """Angle from one direction to another in radians, positive from +x towards +y."""
    return math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])


def _waves(pieces: list[Piece], path: Path, corners: FloatArray) -> int:
    """How often a path bends over from one side to the other."""
    turns = [0.0]
    for n, (piece, (_, ahead)) in enumerate(zip(pieces, path, strict=True)):
        sweep = piece.length / piece.track.radius if piece.track.kind == ARC else 0.0
        for turn in (sweep if ahead else -sweep, corners[n] if n < len(corners) else 0.0):
            if turn * turns[-1] >= 0.0:
                turns[-1] += turn
            else:
                turns.append(turn)
    strong = [turn for turn in turns if abs(turn) >= math.radians(LEAST_BEND_DEG)]
    return sum(a * b < 0.0 for a, b in pairwise(strong))


def _along(page: Page, path: Path) -> Curve:
    """The curve that keeps to the pieces of a path: a spline with threefold inner knots, so that it has corners."""
    pieces = [page.pieces[k] for k, _ in path]
    walked = [_beziers(piece, ahead) for piece, (_, ahead) in zip(pieces, path, strict=True)]
    for before, behind in pairwise(walked):
        meet = 0.5 * (before[-1, 3] + behind[0, 0])
        before[-1, 2:] += meet - before[-1, 3]
        behind[0, :2] += meet - behind[0, 0]
    beziers = np.concatenate(walked)
    control = np.vstack([beziers[:, :3].reshape(-1, 2), beziers[-1:, 3]])
    place = np.append(0.0, np.cumsum(np.hypot(*(beziers[:, 3] - beziers[:, 0]).T)))
    knots = np.concatenate([[0.0], np.repeat(place / place[-1], 3), [1.0]])
    length = [p.length for p in pieces]
    width = float(np.average([p.width for p in pieces], weights=length))
    return Curve(tuple(k for k, _ in path), knots, control, width, max(p.rms for p in pieces), Role.BREAK)


def _beziers(piece: Piece, ahead: bool) -> FloatArray:
    """Control points of cubic curves along a piece as it is walked, shape (N, 4, 2)."""
    sweep = piece.length / piece.track.radius if piece.track.kind == ARC else 0.0
    count = max(1, math.ceil(sweep / (0.5 * math.pi)))
    s = np.linspace(piece.s0, piece.s1, count + 1)
    heading = np.array([piece.track.heading(float(at)) for at in s])
    arm = 4.0 / 3.0 * math.tan(sweep / count / 4.0) * piece.track.radius if sweep else piece.length / 3.0
    ends = piece.track.at(s)
    curves = np.stack([ends[:-1], ends[:-1] + arm * heading[:-1], ends[1:] - arm * heading[1:], ends[1:]], axis=1)
    return curves if ahead else curves[::-1, ::-1].copy()
