"""Dimension lines, extension lines and leaders, told by their arrowheads.

Glossary
--------
halves
    Two lines on one track, each with a head at its outer end, parted by the figure: one dimension line.
tails
    Two lines on one track whose heads point at each other: a dimension drawn from outside.
shoulder
    The short level end of a leader, beside its note.
bow
    A thin arc with two heads along it that point opposite ways: the dimension line of an angle.
"""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy.spatial import cKDTree

from digitize.strokes.centre_lines.fit import ARC, LINE
from digitize.strokes.heads.head import Head
from digitize.strokes.page import Page
from digitize.strokes.pieces import Piece, Track, run_extents, with_runs
from digitize.strokes.primitives import Role
from digitize.strokes.table import s_at

ON_LINE_MM = 0.3
TURN_DEG = 2.5
WIDEST_FIGURE_MM = 60.0
WIDE_GAP, LEAST_FIGURE_MM = 1.5, 1.5
"""A gap that a figure makes in a dashed line is wider than those between dashes, and holds at least a small figure."""
LEAST_LETTERING_SHARE = 0.08
ACROSS_SINE = 0.4
"""An extension line stands across its dimension line at more than about 24 degrees."""
OVERRUN_MM = 6.0
TIP_REACH_MM = 0.5
FARTHEST_EXTENSION_MM, FARTHEST_LEADER_MM = 60.0, 6.0
SHOULDER_MM = 15.0
BOW_TURN_DEG = 20.0
"""A head at the end of an arc is drawn straight, its tip on the arc: it leans from the tangent by this at most."""


@dataclass(frozen=True)
class _Ended:
    """A line with a head: numbers of both, and whether the head is at the line's s1."""

    piece: int
    head: int
    at_end: bool


def _ended(page: Page) -> list[_Ended]:
    """All straight shafts with the side on which each head lies."""
    found = []
    for n, head in enumerate(page.heads):
        if head.piece < 0 or page.pieces[head.piece].track.kind != LINE:
            continue
        track = page.pieces[head.piece].track
        found.append(_Ended(head.piece, n, track.dx * head.dx + track.dy * head.dy > 0))
    return found


def join_halves(page: Page) -> Page:
    """Make one line of the two halves of every dimension line that its figure breaks."""
    pairs = _halves(page)
    if not pairs:
        return page
    gone = {b: a for a, b in pairs}
    pieces = list(page.pieces)
    for a, b in pairs:
        pieces[a] = _one_line(pieces[a], pieces[b])
    kept = [k for k in range(len(pieces)) if k not in gone]
    place = {k: n for n, k in enumerate(kept)}
    heads = [replace(h, piece=place[gone.get(h.piece, h.piece)], s=h.s) if h.piece >= 0 else h for h in page.heads]
    joined = Page(page.ground, [pieces[k] for k in kept], heads, page.turn_deg, [page.roles[k] for k in kept])
    for k in kept:
        if k in gone.values():
            joined.give([place[k]], Role.DIMENSION)
    return joined


def _halves(page: Page) -> list[tuple[int, int]]:
    """Pairs of lines that are halves of one: each with one head, pointing away from the other, lettering between."""
    ended = _ended(page)
    count: dict[int, int] = {}
    for e in ended:
        count[e.piece] = count.get(e.piece, 0) + 1
    single = [e for e in ended if count[e.piece] == 1]
    inner = [page.pieces[e.piece].start if e.at_end else page.pieces[e.piece].end for e in single]
    options = []
    for n, m in _pairs_within(inner, page.px(WIDEST_FIGURE_MM + ON_LINE_MM)):
        gap = _gap_between(page, single[n], single[m])
        if gap is not None:
            options.append((gap, single[n].piece, single[m].piece))
    pairs, used = [], set()
    for _, a_piece, b_piece in sorted(options):
        if a_piece not in used and b_piece not in used:
            used |= {a_piece, b_piece}
            pairs.append((a_piece, b_piece))
    return pairs


def _gap_between(page: Page, a: _Ended, b: _Ended) -> float | None:
    """Length of the gap between two halves; None where they are none."""
    first, second = page.pieces[a.piece], page.pieces[b.piece]
    if a.piece == b.piece or not _collinear(page, first, second):
        return None
    inner_a = first.start if a.at_end else first.end
    inner_b = second.start if b.at_end else second.end
    tip_a, tip_b = page.heads[a.head], page.heads[b.head]
    ux, uy = tip_b.x - tip_a.x, tip_b.y - tip_a.y
    whole = math.hypot(ux, uy)
    if whole < 1.0:
        return None
    ux, uy = ux / whole, uy / whole
    if tip_b.dx * ux + tip_b.dy * uy < 0.5 or tip_a.dx * ux + tip_a.dy * uy > -0.5:
        return None
    gap = (inner_b[0] - inner_a[0]) * ux + (inner_b[1] - inner_a[1]) * uy
    if not -1.0 <= gap <= page.px(WIDEST_FIGURE_MM):
        return None
    return gap if _holds_lettering(page, inner_a, inner_b) else None


def _collinear(page: Page, first: Piece, second: Piece) -> bool:
    longer, shorter = (first, second) if first.length >= second.length else (second, first)
    sine = abs(longer.track.dx * shorter.track.dy - longer.track.dy * shorter.track.dx)
    if sine > math.sin(math.radians(TURN_DEG)):
        return False
    _, off = longer.track.place(np.array([shorter.start, shorter.end]))
    return bool(np.abs(off).max() <= page.px(ON_LINE_MM))


def _holds_lettering(page: Page, start: tuple[float, float], end: tuple[float, float]) -> bool:
    """Whether the gap between two points has lettering on or beside it."""
    length = math.dist(start, end)
    if length < 1.0:
        return False
    track = Track(LINE, start[0], start[1], (end[0] - start[0]) / length, (end[1] - start[1]) / length)
    s = np.arange(0.0, length, 1.0)
    hits = np.zeros(len(s), bool)
    half = page.px(1.5)
    for offset in np.linspace(-half, half, 7):
        xy = np.rint(page.ground.in_picture(track.at(s, offset))).astype(int)
        inside = (xy >= 0).all(axis=1) & (xy[:, 0] < page.ground.ink.shape[1]) & (xy[:, 1] < page.ground.ink.shape[0])
        hits[inside] |= page.ground.lettering[xy[inside, 1], xy[inside, 0]]
    return float(hits.mean()) >= LEAST_LETTERING_SHARE


def _one_line(first: Piece, second: Piece) -> Piece:
    """Draw one line through two halves: through their outer ends, weighted by nothing but their lengths."""
    points = np.array([first.start, first.end, second.start, second.end])
    s, _ = first.track.place(points)
    a, b = points[int(np.argmin(s))], points[int(np.argmax(s))]
    length = float(np.hypot(*(b - a)))
    track = Track(LINE, float(a[0]), float(a[1]), float((b - a)[0]) / length, float((b - a)[1]) / length)
    runs = tuple(sorted(first.runs + second.runs, key=lambda run: track.s_of(*run[1])))
    turned = tuple(run if track.s_of(*run[0]) <= track.s_of(*run[2]) else run[::-1] for run in runs)
    dash = first.dash if first.dash != "solid" else second.dash
    width = max(first, second, key=lambda p: p.length).width
    line = Piece(track, 0.0, length, width, max(first.rms, second.rms), first.spans + second.spans, turned, dash)
    return replace(with_runs(line, turned), s0=0.0, s1=length)


def find_broken_dashed(page: Page) -> None:
    """Give the dimension role to broken lines that stop for a figure and go on, as they are or known, behind it.

    No hidden edge does, and of the lines in chains only those with an arrowhead; other heads may be too small to be
    found.
    """
    headed = {head.piece for head in page.heads}
    broken = [k for k in page.unknown() if page.pieces[k].dash != "solid" and page.pieces[k].track.kind == LINE]
    may_be = [k for k in broken if page.pieces[k].dash == "dashed" or k in headed]
    page.give([k for k in may_be if _passes_a_figure(page, page.pieces[k])], Role.DIMENSION)
    told = [k for k, role in enumerate(page.roles) if role is Role.DIMENSION and page.pieces[k].track.kind == LINE]
    for a in told + may_be:
        for b in broken if a in told or page.roles[a] is None else ():
            first, second = page.pieces[a], page.pieces[b]
            fits = page.roles[b] is None and (b in may_be or first.dash == second.dash)
            if a != b and fits and _collinear(page, first, second) and _is_broken_for_figure(page, first, second):
                page.give([a, b], Role.DIMENSION)


def _passes_a_figure(page: Page, piece: Piece) -> bool:
    """Whether one of a line's gaps is wider than the others and holds lettering."""
    extents = run_extents(piece.track, piece.runs)
    gaps = [(b, c) for (_, b), (c, _) in pairwise(extents)]
    usual = float(np.median([c - b for b, c in gaps])) if gaps else 0.0
    wide = [(b, c) for b, c in gaps if c - b >= WIDE_GAP * usual and c - b >= page.px(LEAST_FIGURE_MM)]
    return any(_holds_lettering(page, piece.track.point(b), piece.track.point(c)) for b, c in wide)


def _is_broken_for_figure(page: Page, first: Piece, second: Piece) -> bool:
    """Whether two lines on one track lie apart, with lettering where their nearer ends leave off."""
    inner, other = min(
        ((p, q) for p in (first.start, first.end) for q in (second.start, second.end)),
        key=lambda ends: math.dist(*ends),
    )
    s, _ = first.track.place(np.array([second.start, second.end]))
    apart = s.max() < first.s0 or s.min() > first.s1
    return bool(apart) and math.dist(inner, other) < page.px(WIDEST_FIGURE_MM) and _holds_lettering(page, inner, other)


def find_dimensions(page: Page) -> None:
    """Give dimension, extension and leader roles by arrowheads."""
    ended = _ended(page)
    by_piece: dict[int, list[_Ended]] = {}
    for e in ended:
        by_piece.setdefault(e.piece, []).append(e)
    facing = _tails(page, ended)
    for piece, ends in sorted(by_piece.items()):
        if len(ends) == 1 and page.pieces[piece].dash in ("chain", "double_chain"):
            continue
        if len({e.at_end for e in ends}) == 2 or piece in facing or _has_upright_tip(page, ends[0]):
            page.give([piece], Role.DIMENSION)
    for piece, ends in sorted(by_piece.items()):
        if page.roles[piece] is None and page.pieces[piece].dash == "solid":
            page.give([piece], Role.LEADER)
            _shoulder(page, piece, ends[0])
    for e in ended + _bows(page):
        if page.roles[e.piece] == Role.DIMENSION:
            _extensions(page, e)
    _continue(page, Role.EXTENSION, FARTHEST_EXTENSION_MM)
    _continue(page, Role.LEADER, FARTHEST_LEADER_MM)


def _bows(page: Page) -> list[_Ended]:
    """Give the dimension role to bows; return their ends."""
    found = []
    for k, piece in enumerate(page.pieces):
        if piece.track.kind != ARC or piece.closed or not page.is_thin(k):
            continue
        ends = [_Ended(k, n, way > 0) for n in range(len(page.heads)) if (way := _way_along(page, k, n))]
        if sorted(e.at_end for e in ends) == [False, True]:
            page.give([k], Role.DIMENSION)
            found += ends
    return found


def _way_along(page: Page, k: int, n: int) -> int:
    """Which way a head on an arc points along it: 1 with growing s, -1 against it, 0 where it is not along the arc."""
    piece, head = page.pieces[k], page.heads[n]
    middle = 0.5 * (piece.s0 + piece.s1)
    s = s_at(page.table.rows[k], head.x, head.y, middle)
    reach = page.px(TIP_REACH_MM)
    if abs(s - middle) > 0.5 * piece.length + reach or math.dist(piece.track.point(s), (head.x, head.y)) > reach:
        return 0
    hx, hy = piece.track.heading(s)
    cosine = hx * head.dx + hy * head.dy
    return 0 if abs(cosine) < math.cos(math.radians(BOW_TURN_DEG)) else int(math.copysign(1, cosine))


def _continue(page: Page, role: Role, farthest_mm: float) -> None:
    """Give a role on to thin solid lines that carry on a line of that role beyond a stroke that covers or cuts it."""
    if page.pens.parting is None:
        return
    known = [k for k, given in enumerate(page.roles) if given == role and page.pieces[k].track.kind == LINE]
    for n in known:
        line = page.pieces[n]
        longer = replace(line, s0=line.s0 - page.px(farthest_mm), s1=line.s1 + page.px(farthest_mm))
        page.give([k for k in page.table.along(longer, page.px(ON_LINE_MM)) if _carries_on(page, line, k)], role)


def _carries_on(page: Page, line: Piece, k: int) -> bool:
    """Whether a stroke is a thin solid line on the track of another one, beyond its ends."""
    piece = page.pieces[k]
    if piece.track.kind != LINE or piece.dash != "solid" or not page.is_thin(k) or not _collinear(page, line, piece):
        return False
    s, _ = line.track.place(np.array([piece.start, piece.end]))
    return bool(max(float(s.min()) - line.s1, line.s0 - float(s.max())) >= 0.0)


def _tails(page: Page, ended: list[_Ended]) -> set[int]:
    """Lines whose heads point at each other."""
    found = set()
    heads = [page.heads[e.head] for e in ended]
    for n, m in _pairs_within([(head.x, head.y) for head in heads], page.px(WIDEST_FIGURE_MM)):
        a, b = ended[n].piece, ended[m].piece
        x, y = heads[m].x - heads[n].x, heads[m].y - heads[n].y
        towards = heads[n].dx * x + heads[n].dy * y > 0 > heads[m].dx * x + heads[m].dy * y
        if a != b and towards and _collinear(page, page.pieces[a], page.pieces[b]):
            found |= {a, b}
    return found


def _pairs_within(points: list[tuple[float, float]], reach: float) -> list[tuple[int, int]]:
    """Numbers of all points that lie within a reach of each other, the lower first, sorted."""
    return sorted(cKDTree(points).query_pairs(reach)) if points else []


def _has_upright_tip(page: Page, e: _Ended) -> bool:
    """Whether a lone head on a level or upright line stands square on a thin line, as that of a dimension does."""
    head = page.heads[e.head]
    if not (page.is_level(e.piece) or page.is_upright(e.piece)):
        return False
    return any(_is_across(page, n, head) and page.is_thin(n) for n in _at_tip(page, head, e.piece))


def _at_tip(page: Page, head: Head, owner: int) -> list[int]:
    return [n for n in page.touching(head.x, head.y, TIP_REACH_MM) if n != owner]


def _is_across(page: Page, n: int, head: Head) -> bool:
    """Whether a stroke is a line that stands across a head's direction."""
    track = page.pieces[n].track
    return track.kind == LINE and abs(track.dx * head.dy - track.dy * head.dx) >= ACROSS_SINE


def _extensions(page: Page, e: _Ended) -> None:
    """Give the extension role to the thin line at a tip, and to its parts on the same track."""
    head = page.heads[e.head]
    for n in _at_tip(page, head, e.piece):
        piece = page.pieces[n]
        if page.roles[n] is not None or not _is_across(page, n, head) or not page.is_thin(n):
            continue
        if piece.dash in ("chain", "double_chain"):
            continue
        if _ends_free(page, n, e):
            page.give([n], Role.EXTENSION)


def _ends_free(page: Page, n: int, e: _Ended) -> bool:
    """Whether a line ends on nothing at one end, as an extension line does; an edge ends on other edges.

    Where one pen drew everything, the free end must lie a little past the tip.
    """
    piece, head = page.pieces[n], page.heads[e.head]
    farthest = math.inf if page.pens.parting is not None else page.px(OVERRUN_MM)
    near = [end for end in (piece.start, piece.end) if math.dist(end, (head.x, head.y)) <= farthest]
    return any(not set(page.touching(*end)) - {n, e.piece} for end in near)


def _shoulder(page: Page, piece: int, e: _Ended) -> None:
    """Give the leader role to the short line at a leader's tail."""
    line = page.pieces[piece]
    x, y = line.start if e.at_end else line.end
    for n in page.touching(x, y):
        other = page.pieces[n]
        ends_here = min(math.dist((x, y), other.start), math.dist((x, y), other.end)) <= page.px(1.0)
        if n != piece and ends_here and page.is_thin(n) and other.length <= page.px(SHOULDER_MM):
            page.give([n], Role.LEADER)
